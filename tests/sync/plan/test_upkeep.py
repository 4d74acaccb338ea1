"""What work took: hours, ground and cost by kind and season, and what a change cost."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.block import Costs, TrialDraw, TrialPair
from sync.plan.condition import condition_of
from sync.plan.pairs import by_trial
from sync.plan.trial import trial_seen
from sync.plan.upkeep import price_of, upkeep_of
from sync.plan.watched import watched_of
from sync.report.upkeep import NO_RATE, upkeep_table, upkeep_words
from sync.survey.paired import PairedChange, paired_change

BEFORE, DONE, AFTER, ON = date(2023, 7, 3), date(2024, 1, 8), date(2025, 7, 3), date(2026, 2, 20)
OTHERS = ("A02", "A03", "B01", "B03", "C01")
RATE = Costs("NZD", work_per_hour=40.0)


def took(mire, book, costs=None, **block):
    made = mire.mire(costs=costs or Costs(), **block)
    register = mire.register(book, ON, made)
    trials = [trial_seen(register, draws) for draws in by_trial(made.trials).values()]
    return upkeep_of(register, condition_of(register), trials)


def shown(found):
    return upkeep_table(found, season_start=(7, 1))


def walk(book, cell, day, plots=1, **read):
    for plot in range(1, plots + 1):
        book.note("quadrat", day, "SW", plot=f"{cell}-{plot}", when="survey", side_m=0.5,
                  cover_pct=50, depth_mm=[80, 90, 100],
                  **{key: value + plot for key, value in read.items()})


def cut(mire, plots=3, hours=4.0, fall=12):
    """Cut the scrub of B02: it falls by so much while it rises by 2 points elsewhere."""
    book = mire.Book()
    for day, again in ((BEFORE, 0), (AFTER, 1)):
        walk(book, "B02", day, plots, scrub_pct=20 - fall * again)
        for cell in OTHERS:
            walk(book, cell, day, scrub_pct=4 + 2 * again)
    book.note("work", DONE, "F", what="scrub_cut", cells=["B02"], hours=hours)
    return book


def test_work_adds_up_by_kind_and_season_the_newest_first(mire):
    book = mire.Book()
    for day, what, cells, hours in (
        (date(2024, 1, 8), "rolled", ["A01"], 3), (date(2024, 6, 30), "rolled", ["A02"], 5),
        (date(2024, 7, 1), "rolled", ["A02", "A03"], 2), (DONE, "scrub_cut", ["C01"], 1.5),
    ):
        book.note("work", day, "F", what=what, cells=cells, hours=hours)
    assert [row[:6] for row in shown(took(mire, book)).rows] == [
        ("rolled", "2024/25", "1", "2.00", "2.0", "1.0"),
        ("rolled", "2023/24", "2", "2.00", "8.0", "4.0"),
        ("scrub cut", "2023/24", "1", "1.00", "1.5", "1.5")]


def test_with_the_owners_rate_there_is_a_cost_for_each_and_on_a_hectare(mire):
    book = mire.Book()
    book.note("work", DONE, "F", what="rolled", cells=["A01", "A02"], hours=5)
    found = took(mire, book, RATE)
    assert shown(found).columns[-2:] == ("NZD", "NZD/ha")
    assert shown(found).rows[0][-2:] == ("200", "100")
    assert upkeep_words(found)[0] == "An hour is 40 NZD: the owner's own rate."


def test_without_a_rate_one_line_says_where_to_write_it(mire):
    book = mire.Book()
    book.note("work", DONE, "F", what="rolled", cells=["A01"], hours=5)
    found = took(mire, book)
    assert len(shown(found).columns) == 6
    assert upkeep_words(found) == [NO_RATE]
    assert "work_per_hour" in NO_RATE


def test_hours_that_were_not_noted_are_said_to_lack_and_count_on_no_hectare(mire):
    book = mire.Book()
    book.note("work", DONE, "F", what="rolled", cells=["A01"], hours=5)
    book.note("work", DONE, "F", what="rolled", cells=["A02", "A03"])
    found = took(mire, book)
    assert shown(found).rows[0][2:] == ("2", "3.00", "5.0+", "5.0")
    assert upkeep_words(found)[1].startswith("1 record names no hours (+)")


def test_without_any_hours_there_is_a_dash(mire):
    book = mire.Book()
    book.note("work", DONE, "F", what="rolled", cells=["A01"])
    assert shown(took(mire, book, RATE)).rows[0][4:] == ("–", "–", "–", "–")


def test_the_ground_of_an_outline_is_what_lies_under_it(mire):
    book = mire.Book()
    book.note("work", DONE, "F", what="driven", outline=mire.polygon(50, 0, 150, 50), hours=1)
    (one,) = took(mire, book).sums
    assert one.ha == pytest.approx(0.5, rel=2e-3)


def test_ground_that_is_closed_today_was_worked_all_the_same(mire):
    book = mire.Book()
    book.note("work", ON, "F", what="sprayed", cells=["B02"], hours=2, hold_days=90)
    (one,) = took(mire, book).sums
    assert one.ha == pytest.approx(1.0, rel=2e-3)


def test_scrub_that_was_cut_has_a_price_for_a_point_on_a_hectare(mire):
    # 14 points against the block, 4 h on 1 ha at 40 NZD: 160 / 14 = 11.4; plots rise alike.
    found = took(mire, cut(mire), RATE)
    (price,) = found.prices
    assert (price.gain, price.measure) == (pytest.approx(14.0), "scrub")
    assert price.each == pytest.approx(4.0 / 14.0, rel=2e-3)
    assert upkeep_words(found)[-1] == (
        "scrub cut on 2024-01-08: 4.0 h/ha (160 NZD), 14.0 points less scrub: 11 NZD (90 % range "
        "11 to 11) for one point of scrub on a hectare.")


def test_one_plot_has_a_price_without_a_range(mire):
    assert "(one plot: no range)" in upkeep_words(took(mire, cut(mire, plots=1)))[-1]


def test_scrub_that_grew_on_has_no_price(mire):
    (price,) = took(mire, cut(mire, fall=-5)).prices
    assert price.each is None
    assert upkeep_words(took(mire, cut(mire, fall=-5)))[-1].endswith("so it has no price.")


def test_work_without_hours_or_not_read_since_has_no_price(mire):
    assert took(mire, cut(mire, hours=None)).prices == ()
    book = mire.Book()
    book.note("work", DONE, "F", what="scrub_cut", cells=["B02"], hours=4)
    assert took(mire, book).prices == ()


def test_a_price_is_the_hours_by_the_gain_and_its_range_by_the_ends_of_the_gains():
    # 3 h/ha for 11.7 L/m² (4.7 to 18.7): 3/11.7, 3/18.7, 3/4.7.
    price = price_of("trial rolling", "moss", 3.0, 11.7, PairedChange(11.7, 3.5, 5, 4.7, 18.7))
    assert (price.each, price.low, price.high) == pytest.approx((0.25641, 0.16043, 0.63830),
                                                                 abs=5e-6)


@given(st.floats(0.1, 50), st.lists(st.floats(-30, 30), min_size=2, max_size=8))
def test_a_price_lies_in_its_range_or_there_is_none(hours_ha, changes):
    found = paired_change(changes)
    price = price_of("x", "moss", hours_ha, found.mean, found)
    if found.low <= 0.0:
        assert price.each is None or found.low == pytest.approx(0.0, abs=1e-9)
    elif price.each is not None:
        assert 0.0 < price.low <= price.each <= price.high


def test_a_trials_hours_are_those_noted_for_it_in_the_cells_drawn(mire):
    book = mire.Book()
    pairs = tuple(TrialPair(*cells, "all", 45.0, 45.0) for cells in (("A01", "A02"),
                                                                     ("B01", "B02")))
    draw = TrialDraw("rolling", "rolled", date(2023, 8, 1), 7, pairs)
    rise = {"A01": 10, "B01": 14, "A02": 0, "B02": 2}
    for day, again in ((BEFORE, 0), (AFTER, 1)):
        for cell, more in rise.items():
            book.note("quadrat", day, "SW", plot=f"{cell}-1", when="survey", side_m=0.5,
                      cover_pct=50 + again * more, depth_mm=[100])
    for cell, trial, hours in (("A01", "rolling", 2), ("B01", "rolling", 4), ("C01", "rolling", 9),
                               ("C02", None, 9)):
        book.note("work", DONE, "F", what="rolled", cells=[cell], hours=hours, trial=trial)
    (price,) = took(mire, book, trials=(draw,)).prices
    assert (price.about, price.measure) == ("trial rolling", "moss")
    assert price.hours_ha == pytest.approx(3.0, rel=2e-3)
    assert price.gain == pytest.approx(11.0)


def test_all_that_is_watched_is_what_its_parts_tell(mire):
    register = mire.register(cut(mire), ON)
    found = watched_of(register)
    assert found.condition == condition_of(register)
    assert found.upkeep == upkeep_of(register, found.condition, found.trials)
    assert found.trials == ()
