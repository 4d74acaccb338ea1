"""A lot is led back to piles, cells, days and persons, by shares that add up to 1."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.geometry.placed import Placed
from sync.picks.ledger.trace import lots_told


def placed(found, chances):
    """Place all bags by their pile: the chances of cells of each."""
    return [Placed(bag, None, None, None, chances.get(bag.pile, {}), {}, 0.0, "fix")
            for bag in found.bags.values()]


CHANCES = {"P1": {"C07": 1.0}, "P2": {"C08": 0.7, "C09": 0.2}}


@pytest.fixture
def notes(book):
    made = book.Notes()
    made.bags(0, "P1", 30)
    made.bags(1, "P1", 10, **{"for": "RK"})
    made.bags(1, "P2", 20)
    return made


def test_a_lot_of_two_piles_has_its_share_of_each(book, notes):
    notes.batch(5, "L-1", "lifted", 40, "P1")
    notes.batch(6, "L-2", "lifted", 10, "P2")
    notes.batch(7, "L-1", "arrived", 40)
    notes.batch(30, "D-1", "dried", 50, ["L-1", "L-2"], dry_kg=345.0, moist_pct=12.5,
                pure_pct=94.0)
    found = book.ledger(notes)
    (lot,) = lots_told(found, placed(found, CHANCES))
    assert (lot.label, lot.season, lot.bags, lot.kg_a_bag) == ("D-1", 2025, 50, 6.9)
    assert (lot.moist_pct, lot.pure_pct, lot.part_left) == (12.5, 94.0, 1.0)
    assert lot.shares.piles == pytest.approx({("P1", 2025): 0.8, ("P2", 2025): 0.2})
    assert lot.shares.cells == pytest.approx({"C07": 0.8, "C08": 0.14, "C09": 0.04})
    assert lot.shares.in_no_cell == pytest.approx(0.02)
    assert lot.shares.persons == pytest.approx({"MT": 0.8, "RK": 0.2})
    assert lot.shares.days == pytest.approx({book.day_of(0): 0.6, book.day_of(1): 0.4})
    assert lot.shares.unknown == 0.0
    assert lot.days == {
        "tallied": (book.day_of(0), book.day_of(1)), "lifted": (book.day_of(5), book.day_of(6)),
        "arrived": (book.day_of(7),) * 2, "dried": (book.day_of(30),) * 2}


def test_a_lot_takes_its_share_of_what_lay_there_by_then(book, notes):
    notes.batch(0, "L-1", "lifted", 15, "P1")
    notes.batch(30, "D-1", "dried", 15, "L-1", dry_kg=100.0)
    found = book.ledger(notes)
    (lot,) = lots_told(found, placed(found, CHANCES))
    assert lot.shares.persons == {"MT": 1.0}
    assert lot.shares.days == {book.day_of(0): 1.0}


def test_what_no_press_tells_of_is_said(book, notes):
    notes.batch(30, "D-1", "dried", 25, "P2", dry_kg=170.0)
    notes.batch(30, "D-2", "dried", 5, "P9", dry_kg=30.0)
    found = book.ledger(notes)
    first, second = lots_told(found, placed(found, CHANCES))
    assert first.shares.unknown == pytest.approx(0.2)
    assert (second.shares.unknown, second.shares.cells, second.season) == (1.0, {}, 2025)
    assert set(second.days) == {"dried"}


def test_a_lot_made_of_lots_is_told_and_what_it_took_is_no_longer_in_them(book, notes):
    notes.batch(30, "D-1", "dried", 40, "P1", dry_kg=280.0, pure_pct=90.0)
    notes.batch(40, "M-1", "dried", 10, "D-1", dry_kg=70.0, pure_pct=98.0)
    found = book.ledger(notes)
    first, second = lots_told(found, placed(found, CHANCES))
    assert (first.bags, first.part_left) == (40, 0.75)
    assert (second.bags, second.shares.cells) == (10, {"C07": 1.0})
    assert second.days["dried"] == (book.day_of(40),) * 2


def test_two_weighings_of_a_lot_are_joined_by_kg(book, notes):
    notes.batch(30, "D-1", "dried", 10, "P1", dry_kg=60.0, pure_pct=90.0)
    notes.batch(31, "D-1", "dried", 20, "P1", dry_kg=140.0, pure_pct=95.0)
    found = book.ledger(notes)
    (lot,) = lots_told(found, placed(found, CHANCES))
    assert (lot.bags, lot.dry_kg, lot.moist_pct) == (30, 200.0, None)
    assert lot.pure_pct == pytest.approx(93.5)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(["P1", "P2", "P3"]), st.integers(0, 9),
                          st.integers(1, 40)), min_size=1, max_size=12),
       st.lists(st.tuples(st.lists(st.sampled_from(["P1", "P2", "P3"]), min_size=1, max_size=3),
                          st.integers(1, 80)), min_size=1, max_size=5))
def test_shares_of_every_kind_add_up_to_one(book, tallies, lots):
    notes = book.Notes()
    for pile, day, bags in tallies:
        notes.bags(day, pile, bags)
    for i, (made_of, bags) in enumerate(lots):
        notes.batch(i, f"D-{i}", "dried", bags, made_of, dry_kg=6.8 * bags)
    found = book.ledger(notes)
    for lot in lots_told(found, placed(found, CHANCES)):
        one = lot.shares
        for kind in (one.piles, one.days, one.persons, one.presses):
            assert sum(kind.values()) + one.unknown == pytest.approx(1.0)
        assert sum(one.cells.values()) + one.in_no_cell + one.unknown == pytest.approx(1.0)


def test_a_bag_after_the_day_is_in_no_lot(book, notes):
    notes.batch(30, "D-1", "dried", 60, ["P1", "P2"], dry_kg=400.0)
    assert lots_told(book.ledger(notes, 29), []) == ()
    assert lots_told(book.ledger(notes, date(2025, 10, 1)), [])[0].shares.in_no_cell == 1.0
