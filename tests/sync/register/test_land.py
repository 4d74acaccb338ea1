"""The figures for a landowner: counted by hand on nine cells."""

from datetime import date, timedelta

import pytest

from sync.register.land import land_of

ON = date(2026, 2, 20)
FIRST = date(2025, 11, 10)


@pytest.fixture
def land(mire):
    book = mire.Book()
    for cell in ("A01", "A02", "B01"):
        for _ in range(2):
            book.quadrat(date(2025, 6, 20), cell)
    book.note("past_pick", date(2025, 6, 1), "O", cell="C03", **{"from": "2022-01-03"},
              to="2022-01-09", share_pct=None, dry_kg=500)
    for day in (FIRST, FIRST + timedelta(days=1)):
        book.bags(day, "A01", 60, **{"for": "MT"})
        book.bags(day, "A01", 30, **{"for": "RK"})
    book.bags(FIRST + timedelta(days=1), "A01", 10, **{"for": "MT"})
    book.finished(FIRST + timedelta(days=1), "A01")
    book.bags(ON + timedelta(days=1), "A02", 40, **{"for": "MT"})  # after the day asked about
    return land_of(mire.register(book, ON))


def test_a_day_of_a_person_counts_once_however_many_bags(land):
    assert (land.work.picker_days, land.work.seasons) == (4, 1)
    assert land.work.kg == pytest.approx(190 * 7.0)
    assert land.work.days_a_t == pytest.approx(4 / 1.33)


def test_the_days_of_surveying_are_those_of_its_surveyors(land):
    assert land.work.survey_days == 1


def test_touched_and_never_touched_add_up(land):
    touched, ha = land.touched, land.touched.open_ha / 9
    assert touched.never_picked_ha == pytest.approx(7 * ha, rel=1e-3)  # A01 and C03 were
    assert touched.never_measured_ha == pytest.approx(6 * ha, rel=1e-3)
    assert touched.neither_ha == pytest.approx(5 * ha, rel=1e-3)
    assert (touched.picks, touched.past_picks) == (1, 1)
    assert touched.resting_cells == 2
    assert touched.resting_ha == pytest.approx(2 * ha, rel=1e-3)


def test_an_empty_block_has_no_figure_and_no_zero_in_its_place(mire):
    land = land_of(mire.register(mire.Book(), ON))
    assert land.yearly is None
    assert land.work.days_a_t is None
    assert land.touched.neither_ha == pytest.approx(land.touched.open_ha)


def test_water_and_scrub_are_medians_of_each_cells_latest_day(mire):
    book = mire.Book()
    for day, cell, water in ((date(2023, 6, 20), "A01", -100), (date(2025, 6, 20), "A01", -300),
                             (date(2025, 6, 20), "A01", -200), (date(2024, 6, 20), "B01", -50),
                             (date(2023, 6, 20), "C01", -60)):
        book.quadrat(day, cell, water_table_mm=water)
    land = land_of(mire.register(book, ON))
    assert (land.water_mm.value, land.water_mm.cells) == (-60.0, 3)  # of -250, -50, -60
    assert (land.water_mm.first, land.water_mm.last) == (date(2023, 6, 20), date(2025, 6, 20))
    assert land.scrub_pct is None
