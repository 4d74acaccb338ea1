"""Wet kg for a permit: batches' own weights first, a count times the wet kg of a bag after."""

import dataclasses
from datetime import date

import pytest

from sync.block import BagType, Permit

ON = date(2026, 2, 20)
DAY = date(2025, 11, 10)
PERMIT = Permit("TM-1", (), None, None, (9, 1), 9000.0, "kg_wet", None, None, None, None, None)


def taken(mire, book, on=ON, **changes):
    (found,) = mire.register(book, on, mire.mire(permits=(PERMIT,), **changes)).permits
    return found


def batch(book, day, label, stage, bags, kg, sources):
    book.note("batch", day, "O", batch=label, stage=stage, bags=bags, wet_kg=kg,
              **{"from": sources})


def test_a_lifted_pile_weighs_what_it_weighed_and_the_rest_by_the_count(mire):
    book = mire.Book()
    book.bags(DAY, "B02", 20, pile="P1")
    batch(book, date(2025, 11, 20), "L1", "lifted", 20, 1800.0, ["P1"])
    found = taken(mire, book)
    assert found.taken == pytest.approx(1800.0)
    assert found.sd == pytest.approx(0.0)
    book.bags(date(2025, 12, 1), "B02", 10, pile="P2")
    found = taken(mire, book)
    assert found.taken == pytest.approx(1800.0 + 10 * 90.0)
    # n²V(κ) + n s² with s² = (0.5 κ)² of one lot and V(κ) = s²/20: B8 with wet weights.
    variance = (0.5 * 90.0) ** 2
    assert found.sd**2 == pytest.approx(100 * variance / 20 + 10 * variance)
    assert found.left == pytest.approx(9000.0 - 2700.0)
    assert found.left_kg == pytest.approx(found.left * 7.0 / 90.0)


def test_of_one_batch_the_stage_nearest_to_the_ground_counts(mire):
    book = mire.Book()
    book.bags(DAY, "B02", 20, pile="P1")
    batch(book, date(2025, 11, 11), "L1", "weighed", 20, 2000.0, ["P1"])
    batch(book, date(2025, 11, 21), "L1", "arrived", 20, 1500.0, ["P1"])
    assert taken(mire, book).taken == pytest.approx(2000.0)
    batch(book, date(2025, 11, 20), "L1", "lifted", 20, 1800.0, ["P1"])
    assert taken(mire, book).taken == pytest.approx(1800.0)


def test_bags_weighed_one_by_one_weigh_that(mire):
    book = mire.Book()
    book.note("bag", DAY, bags=2, cell="B02", wet_kg=150.0)
    book.note("bag", DAY, bags=1, cell="B02", wet_kg=90.0)
    found = taken(mire, book)
    assert found.taken == pytest.approx(240.0)
    book.bags(DAY, "B02", 3)
    assert taken(mire, book).taken == pytest.approx(240.0 + 3 * 80.0)


def test_a_kind_of_bag_that_nobody_weighed_leaves_nothing_said(mire):
    book = mire.Book()
    book.note("bag", DAY, bags=2, cell="B02", wet_kg=150.0)
    book.bags(DAY, "B02", 3, type="bale")
    bags = (BagType("sack", 90.0, 7.0), BagType("bale", 180.0, 15.0))
    assert taken(mire, book, bags=bags).taken is None


def test_last_years_wet_bag_stands_in_until_this_year_has_one(mire):
    book = mire.Book()
    book.note("bag", date(2024, 11, 1), bags=2, cell="B02", wet_kg=200.0)
    book.bags(DAY, "B02", 3)
    assert taken(mire, book).taken == pytest.approx(300.0)
    book.note("bag", date(2025, 12, 1), bags=2, cell="B02", wet_kg=160.0)
    assert taken(mire, book).taken == pytest.approx(160.0 + 3 * 80.0)


def test_what_was_put_on_a_pile_after_the_day_moves_no_share_of_its_lift(mire):
    book = mire.Book()
    book.bags(DAY, "B02", 20, pile="P1")
    batch(book, date(2025, 11, 20), "L1", "lifted", 20, 1800.0, ["P1"])
    book.bags(date(2026, 2, 25), "B02", 20, pile="P1")
    assert taken(mire, book).taken == pytest.approx(1800.0)


def test_only_the_permits_own_year_and_ground_is_weighed(mire):
    book = mire.Book()
    book.bags(date(2025, 8, 31), "B02", 10, pile="P0")
    book.bags(DAY, "B02", 20, pile="P1")
    batch(book, date(2025, 11, 20), "L1", "lifted", 30, 2700.0, ["P0", "P1"])
    assert taken(mire, book).taken == pytest.approx(20 * 90.0)
    nobody = dataclasses.replace(PERMIT, cap=None, cap_unit="kg_wet")
    (found,) = mire.register(book, ON, mire.mire(permits=(nobody,))).permits
    assert (found.taken, found.left) == (pytest.approx(1800.0), None)
