import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.settings import Z_RANGE
from sync.survey.ranges import counted_on, lognormal_range, lognormal_spread, t_quantile


def test_the_t_quantile_agrees_with_the_reference_run(published, agrees):
    assert agrees(t_quantile(7), published["crop"]["t"])
    # A printed table: 4, 60 and 1000 degrees of freedom.
    assert [round(t_quantile(df), 3) for df in (4, 60, 1000)] == [2.132, 1.671, 1.646]


@pytest.mark.parametrize("row", range(4))
def test_a_badly_known_cell_counts_for_less(published, agrees, row):
    printed = published["cautious"][row]
    low, high = lognormal_range(5000.0, printed["cv"], t=Z_RANGE)

    assert agrees(counted_on(5000.0, printed["cv"]), printed["counted_on"])
    assert agrees(low, printed["low"])
    assert agrees(high, printed["high"])


def test_no_moss_has_a_range_of_nothing():
    assert lognormal_range(0.0, 0.5, t=2.0) == (0.0, 0.0)
    assert counted_on(0.0, 0.0) == 0.0


@given(st.floats(0.1, 1e6), st.floats(0.0, 3.0))
def test_the_lognormal_has_the_moments_it_was_given(mean, cv):
    spread = lognormal_spread(mean, cv)

    assert spread.median * math.exp(spread.log_sd**2 / 2) == pytest.approx(mean)
    assert math.sqrt(math.expm1(spread.log_sd**2)) == pytest.approx(cv, abs=1e-7)


@given(st.floats(0.1, 1e6), st.floats(0.01, 3.0), st.floats(0.5, 4.0))
def test_a_range_holds_the_median_and_stays_above_nothing(mean, cv, t):
    low, high = lognormal_range(mean, cv, t=t)

    assert 0.0 < low < lognormal_spread(mean, cv).median < high
    assert counted_on(mean, cv, z=t) == low
