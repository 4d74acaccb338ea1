import math

import pytest

from sync.errors import SurveyError
from sync.picks.wet import Batch, wet_factor, wet_to_dry_kg
from sync.settings import Tunables

TUNABLES = Tunables()


def test_three_batches_give_the_wet_factor_of_a_day(printed, agrees):
    figures = printed["wet"]
    factor = wet_factor([Batch(*pair) for pair in figures["batches"]], tunables=TUNABLES)

    assert agrees(factor.factor, figures["factor"])
    assert agrees(math.sqrt(factor.variance), figures["sd"])

    dry_kg, variance = wet_to_dry_kg(figures["wet_kg"], factor)

    assert agrees(dry_kg, figures["dry_kg"])
    assert agrees(math.sqrt(variance), figures["dry_sd"])


def test_one_batch_alone_is_good_to_a_quarter():
    factor = wet_factor([Batch(300.0, 20.0)], tunables=TUNABLES)

    assert factor.factor == 15.0
    assert math.sqrt(factor.variance) == pytest.approx(0.25 * 15.0)


@pytest.mark.parametrize("batches", [[], [Batch(0.0, 3.0)], [Batch(30.0, 0.0)]])
def test_a_factor_needs_batches_with_weight(batches):
    with pytest.raises(SurveyError):
        wet_factor(batches, tunables=TUNABLES)
