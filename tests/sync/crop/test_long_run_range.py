"""The range of the long-run yearly figure: moss alone, growth alone, both; never a draw."""

import math
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from sync.crop.block_total import long_run_yearly_kg
from sync.crop.long_run_range import long_run_range, mixed_range
from sync.survey.ranges import lognormal_range, t_quantile

ON = date(2026, 2, 20)


@pytest.fixture(scope="module")
def surveyed(mire):
    book = mire.Book()
    for i, cell in enumerate(mire.CELLS[:6]):
        for j in range(3):
            book.quadrat(date(2025, 6, 20), cell, 50 + 5 * i, (80 + 6 * j, 100, 90 - 3 * i))
    return book


def test_its_value_is_the_registers_own(mire, surveyed):
    crop = mire.register(surveyed, ON).crop
    run = long_run_range(crop)
    assert run.kg == pytest.approx(long_run_yearly_kg(crop), rel=1e-12)
    assert run.open_m2 == pytest.approx(sum(one.open_m2 for one in crop.cells.values()))


def test_without_a_quadrat_there_is_none(mire):
    assert long_run_range(mire.register(mire.Book(), ON).crop) is None


def test_of_known_growth_it_is_the_lognormal_range_of_the_moss(mire, surveyed):
    """Growth as sure as nothing is: what is left is the survey total's error, weighted."""
    found = mire.register(surveyed, ON, growth_prior_cv=1e-9)
    run = long_run_range(found.crop)
    low, high = lognormal_range(run.kg, run.moss_cv, t=t_quantile(found.total.df))
    assert run.slow_kg == pytest.approx(run.fast_kg, rel=1e-6)
    assert run.low_kg == pytest.approx(low, rel=0.01)  # the weights move the df a little
    assert run.high_kg == pytest.approx(high, rel=0.01)


def test_of_a_block_of_one_pickable_share_the_moss_is_as_unsure_as_the_standing_crop(mire):
    """Each cell gives the same part of its crop: the weighted total is the total itself."""
    book = mire.Book()
    for cell in mire.CELLS:
        for depths in ((80, 80, 80), (100, 100, 100)):
            book.quadrat(date(2025, 6, 20), cell, 60, depths)
    found = mire.register(book, ON)
    assert long_run_range(found.crop).moss_cv == pytest.approx(
        math.sqrt(found.total.variance) / found.total.kg, rel=1e-9)


def test_slow_growth_costs_more_than_fast_growth_brings(mire, surveyed):
    run = long_run_range(mire.register(surveyed, ON).crop)
    assert run.slow_kg < run.kg <= run.fast_kg
    assert run.kg - run.slow_kg > run.fast_kg - run.kg
    assert run.low_kg < run.kg < run.high_kg


def test_the_same_block_gives_the_same_range(mire, surveyed):
    runs = [long_run_range(mire.register(surveyed, ON).crop) for _ in range(2)]
    assert runs[0] == runs[1]


@given(st.floats(0.02, 1.0), st.floats(2.0, 200.0) | st.just(math.inf), st.floats(1.0, 1e6))
def test_one_value_has_the_lognormal_range(cv, df, value):
    """Agrees with the range of every other figure of the register."""
    low, high = lognormal_range(value, cv, t=t_quantile(df))
    assert mixed_range([value], cv, df) == pytest.approx((low, high), rel=1e-6)


def test_without_an_error_of_its_own_it_is_the_spread_of_the_values():
    values = np.linspace(10.0, 20.0, 101)
    assert mixed_range(values, 0.0, math.inf) == pytest.approx((10.5, 19.5))


def test_two_lognormals_together_are_one_with_both_variances():
    """ln of the values is normal, ln of the error too: so is their sum."""
    values = np.exp(0.3 * norm.ppf((np.arange(4000) + 0.5) / 4000))
    cv = math.sqrt(math.exp(0.2**2) - 1)
    spread = math.sqrt(0.3**2 + 0.2**2)
    middle = 1 / math.sqrt(1 + cv**2)
    wanted = [middle * math.exp(z * spread) for z in (norm.ppf(0.05), norm.ppf(0.95))]
    assert mixed_range(values, cv, math.inf) == pytest.approx(wanted, rel=1e-3)


def test_nothing_that_grows_gives_nothing():
    assert mixed_range([0.0, 0.0], 0.2, math.inf) == (0.0, 0.0)
    low, high = mixed_range([0.0, 10.0, 10.0], 0.2, math.inf)
    assert low == 0.0
    assert high > 10.0
