"""Scrub that spreads and ground that dries: from records to flags."""

from datetime import date

import pytest

BEFORE, AFTER, ON = date(2023, 7, 3), date(2025, 7, 3), date(2026, 2, 20)
#: Golden G19: change of scrub at eight re-walked plots. [points]
EIGHT = (3, 8, 0, 12, 6, 7, 5, 11)


def walk(book, cell, plot, day, **read):
    book.note("quadrat", day, "SW", plot=f"{cell}-{plot}", when="survey", side_m=0.5,
              cover_pct=50, depth_mm=[80, 90, 100], **read)


def scrub(mire, changes, before=4):
    """Note scrub at plots: cell to changes."""
    book = mire.Book()
    for day, share in ((BEFORE, 0), (AFTER, 1)):
        for cell, mine in changes.items():
            for plot, change in enumerate(mine, 1):
                walk(book, cell, plot, day, scrub_pct=before + share * change)
    return book


def wells(mire, levels):
    book = mire.Book()
    for day, place in ((BEFORE, 0), (AFTER, 1)):
        for cell, both in levels.items():
            walk(book, cell, 1, day, water_table_mm=both[place])
    return book


def raised(mire, book, rule, **tunables):
    return mire.flags(mire.register(book, ON, **tunables), rule)


def test_the_printed_eight_plots_spread(mire):
    (flag,) = raised(mire, scrub(mire, {"B02": EIGHT}), "scrub_spreading").values()
    assert flag.name == "scrub_spreading:B02:2025"
    assert flag.figures["change_pct"] == pytest.approx(6.5)
    assert flag.figures["low_pct"] == pytest.approx(3.844692, abs=5e-7)
    assert flag.figures["plots"] == 8
    assert len(flag.records) == 16
    assert "rose by 6.5 points" in flag.why


def test_a_rise_that_is_small_or_unsure_is_let_pass(mire):
    assert raised(mire, scrub(mire, {"B02": [4, 5, 4, 5]}), "scrub_spreading") == {}
    assert raised(mire, scrub(mire, {"B02": [0, 30, 0, 2]}), "scrub_spreading") == {}
    assert raised(mire, scrub(mire, {"B02": [40]}), "scrub_spreading") == {}


def test_few_plots_of_a_cell_are_read_with_those_of_its_neighbours(mire):
    changes = {"A01": [3, 8], "B01": [7, 12], "B02": [6, 7], "A02": [5, 11]}
    found = raised(mire, scrub(mire, changes), "scrub_spreading")
    assert {flag.cell for flag in found.values()} == set(changes)
    assert {flag.figures["plots"] for flag in found.values()} == {8}
    assert {flag.figures["own_plots"] for flag in found.values()} == {2}


def test_a_cell_without_a_rise_of_its_own_is_not_named_for_its_neighbours(mire):
    changes = {"A01": [9, 11], "B01": [8, 12], "A02": [10, 9], "B02": [1, 2]}
    found = raised(mire, scrub(mire, changes), "scrub_spreading")
    assert "B02" not in {flag.cell for flag in found.values()}
    assert len(found) == 3


def test_cells_that_do_not_touch_say_nothing_of_each_other(mire):
    changes = {"A01": [9], "C03": [11]}
    assert raised(mire, scrub(mire, changes), "scrub_spreading") == {}


def test_the_printed_drying_cell_is_flagged(mire):
    levels = {"A01": (-215, -310), "A02": (-90, -100), "A03": (-90, -110), "B01": (-100, -130),
              "C01": (-100, -160)}
    (flag,) = raised(mire, wells(mire, levels), "drying").values()
    assert flag.name == "drying:A01:2025"
    assert flag.figures["change_mm"] == pytest.approx(-95.0)
    assert flag.figures["relative_mm"] == pytest.approx(-65.0)
    assert flag.figures["level_mm"] == pytest.approx(-310.0)
    assert "65 mm more than the median of 5 cells" in flag.why


def test_a_dry_summer_flags_nothing(mire):
    levels = dict.fromkeys(("A01", "A02", "A03", "B01", "C01"), (-150, -400))
    assert raised(mire, wells(mire, levels), "drying") == {}


@pytest.mark.parametrize(("now", "told"), [(-249, False), (-250, True)])
def test_a_cell_that_is_still_wet_is_not_dry(mire, now, told):
    levels = {"A01": (-100, now), **dict.fromkeys(("A02", "A03", "B01", "C01"), (-100, -100))}
    assert bool(raised(mire, wells(mire, levels), "drying")) is told


def test_a_later_reading_that_is_wet_again_takes_the_flag_back(mire):
    levels = {"A01": (-100, -300), **dict.fromkeys(("A02", "A03", "B01", "C01"), (-100, -100))}
    book = wells(mire, levels)
    assert raised(mire, book, "drying")
    for cell in levels:
        walk(book, cell, 1, date(2026, 2, 1), water_table_mm=-110)
    assert raised(mire, book, "drying") == {}


def test_of_four_cells_nothing_is_known_of_the_blocks_water(mire):
    levels = {"A01": (-100, -400), **dict.fromkeys(("A02", "A03", "B01"), (-100, -100))}
    assert raised(mire, wells(mire, levels), "drying") == {}
    assert raised(mire, wells(mire, levels), "drying", water_cells=4)
