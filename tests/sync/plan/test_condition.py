"""Scrub and water by cell and class, and what followed the work."""

from datetime import date

import pytest

from sync.plan.condition import condition_of
from sync.report.condition import condition_table, work_table, work_words
from sync.report.document import register_document

BEFORE, DONE, AFTER, ON = date(2023, 7, 3), date(2024, 1, 8), date(2025, 7, 3), date(2026, 2, 20)
OTHERS = ("A02", "A03", "B01", "B03", "C01")


def walk(book, cell, day, plots=1, **read):
    for plot in range(1, plots + 1):
        book.note("quadrat", day, "SW", plot=f"{cell}-{plot}", when="survey", side_m=0.5,
                  cover_pct=50, depth_mm=[80, 90, 100],
                  **{key: value + plot for key, value in read.items()})


def wells(mire, mine, others, plots=2):
    book = mire.Book()
    for day, place in ((BEFORE, 0), (AFTER, 1)):
        walk(book, "B02", day, plots, water_table_mm=mine[place])
        for cell in OTHERS:
            walk(book, cell, day, water_table_mm=others[place])
    return book


def found(mire, book, on=ON):
    return condition_of(mire.register(book, on))


def test_a_cell_is_told_with_its_change_and_that_against_the_block(mire):
    cells = {one.cell: one for one in found(mire, wells(mire, (-200, -100), (-100, -130))).cells}
    assert set(cells) == {"B02", *OTHERS}
    assert cells["B02"].water.change_mm == pytest.approx(100.0)
    assert cells["B02"].water.relative_mm == pytest.approx(130.0)
    assert cells["B02"].read_on == AFTER
    assert cells["B02"].scrub == ()


def test_a_class_sums_up_its_plots(mire):
    book = mire.Book()
    for day, more in ((BEFORE, 0), (AFTER, 1)):
        for cell, rise in (("A01", 3), ("B02", 8), ("C03", 7)):
            walk(book, cell, day, scrub_pct=4 + more * rise)
    (one,) = found(mire, book).classes
    assert (one.scrub_plots, one.water_plots, one.water) == (3, 0, None)
    assert one.scrub.mean == pytest.approx(6.0)


def test_a_blocked_drain_is_told_with_the_change_in_its_cells_against_the_block(mire):
    book = wells(mire, (-200, -100), (-100, -130))
    book.note("work", DONE, "F", what="drain_blocked", cells=["B02"], hours=6)
    (one,) = found(mire, book).works
    assert (one.measure, one.plots) == ("water", 2)
    assert one.mean == pytest.approx(130.0)
    assert one.relative.df == 1
    told = work_table(found(mire, book)).rows[0]
    assert told[:5] == ("2024-01-08", "drain blocked", "B02", "6", "+130 mm")
    assert "no proof that it came of it" in work_words(found(mire, book))[0]


def test_only_what_was_read_since_the_work_tells_of_it(mire):
    book = wells(mire, (-200, -100), (-100, -130))
    book.note("work", date(2025, 8, 1), "F", what="drain_blocked", cells=["B02"], hours=6)
    (one,) = found(mire, book).works
    assert (one.plots, one.mean, one.relative) == (0, None, None)
    assert "1 not read since, or not before: cannot tell yet." in work_words(found(mire, book))


def test_scrub_that_was_cut_is_told_in_points(mire):
    book = mire.Book()
    for day, more in ((BEFORE, 0), (AFTER, 1)):
        walk(book, "B02", day, 3, scrub_pct=20 - 12 * more)
        for cell in OTHERS:
            walk(book, cell, day, scrub_pct=4 + 2 * more)
    book.note("work", DONE, "F", what="scrub_cut", cells=["B02"], hours=4)
    (one,) = found(mire, book).works
    assert (one.measure, one.mean) == ("scrub", pytest.approx(-14.0))
    assert work_table(found(mire, book)).rows[0][4] == "-14.0 points"


def test_what_should_make_moss_grow_is_a_trials_to_tell(mire):
    book = mire.Book()
    book.note("work", DONE, "F", what="reseeded", cells=["B02"], hours=4)
    told = found(mire, book)
    assert told.works[0].measure == ""
    assert work_words(told)[-1].endswith("fallow trial.")


def test_work_of_after_the_day_asked_about_is_left_out(mire):
    book = mire.Book()
    book.note("work", ON, "F", what="reseeded", cells=["B02"])
    assert len(found(mire, book).works) == 1
    assert found(mire, book, on=date(2026, 2, 19)).works == ()
    assert work_words(found(mire, book, on=date(2026, 2, 19))) == ["No work was noted."]


def test_what_rounds_to_nothing_has_no_sign(mire):
    rows = condition_table(found(mire, wells(mire, (-100, -100.3), (-100, -100)))).rows
    assert [row[8] for row in rows if row[0] in ("A02", "B02")] == ["0", "0"]


def test_2026_11_28_the_level_told_is_the_registers_and_stands_beside_that_of_the_change(mire):
    """The table had 19 % at plots read twice where register and map had 6 % of all plots."""
    book = mire.Book()
    for day, pct in ((BEFORE, 4), (AFTER, 18)):
        walk(book, "B02", day, scrub_pct=pct)
    book.note("quadrat", AFTER, "SW", plot="B02-9", when="survey", side_m=0.5, cover_pct=50,
              depth_mm=[80, 90, 100], scrub_pct=1)
    register = mire.register(book, ON)
    (row,) = condition_table(condition_of(register)).rows
    (cell,) = [one for one in register_document(register, ())["cells"] if one["cell"] == "B02"]

    assert row[2:6] == ("10", "5→19", "+14.0", "1")
    assert cell["scrub_pct"] == 10
