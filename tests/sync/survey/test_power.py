"""How many pairs a trial needs: against a reference program and by made-up trials."""

import numpy as np
import pytest
from statsmodels.stats.power import TTestPower

from sync.errors import SurveyError
from sync.survey.power import MOST_PAIRS, pairs_needed, power_of
from sync.survey.ranges import t_quantile


@pytest.mark.parametrize("pairs", [2, 3, 6, 19, 60])
@pytest.mark.parametrize("size", [0.1, 0.5, 1.0, 2.0])
def test_power_is_that_of_a_reference_program(pairs, size):
    # statsmodels, TTestPower.power(effect_size, nobs, alpha=0.10), two-sided.
    expected = TTestPower().power(size, pairs, 0.10, alternative="two-sided")
    assert power_of(pairs, size * 8.0, 8.0) == pytest.approx(expected, abs=1e-6)


def test_the_printed_trials_spread_needs_twenty_pairs_for_five():
    # SD of [14, 22, -3, 9, 17, 11] is 8.524475 (golden G19: SE 3.480102 times √6).
    sd = 3.480102 * 6**0.5
    needed = pairs_needed(5.0, sd, power=0.8)
    assert TTestPower().power(5.0 / sd, needed, 0.10) >= 0.8
    assert TTestPower().power(5.0 / sd, needed - 1, 0.10) < 0.8


def test_the_chance_is_that_of_made_up_trials():
    rng = np.random.default_rng(19)
    drawn = rng.normal(5.0, 8.5, (40_000, 12))
    reach = t_quantile(11) * drawn.std(axis=1, ddof=1) / 12**0.5
    found = np.mean(np.abs(drawn.mean(axis=1)) > reach)
    assert power_of(12, 5.0, 8.5) == pytest.approx(found, abs=0.008)


def test_a_difference_against_hardly_any_spread_is_found_by_two_pairs():
    assert pairs_needed(50.0, 0.1, power=0.8) == 2
    assert power_of(500, 1e6, 1e-3) == 1.0


def test_a_difference_lost_in_the_spread_is_beyond_any_block():
    assert pairs_needed(0.01, 100.0, power=0.8) is None
    assert power_of(MOST_PAIRS, 0.01, 100.0) < 0.2


def test_what_cannot_be_asked_is_refused():
    with pytest.raises(SurveyError, match="difference=0"):
        pairs_needed(0.0, 1.0, power=0.8)
    for pairs, sd in ((1, 1.0), (6, 0.0), (6, float("nan"))):
        with pytest.raises(SurveyError, match="two pairs"):
            power_of(pairs, 1.0, sd)
