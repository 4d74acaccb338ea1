import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.crop.remeasure import mark_floor, remeasure, with_mark
from sync.crop.walk import Growth, Stand, grow, share_of_full, start, take
from sync.settings import DAYS_PER_YEAR

KG = st.floats(1, 20000)
CVS = st.floats(0.05, 1.0)


def _shared(figures):
    rho = float(figures["density"])
    level = (float(figures["density_sd"]) / rho) ** 2
    within = 0.5 * float(figures["density_var"]) / (rho**2 * 100.0)
    return level, within


def test_a_new_survey_moves_the_forecast_as_printed(printed, agrees):
    walk = printed["walk"]
    figures = walk["remeasured"]
    level, within = _shared(figures)
    picked, _ = take(start(5704.0, cv=0.28), 1480.0, 95.0**2, floor=0.02)
    forecast = grow(picked, walk["days_since"] / DAYS_PER_YEAR, Growth(0.45, 0.15**2, 0.8))
    measured_var = (figures["cv"] * figures["measured_kg"]) ** 2
    found = remeasure(forecast, figures["measured_kg"], measured_var, shared=level + within)
    after = found.stand
    unshared = math.sqrt(1 / (1 / forecast.crop_var + 1 / measured_var))

    assert agrees(level, figures["shared_parts"][0])
    assert agrees(within, figures["shared_parts"][1])
    assert agrees(level + within, figures["shared"])
    assert agrees(found.weight, figures["weight"])
    assert agrees(after.crop_kg, figures["kg"])
    assert agrees(after.crop_var, figures["variance"])
    assert agrees(math.sqrt(after.crop_var), figures["sd"])
    assert agrees(after.cov, figures["cov"])
    assert agrees(found.surprise, figures["surprise"])
    assert agrees(unshared, figures["sd_if_nothing_shared"])
    assert (after.mark_kg, after.mark_var) == (forecast.mark_kg, forecast.mark_var)


@given(KG, CVS, KG, CVS, st.floats(0, 0.2))
def test_the_new_crop_lies_between_forecast_and_survey(forecast, cv, measured, own, shared):
    stand = start(forecast, cv=cv)
    found = remeasure(stand, measured, (own * measured) ** 2, shared=shared)
    low, high = sorted((forecast, measured))

    assert low * (1 - 1e-9) <= found.stand.crop_kg <= high * (1 + 1e-9)
    assert found.stand.crop_var >= 0.0
    assert found.surprise * (measured - forecast) >= 0.0


@given(KG, CVS, CVS, st.floats(0.001, 0.05))
def test_another_persons_reading_shares_less_with_the_forecast_and_teaches_more(
        kg, cv, own, readers):
    stand = start(kg, cv=cv)
    same = remeasure(stand, kg, (own * kg) ** 2, shared=0.02 + readers).stand
    other = remeasure(
        stand, kg, (own * kg) ** 2, shared=0.02, of_measured=0.02 + readers).stand

    assert other.crop_var < same.crop_var
    assert other.cov < same.cov


@given(KG, CVS, CVS)
def test_what_is_shared_makes_a_survey_teach_less(kg, cv, own):
    stand = start(kg, cv=cv)
    free = remeasure(stand, kg, (own * kg) ** 2, shared=0.0).stand
    tied = remeasure(stand, kg, (own * kg) ** 2, shared=0.03).stand

    assert tied.crop_var > free.crop_var
    assert free.crop_var == pytest.approx(1 / (1 / (cv * kg) ** 2 + 1 / (own * kg) ** 2))


def test_figures_without_any_variance_hold_no_surprise():
    found = remeasure(start(100.0, cv=0.0), 100.0, 0.0, shared=0.0)

    assert found.stand.crop_kg == 100.0
    assert found.surprise == 0.0


def test_a_rested_survey_brings_its_own_mark():
    stand = Stand(4000.0, 6000.0, 1e6, 2e6, 1e5)

    assert with_mark(stand, 5000.0, 9e5, shared=0.03) == Stand(
        4000.0, 5000.0, 1e6, 9e5, 4000.0 * 5000.0 * 0.03
    )


def test_a_poor_mark_is_held_at_its_part_of_the_class(printed, agrees):
    figures = printed["walk"]["mark_floor"]
    own = start(figures["own_kg"], cv=0.3)
    class_var = (0.2 * figures["class_kg"]) ** 2
    held = mark_floor(own, figures["class_kg"], class_var, floor=figures["floor"], shared=0.03)

    assert agrees(held.mark_kg, figures["mark_kg"])
    assert agrees(share_of_full(held, 0.8), figures["share"])
    assert held.mark_var == class_var / 4
    assert held.cov == pytest.approx(2100.0 * 3000.0 * 0.03)
    assert (held.crop_kg, held.crop_var) == (own.crop_kg, own.crop_var)


def test_a_mark_at_the_floor_is_the_cells_own():
    own = start(3000.0, cv=0.3)

    assert mark_floor(own, 6000.0, 1e6, floor=0.5, shared=0.03) == own
