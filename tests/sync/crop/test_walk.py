import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.crop.walk import Growth, Stand, grow, growth_prior, share_of_full, start, take
from sync.settings import DAYS_PER_YEAR, Tunables

GROWTH = Growth(0.45, 0.15**2, 0.8)
CROPS = st.just(0.0) | st.floats(1e-6, 20000)
STANDS = st.builds(
    Stand, CROPS, CROPS, st.floats(0, 1e7), st.floats(0, 1e7), st.floats(-1e6, 1e6)
)
RATES = st.builds(Growth, st.floats(0, 2), st.floats(0, 1), st.floats(0.5, 0.95))
YEARS = st.floats(0, 60)


@pytest.fixture
def walk(printed):
    return printed["walk"]


@pytest.fixture
def picked(walk):
    stand, _ = take(
        start(walk["crop_kg"], cv=walk["cv"]),
        walk["picked_kg"],
        walk["picked_sd"] ** 2,
        floor=0.02,
    )
    return stand


def test_a_rested_cell_is_credited_with_no_growth(walk, agrees):
    stand = start(walk["crop_kg"], cv=walk["cv"])

    assert agrees(stand.crop_var, walk["variance"])
    assert stand.crop_var == stand.mark_var == stand.cov
    assert grow(stand, walk["days_to_pick"] / DAYS_PER_YEAR, GROWTH) == stand


def test_a_pick_takes_its_kg_and_adds_its_error(walk, picked, agrees):
    after = walk["after_pick"]

    assert agrees(picked.crop_kg, after["kg"])
    assert agrees(share_of_full(picked, 0.8), after["share"])
    assert agrees(picked.crop_var, after["variance"])
    assert agrees(math.sqrt(picked.crop_var), after["sd"])
    assert agrees(picked.cov, walk["variance"])


def test_growth_since_the_pick_is_the_printed(walk, picked, agrees):
    today = walk["today"]
    stand = grow(picked, walk["days_since"] / DAYS_PER_YEAR, GROWTH)

    assert agrees(stand.crop_kg, today["kg"])
    assert agrees(share_of_full(stand, 0.8), today["share"])
    assert agrees(stand.crop_var, today["variance"])
    assert agrees(math.sqrt(stand.crop_var), today["sd"])
    assert agrees(stand.cov, today["cov"])
    assert (stand.mark_kg, stand.mark_var) == (picked.mark_kg, picked.mark_var)


def test_growth_and_its_variance_stop_at_the_mark(walk, picked, agrees):
    later = walk["later"]
    stand = grow(picked, later["days"] / DAYS_PER_YEAR, GROWTH)

    assert agrees(stand.crop_kg, later["kg"])
    assert agrees(stand.crop_var, later["variance"])
    assert agrees(stand.cov, later["cov"])

    back = float(later["stops_after_days"])

    assert stand.crop_kg == stand.mark_kg
    assert grow(picked, (back - 1) / DAYS_PER_YEAR, GROWTH).crop_kg < stand.crop_kg - 1.0
    assert grow(picked, (back + 1) / DAYS_PER_YEAR, GROWTH) == stand
    b = float(walk["after_pick"]["share"])
    fade = math.exp(-GROWTH.rate * later["days"] / DAYS_PER_YEAR)
    assert agrees(b / (b + (1 - b) * fade), later["logistic_share"])


@pytest.mark.parametrize("crop", [600.0, 2500.0, 4200.0, 5500.0])
@pytest.mark.parametrize("rate", [0.0, 0.1, 0.45, 1.1])
def test_the_variance_is_that_of_small_errors(crop, rate):
    stand = Stand(crop, 5704.0, 900.0**2, 1500.0**2, 7e5)
    years = 0.1
    growth = Growth(rate, 0.15**2, 0.8)

    def grown(crop_kg, mark_kg, r):
        g = Growth(r, 0.0, 0.8)
        return grow(Stand(crop_kg, mark_kg, 0.0, 0.0, 0.0), years, g).crop_kg

    at = np.array([stand.crop_kg, stand.mark_kg, rate])
    slopes = []
    for i, step in enumerate([0.05, 0.05, 1e-5]):
        up, down = at.copy(), at.copy()
        up[i] += step
        down[i] = max(0.0, down[i] - step) if i == 2 else down[i] - step
        slopes.append((grown(*up) - grown(*down)) / (up[i] - down[i]))
    slope = np.array(slopes)
    errors = np.array([[900.0**2, 7e5, 0.0], [7e5, 1500.0**2, 0.0], [0.0, 0.0, 0.15**2]])

    after = grow(stand, years, growth)
    assert after.crop_kg < stand.mark_kg
    assert after.crop_var == pytest.approx(slope @ errors @ slope, rel=1e-5)
    assert after.cov == pytest.approx((slope @ errors)[1], rel=1e-5)


@given(STANDS, YEARS, RATES)
def test_growth_never_passes_the_mark_and_never_shrinks_a_crop(stand, years, growth):
    after = grow(stand, years, growth)

    assert after.crop_kg <= max(stand.mark_kg, stand.crop_kg)
    assert after.crop_kg >= stand.crop_kg * (1 - 1e-9)
    assert (after.mark_kg, after.mark_var) == (stand.mark_kg, stand.mark_var)
    assert math.isfinite(after.crop_var)
    assert math.isfinite(after.cov)


@given(STANDS, YEARS, YEARS, RATES)
def test_growing_twice_is_growing_once_as_long(stand, first, second, growth):
    twice = grow(grow(stand, first, growth), second, growth)

    assert twice.crop_kg == pytest.approx(
        grow(stand, first + second, growth).crop_kg, rel=1e-6, abs=1e-6
    )


def test_without_growth_only_the_doubt_about_it_grows():
    stand = Stand(3000.0, 6000.0, 1e5, 1e5, 1e4)
    after = grow(stand, 3.0, Growth(0.0, 0.04, 0.8))

    assert after.crop_kg == pytest.approx(3000.0)
    assert after.crop_var == pytest.approx(1e5 + (6000 / 0.8 * 3 * 0.4 * 0.6) ** 2 * 0.04)


def test_bare_ground_stays_bare():
    bare = start(0.0, cv=0.6)

    assert grow(bare, 5.0, GROWTH) == bare
    assert take(bare, 0.0, 0.0, floor=0.02) == (bare, False)
    assert take(bare, 5.0, 4.0, floor=0.02) == (Stand(0.0, 0.0, 4.0, 0.0, 0.0), True)


def test_time_does_not_run_back():
    with pytest.raises(ValueError, match=r"years=-0\.1"):
        grow(start(100.0, cv=0.2), -0.1, GROWTH)


def test_picking_more_than_stood_leaves_the_floor_and_says_so():
    stand = start(5000.0, cv=0.2)
    after, hit = take(stand, 4950.0, 100.0, floor=0.02)

    assert hit
    assert after.crop_kg == 100.0
    assert after.crop_var == stand.crop_var + 100.0
    assert take(stand, 4900.0, 100.0, floor=0.02)[1] is False


def test_a_pick_of_less_than_nothing_is_refused():
    with pytest.raises(ValueError, match="kg=-1"):
        take(start(100.0, cv=0.2), -1.0, 0.0, floor=0.02)


@given(STANDS, st.floats(0, 30000), st.floats(0, 1e6), st.floats(0, 0.5))
def test_a_pick_never_adds_and_never_takes_below_nothing(stand, kg, variance, floor):
    after, hit = take(stand, kg, variance, floor=floor)

    assert 0.0 <= after.crop_kg <= stand.crop_kg
    assert hit or after.crop_kg == stand.crop_kg - kg
    assert after.crop_var >= stand.crop_var


def test_recovery_years_imply_the_printed_rates(printed, agrees):
    for years, rate, sd in printed["prior"]["cases"]:
        prior = growth_prior(years, tunables=Tunables())

        assert agrees(prior.rate, rate)
        assert agrees(math.sqrt(prior.variance), sd)
        assert prior.comeback == 0.8
    assert agrees(math.log(0.8 * 0.65 / (0.35 * 0.2)), printed["prior"]["normal_pick"])


def test_a_normal_pick_is_back_after_its_recovery_years():
    full = 6000.0 / 0.8
    picked = Stand(0.35 * full, 6000.0, 0.0, 0.0, 0.0)
    prior = growth_prior(12.0, tunables=Tunables())

    assert grow(picked, 12.0, prior).crop_kg == pytest.approx(6000.0, rel=2e-3)
    assert grow(picked, 11.0, prior).crop_kg < 5950.0


@pytest.mark.parametrize("years", [0.0, -1.0, math.nan])
def test_recovery_takes_time(years):
    with pytest.raises(ValueError, match="recovery_years"):
        growth_prior(years, tunables=Tunables())
