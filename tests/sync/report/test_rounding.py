import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.report.rounding import BAG_KG, KG, T_HA, maybe, range_of, rounded

FINITE = st.floats(-1e9, 1e9)
STEPS = st.sampled_from([1.0, 0.1, 0.01])


@pytest.mark.parametrize(("value", "step", "printed"), [
    (2.5, 1.0, "2"), (3.5, 1.0, "4"), (0.15, 0.1, "0.2"), (0.25, 0.1, "0.2"), (1.005, 0.01, "1"),
    (1.015, 0.01, "1.02"), (-0.4, 1.0, "0"), (6.0, 0.01, "6"), (-121.5, 1.0, "-122"),
    (1234.5678, 0.01, "1234.57"), (1e-12, 0.1, "0"), (0.1 + 0.7, 0.1, "0.8"),
    (25 * 0.09, 0.1, "2.2"), (sum([0.09] * 25), 0.1, "2.2"),
])
def test_a_tie_goes_to_the_even_digit_and_a_whole_number_has_no_point(value, step, printed):
    assert repr(rounded(value, step)) == printed


@given(FINITE, STEPS)
def test_rounding_moves_a_figure_by_half_a_step_at_most(value, step):
    moved = Fraction(str(rounded(value, step))) - Fraction(repr(value))
    assert abs(moved) <= Fraction(str(step)) / 2 + abs(Fraction(repr(value))) / 10**11


@given(FINITE, STEPS)
def test_a_rounded_figure_stays_as_it_is(value, step):
    once = rounded(value, step)
    assert rounded(once, step) == once
    assert isinstance(once, int) == float(once).is_integer()


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(ValueError, match="must be finite"):
        rounded(value, KG)


def test_none_stays_none():
    assert maybe(None, KG) is None
    assert maybe(0.04, BAG_KG) == 0


def test_a_range_is_lognormal_by_moments():
    # mean 100, CV 0.5: s = sqrt(ln 1.25) = 0.472381, median = 100/sqrt(1.25) = 89.4427;
    # times exp(-+1.644854 s) = 0.459778 and 2.174964 (derived)
    assert range_of(100.0, 2500.0, 0.01) == {"value": 100, "low": 41.12, "high": 194.53}
    assert range_of(100_000.0, 2.5e9, 0.1, unit=1000.0) == {
        "value": 100, "low": 41.1, "high": 194.5}


def test_no_crop_has_no_spread_and_a_known_weight_none_either():
    assert range_of(0.0, 9.0, KG) == {"value": 0, "low": 0, "high": 0}
    assert range_of(12.4, 0.0, KG) == {"value": 12, "low": 12, "high": 12}


@given(st.just(0.0) | st.floats(0.001, 1e6), st.floats(0.0, 1e12), st.floats(1.6, 6.4))
def test_low_value_and_high_stand_in_order(value, variance, quantile):
    found = range_of(value, variance, T_HA, quantile=quantile)
    assert 0 <= found["low"] <= found["value"] <= found["high"]
