"""The return of a permit year: picks, area, what is elsewhere, the share kept, closures."""

import dataclasses
from datetime import date

import pytest

from sync.block import Block, Feature, Permit, Person
from sync.register.bearing import bearing_sum
from sync.register.permit_return import permit_return
from sync.register.return_years import in_force, return_day, years_told

PERMIT = Permit("TM-1", (), None, None, (9, 1), 1000.0, "kg_dry", 30.0, None, None, None, 20)
SURVEYED = date(2025, 6, 20)
ON = date(2026, 2, 20)


@pytest.fixture
def book(mire):
    book = mire.Book()
    for cell in ("A01", "B02", "B02", "C03"):
        book.quadrat(SURVEYED, cell, 60, (90, 110))
    return book


def made(mire, books, on=ON, permit=PERMIT, asked=None, **changes):
    found = mire.register(books, on, mire.mire(permits=(permit,), **changes))
    return permit_return(found, permit, asked=asked or on)


@pytest.mark.parametrize(("asked", "day"), [
    (date(2025, 3, 28), date(2025, 3, 28)), (date(2026, 2, 20), date(2025, 8, 31))])
def test_it_is_of_the_last_day_of_its_year_or_of_the_day_asked(asked, day):
    assert return_day(PERMIT, 2024, asked) == day


def test_a_permit_counts_in_a_year_of_which_it_has_a_day():
    late = dataclasses.replace(PERMIT, since=date(2026, 8, 31), until=date(2026, 9, 1))
    assert [in_force(late, year) for year in (2024, 2025, 2026, 2027)] == [
        False, True, True, False]
    gone = dataclasses.replace(late, since=date(2026, 8, 31), until=date(2026, 8, 30))
    assert not in_force(gone, 2025)


def test_years_are_told_from_the_first_bag_to_the_day_while_the_permit_holds(mire, book):
    found = mire.register(book, ON, mire.mire(permits=(PERMIT,)))
    assert years_told(found, PERMIT) == (2025,), "nobody has picked yet"
    book.bags(date(2023, 8, 31), "B02", 4)
    book.bags(date(2026, 9, 1), "B02", 4)
    found = mire.register(book, ON, mire.mire(permits=(PERMIT,)))
    assert years_told(found, PERMIT) == (2025, 2024, 2023, 2022)
    since = dataclasses.replace(PERMIT, since=date(2024, 8, 31))
    assert years_told(found, since) == (2025, 2024, 2023)


def test_picks_and_what_is_elsewhere_add_up_to_what_was_taken(mire, book):
    book.bags(date(2025, 12, 1), "B02", 60)
    book.bags(date(2025, 12, 3), "B02", 40)
    book.bags(date(2025, 12, 10), "C03", 2)  # a touch
    book.bags(date(2025, 12, 10), None, 5)
    found = made(mire, book)
    (pick,) = found.picks
    assert (pick.cell, pick.first, pick.last) == ("B02", date(2025, 12, 1), date(2025, 12, 3))
    assert pick.kg.kg == pytest.approx(700.0)
    assert (found.elsewhere.bags, found.elsewhere.kg) == (pytest.approx(7), pytest.approx(49))
    assert pick.kg.kg + found.elsewhere.kg == pytest.approx(found.permit.taken)
    assert not found.is_over


def test_a_pick_across_the_years_edge_is_told_in_both_by_its_days(mire, book):
    book.bags(date(2025, 8, 30), "B02", 70)
    book.bags(date(2025, 9, 2), "B02", 20)
    for on, year, bags, first in ((date(2025, 8, 31), 2024, 70, date(2025, 8, 30)),
                                  (ON, 2025, 20, date(2025, 9, 1))):
        found = made(mire, book, on)
        (pick,) = found.picks
        assert found.permit.first.year == year
        assert (pick.kg.bags, pick.first) == (pytest.approx(bags), first)


def test_without_a_track_the_area_goes_by_weight_and_is_no_more_than_the_cell(mire, book):
    book.bags(date(2025, 12, 1), "B02", 80)
    book.bags(date(2026, 1, 10), "C03", 800)
    half, whole = made(mire, book).picks
    assert half.area_by == whole.area_by == "weight"
    assert 0.0 < half.area_m2 < half.open_m2
    assert whole.area_m2 == whole.open_m2
    nobody = mire.Book()
    nobody.bags(date(2025, 12, 1), "B02", 40)
    (pick,) = made(mire, nobody).picks
    assert (pick.area_by, pick.area_m2) == ("whole", pick.open_m2)


def test_a_pick_typed_in_is_told_by_its_share_and_adds_no_kg(mire, book):
    book.note("past_pick", date(2026, 1, 1), "O", cell="A01", share_pct=60, dry_kg=500,
              **{"from": "2025-10-01", "to": "2025-10-03"})
    found = made(mire, book)
    (pick,) = found.picks
    assert (pick.typed, pick.kg.kg) == (True, 0.0)
    assert pick.area_m2 >= 0.6 * pick.open_m2
    assert found.permit.taken == 0.0


def test_the_share_kept_is_of_the_quadrats_about_the_pick(mire, book):
    book.bags(date(2025, 12, 1), "B02", 40)
    book.bags(date(2025, 12, 2), "B02", 30)
    for depth in (60, 80):
        book.quadrat(date(2025, 12, 3), "B02", 30, (depth, depth), when="after_pick")
    kept = made(mire, book).kept
    assert (kept.before, kept.after, kept.cells, kept.picked_cells) == (2, 2, ("B02",), 1)
    # Before 60 % × 100 mm, after 30 % × 70 mm; pickable over 40 mm: 36, and 6 and 12.
    assert kept.standing.value == pytest.approx(21 / 60)
    assert kept.pickable.value == pytest.approx(9 / 36)


def test_quadrats_of_another_pick_or_of_before_the_end_say_nothing(mire, book):
    book.bags(date(2025, 3, 10), "B02", 80)
    book.quadrat(date(2025, 3, 12), "B02", 30, (70, 70), when="after_pick")
    book.quadrat(date(2025, 3, 12), "B02", 30, (70, 70), when="after_pick")
    book.bags(date(2025, 12, 1), "B02", 80)
    book.bags(date(2025, 12, 5), "B02", 40)
    book.quadrat(date(2025, 12, 3), "B02", 30, (70, 70), when="after_pick")
    kept = made(mire, book).kept
    assert (kept.cells, kept.standing, kept.picked_cells) == ((), None, 1)
    before = made(mire, book, date(2025, 8, 31)).kept
    assert (before.cells, before.after) == ((), 0), "surveyed after that pick, not before it"


def test_a_survey_from_before_the_pick_before_says_nothing_of_the_next(mire, book):
    book.bags(date(2025, 6, 25), "B02", 80)
    book.bags(date(2026, 2, 1), "B02", 80)
    for _ in range(2):
        book.quadrat(date(2026, 2, 3), "B02", 30, (70, 70), when="after_pick")
    kept = made(mire, book).kept
    assert (kept.cells, kept.before, kept.picked_cells) == ((), 0, 1)


def closure(mire, why, since=None, until=None, at=(0, 0, 50, 50)):
    return Feature(mire.polygon(*at), {"why": why}, since, until)


def test_closures_of_the_year_are_told_once_with_their_dates_and_ground(mire, book):
    book.note("work", date(2026, 1, 5), "P", what="sprayed", cells=["C03"], hold_days=30)
    closures = (
        closure(mire, "pool"), closure(mire, "pool", at=(200, 0, 250, 50)),
        closure(mire, "nests", date(2025, 10, 1), date(2025, 12, 31), (80, 0, 120, 50)),
        closure(mire, "last year", date(2025, 1, 1), date(2025, 8, 31)),
        closure(mire, "today", ON), closure(mire, "next", date(2026, 2, 21)),
        closure(mire, "far", at=(900, 0, 950, 50)),
    )
    pool, nests, sprayed, today = made(mire, book, closures=closures).closed
    assert (pool.why, pool.since, pool.until, pool.cells) == ("pool", None, None, ("A01", "C01"))
    assert pool.area_m2 == pytest.approx(5000, rel=1e-3)
    assert (nests.since, nests.until, nests.cells) == (
        date(2025, 10, 1), date(2025, 12, 31), ("A01", "B01"))
    assert nests.area_m2 == pytest.approx(2000, rel=1e-3)
    assert (sprayed.since, sprayed.until, sprayed.hold) == (
        date(2026, 1, 5), date(2026, 2, 4), True)
    assert sprayed.cells == ("C03",)
    assert (today.why, today.since) == ("today", ON)


def filed(book, day, taken, known_by):
    return book.note("notice", day, "O", permit="TM-1", what="return", year=2024,
                     known_by=known_by, taken=taken, sum="0" * 64)


def test_what_was_filed_stands_and_what_it_would_say_now_is_the_returns_own_figure(mire, book):
    book.bags(date(2025, 2, 1), "B02", 30)
    name = filed(book, date(2025, 9, 10), 140, "2025-09-10T06:00:00.000Z")
    book.bags(date(2025, 12, 1), "C03", 20)
    found = mire.register(book, ON, mire.mire(permits=(PERMIT,)))
    (permit,) = found.permits
    assert (permit.filed.seen.name, permit.filed.seen.taken) == (name, 140)
    over = made(mire, book, date(2025, 8, 31), asked=ON)
    assert permit.filed.now == over.permit.taken == over.permit.filed.now == pytest.approx(210)
    assert made(mire, book, date(2025, 8, 31), asked=date(2025, 9, 9)).permit.filed is None


def test_a_lot_weighed_later_moves_both_figures_alike(mire, book):
    """The season of a permit year's end goes on; its later bags share a pile with the year's."""
    book.bags(date(2025, 8, 20), "B02", 30, pile="P1-001")
    filed(book, date(2025, 9, 10), 210, "2025-09-10T06:00:00.000Z")
    book.bags(date(2025, 9, 5), "B02", 10, pile="P1-001")
    book.note("batch", date(2025, 10, 20), "O", batch="D-1", stage="dried", bags=20, dry_kg=130,
              **{"from": ["P1-001"]})
    book.bags(date(2025, 9, 6), "C03", 10, pile="P1-002")
    book.note("batch", date(2025, 10, 21), "O", batch="D-2", stage="dried", bags=10, dry_kg=80,
              **{"from": ["P1-002"]})
    (permit,) = mire.register(book, ON, mire.mire(permits=(PERMIT,))).permits
    assert permit.filed.now == made(mire, book, date(2025, 8, 31), asked=ON).permit.taken
    assert permit.filed.now != pytest.approx(210)


def test_what_begins_later_or_nobody_has_read_moves_no_sum(mire, book):
    block = mire.mire(permits=(PERMIT,))
    base = bearing_sum(mire.register(book, ON, block))
    free = {
        "plots": block.plots[:2] + tuple(p for p in block.plots if p.cell == "B02")
        + tuple(p for p in block.plots if p.name == "C03-1"),
        "permits": (PERMIT, dataclasses.replace(PERMIT, name="TM-2", since=date(2026, 3, 1))),
        "closures": (closure(mire, "next", date(2026, 2, 21)),),
        "rules": (*block.rules, dataclasses.replace(block.rules[0], since=date(2026, 3, 1))),
        "holidays": ((date(2026, 4, 3), date(2026, 4, 6)),),
        "people": (Person("NW", "new", "N.", "picker"),),
    }
    for key, value in free.items():
        one = mire.register(book, ON, dataclasses.replace(block, **{key: value}))
        assert bearing_sum(one) == base, key
    bears = {
        "name": "Other", "people": (Person("SW", "S", "S.", "surveyor", counts_dots=True),),
        "holidays": ((date(2026, 1, 1), date(2026, 1, 2)),),
        "closures": (closure(mire, "now", date(2026, 2, 20)),),
        "permits": (dataclasses.replace(PERMIT, keep_pct=40.0),),
        "plots": tuple(dataclasses.replace(p, drawn=p.name != "B02-1") for p in block.plots),
    }
    for key, value in bears.items():
        one = mire.register(book, ON, dataclasses.replace(block, **{key: value}))
        assert bearing_sum(one) != base, key


#: What moves no figure of a return: names, prices, what phones and pages look like, draws to come.
MOVES_NONE = {"gate", "declination_deg", "check_in_min", "probes", "lang", "trials", "costs",
              "hook_limit_kg"}
BEARS = {"block_id", "name", "zone", "epsg", "grid", "season_start", "rules", "bags", "people",
         "permits", "plots", "outline", "classes", "closures", "frame_m", "holidays"}


def test_whoever_adds_to_the_block_says_whether_it_bears_on_a_return():
    assert {one.name for one in dataclasses.fields(Block)} == BEARS | MOVES_NONE
