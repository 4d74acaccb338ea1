"""Not grown back: at the rest's end by forecast, later by what was measured."""

from datetime import date
from statistics import NormalDist

import pytest

from sync.crop.again import chance_short, walk_again
from sync.crop.walk import Stand

SURVEYED, PICKED = date(2020, 8, 20), date(2020, 11, 10)
#: A block whose density and growth are known well; else no forecast alone can be sure enough.
KNOWN = {"cv_density_block": 0.05, "cv_density_class": 0.05, "density_between_cells": 0.0,
         "growth_prior_cv": 0.2}
ENDS, AFTER = date(2025, 11, 10), date(2025, 12, 1)


@pytest.fixture
def shed(mire):
    book = mire.Book()
    for cell in ("B02", "A01", "C02", "A03"):
        for cover in (60, 64, 62, 58):
            book.quadrat(SURVEYED, cell, cover, (90, 110))
    return book


def picked(mire, book, share):
    crop = mire.register(book, date(2020, 11, 9)).crop.cells["B02"].walked.stand.crop_kg
    # Weighed when it was picked, so that what was taken is known.
    book.note("past_pick", PICKED, cell="B02", to=PICKED.isoformat(), dry_kg=round(share * crop),
              **{"from": PICKED.isoformat()})


def found(mire, book, on=date(2026, 2, 20), **tunables):
    return mire.flags(mire.register(book, on, **{**KNOWN, **tunables}), "not_regrown")


def test_a_normal_pick_is_back_by_forecast_when_its_rest_ends(mire, shed):
    picked(mire, shed, 0.5)
    assert found(mire, shed) == {}


def test_a_cell_picked_bare_is_told_at_the_rests_end_by_forecast_and_not_before(mire, shed):
    picked(mire, shed, 0.85)
    assert found(mire, shed, on=date(2025, 11, 9)) == {}
    (flag,) = found(mire, shed, on=ENDS).values()
    assert flag.name == "not_regrown:B02:2025"
    assert flag.figures["on"] == ENDS
    assert flag.figures["measured"] is False
    assert flag.probability >= 0.75
    assert "by forecast alone" in flag.why
    register = mire.register(shed, ENDS, **KNOWN)
    stand = register.crop.cells["B02"].walked.stand
    assert flag.figures["crop_kg"] == pytest.approx(stand.crop_kg)
    assert flag.probability == pytest.approx(chance_short(stand))


def test_a_later_survey_that_found_the_moss_back_clears_it(mire, shed):
    picked(mire, shed, 0.85)
    assert found(mire, shed)
    for cover in (62, 60, 64, 61):
        shed.quadrat(AFTER, "B02", cover, (90, 110))
    assert found(mire, shed) == {}


def test_a_later_survey_that_found_little_raises_it(mire, shed):
    picked(mire, shed, 0.5)
    for cover in (10, 12, 8, 14):
        shed.quadrat(AFTER, "B02", cover, (50, 60))
    (flag,) = found(mire, shed).values()
    assert flag.figures["measured"] is True
    assert flag.figures["on"] == AFTER
    assert len(flag.records) == 4


def test_a_cell_picked_again_before_its_rests_end_was_never_to_be_back(mire, shed):
    picked(mire, shed, 0.85)
    shed.bags(date(2024, 11, 10), "B02", 120)
    assert found(mire, shed) == {}


def test_what_came_after_the_next_pick_says_nothing_of_the_rest_before(mire, shed):
    picked(mire, shed, 0.85)
    before = found(mire, shed, on=ENDS)
    shed.bags(date(2025, 11, 20), "B02", 120)
    for cover in (62, 60, 64, 61):
        shed.quadrat(date(2026, 1, 10), "B02", cover, (90, 110))
    assert list(found(mire, shed)) == list(before)


def test_the_walk_again_is_the_registers_own(mire, shed):
    picked(mire, shed, 0.6)
    register = mire.register(shed, date(2024, 2, 20))
    for cell, crop in register.crop.cells.items():
        again = walk_again(register.crop, cell, register.tunables, until=register.on)
        assert again.stand == crop.walked.stand


@pytest.mark.parametrize(("crop", "chance"), [(900.0, 0.5), (600.0, NormalDist().cdf(2.0))])
def test_the_chance_is_that_of_a_normal_difference(crop, chance):
    # Derived: SD of the difference √(20000 + 10000 − 2·3750) = 150.
    stand = Stand(crop, 900.0, 20_000.0, 10_000.0, 3_750.0)
    assert chance_short(stand) == pytest.approx(chance)


def test_a_difference_without_error_is_certain():
    assert chance_short(Stand(900.0, 900.0, 4.0, 4.0, 4.0)) == 0.5
    assert chance_short(Stand(899.0, 900.0, 0.0, 0.0, 0.0)) == 1.0
