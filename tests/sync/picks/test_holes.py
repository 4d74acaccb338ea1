import math

import pytest

from sync.picks.holes import expected_missing
from sync.picks.kilos import KgPerBag


def test_a_hole_hides_the_printed_bags_and_kg(kappa, printed, agrees):
    hole = printed["hole"]
    missing = expected_missing(
        hole["hole_h"], bags_seen=hole["bags_seen"], seen_h=hole["seen_h"], kappa=kappa
    )

    assert missing is not None
    assert agrees(missing.bags, hole["bags"])
    assert agrees(missing.bags_sd, hole["bags_sd"])
    assert agrees(missing.kg, hole["kg"])
    assert agrees(missing.kg_sd, hole["kg_sd"])


def test_without_a_pace_there_is_no_guess(kappa):
    assert expected_missing(2.0, bags_seen=3, seen_h=0.0, kappa=kappa) is None


def test_a_hole_without_length_hides_nothing(kappa):
    missing = expected_missing(0.0, bags_seen=8, seen_h=5.0, kappa=kappa)

    assert missing is not None
    assert (missing.bags, missing.kg, missing.kg_sd) == (0.0, 0.0, 0.0)


def test_bags_of_known_weight_scatter_by_their_number_alone():
    exact = KgPerBag(6.0, 0.0, 0.0, 9, False)
    missing = expected_missing(2.0, bags_seen=8, seen_h=1.0, kappa=exact)

    assert missing is not None
    assert missing.kg_sd == pytest.approx(6.0 * math.sqrt(16.0))
