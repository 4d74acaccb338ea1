"""Permits: their year, what was taken in it in their own unit, and what the caps leave."""

import dataclasses
from datetime import date

import pytest

from sync.block import BagType, Feature, Permit
from sync.register.permit_year import permit_year

NONE = Permit("TM-1", (), None, None, (9, 1), None, None, None, None, None, None, None)
SURVEYED = date(2025, 6, 20)
ON = date(2026, 2, 20)


@pytest.fixture
def book(mire):
    book = mire.Book()
    for cell in ("A01", "B02", "B02", "C03"):
        book.quadrat(SURVEYED, cell, 60, (90, 110))
    return book


def parcels(mire, *permits, **changes):
    """Column A is `home`, the rest `strip`."""
    return mire.mire(permits=permits, outline=(
        Feature(mire.polygon(0, 0, 100, 300), {"parcel": "home"}),
        Feature(mire.polygon(100, 0, 300, 300), {"parcel": "strip"})), **changes)


def permit(cap=None, unit=None, **changes):
    return dataclasses.replace(NONE, cap=cap, cap_unit=unit, **changes)


@pytest.mark.parametrize(("on", "first", "last"), [
    (date(2026, 8, 31), date(2025, 9, 1), date(2026, 8, 31)),
    (date(2026, 9, 1), date(2026, 9, 1), date(2027, 8, 31)),
    (date(2026, 1, 1), date(2025, 9, 1), date(2026, 8, 31))])
def test_a_permit_year_begins_on_its_own_day(on, first, last):
    assert permit_year(NONE, on) == (first, last)


def test_a_permit_year_that_is_the_calendars_ends_on_new_years_eve():
    assert permit_year(dataclasses.replace(NONE, year_start=(1, 1)), ON) == (
        date(2026, 1, 1), date(2026, 12, 31))


def test_without_permits_there_is_none(mire, book):
    found = mire.register(book, ON)
    assert found.permits == ()
    assert found.may_take_kg == pytest.approx(
        sum(one.left_kg for one in found.cells.values()))


def test_all_that_was_tallied_in_the_year_counts_wherever_it_came_from(mire, book):
    book.bags(date(2025, 8, 31), "B02", 40)
    book.bags(date(2025, 9, 1), "B02", 10)
    book.bags(date(2025, 12, 1), None, 5)
    p1 = mire.Book("p1-aaaa")
    p1.note("bag", date(2026, 1, 5), bags=3, where=mire.where(900, 900))
    p1.note("bag", date(2026, 2, 21), bags=9, where=mire.where(150, 150))
    (found,) = mire.register([book, p1], ON, mire.mire(
        permits=(permit(1000.0, "kg_dry"),))).permits
    assert found.taken == pytest.approx(7.0 * 18)
    assert found.left == found.left_kg == pytest.approx(1000.0 - 126.0)
    # n²V(κ) + n s² of 18 bags at the owner's 7 kg.
    assert found.sd**2 == pytest.approx(18**2 * 2.45**2 + 18 * 3.5**2)
    assert found.cells == tuple(mire.CELLS)


def test_a_permit_of_some_parcels_counts_their_share_and_what_is_of_no_cell(mire, book):
    book.bags(date(2025, 12, 1), "A01", 10)
    book.bags(date(2025, 12, 1), "B02", 20)
    book.bags(date(2025, 12, 1), None, 5)
    p1 = mire.Book("p1-aaaa")
    p1.note("bag", date(2025, 12, 1), bags=2, where=mire.where(100, 50))
    home = permit(1000.0, "kg_dry", parcels=("home",))
    (found,) = mire.register([book, p1], ON, parcels(mire, home)).permits
    assert found.cells == ("A01", "A02", "A03")
    assert found.taken == pytest.approx(7 * (10 + 5 + 2 * 0.5), abs=1e-4)


def test_a_cap_in_bags_leaves_bags_and_their_kg(mire, book):
    book.bags(date(2025, 12, 1), "B02", 30)
    (found,) = mire.register(book, ON, mire.mire(permits=(permit(40.0, "bags"),))).permits
    assert (found.taken, found.left) == (pytest.approx(30.0), pytest.approx(10.0))
    assert found.left_kg == pytest.approx(70.0)


def test_a_cap_in_cubic_metres_goes_by_the_litres_of_each_bag(mire, book):
    book.bags(date(2025, 12, 1), "B02", 30)
    book.bags(date(2025, 12, 2), "B02", 10, type="bale")
    block = mire.mire(permits=(permit(6.0, "m3"),),
                      bags=(BagType("sack", 90.0, 7.0), BagType("bale", 180.0, 15.0)))
    (found,) = mire.register(book, ON, block).permits
    assert found.taken == pytest.approx(30 * 0.09 + 10 * 0.18)
    assert found.left == pytest.approx(1.5)
    assert found.left_kg == pytest.approx(1.5 * 7 / 0.09)


@pytest.mark.parametrize(("unit", "bags"), [("kg_wet", 90.0), ("m3", None)])
def test_a_unit_that_no_record_tells_leaves_nothing_said(mire, book, unit, bags):
    block = mire.mire(permits=(permit(6.0, unit),), bags=(BagType("sack", bags, 7.0),))
    found = mire.register(book, ON, block)
    (one,) = found.permits
    assert (one.taken, one.left, one.left_kg) == (None, None, None)
    assert found.may_take_kg == pytest.approx(sum(c.left_kg for c in found.cells.values()))


def test_a_used_up_cap_warns_and_closes_no_cell(mire, book):
    book.bags(date(2025, 12, 1), "B02", 30)
    found = mire.register(book, ON, mire.mire(permits=(permit(100.0, "kg_dry"),)))
    assert (found.permits[0].left, found.may_take_kg) == (0.0, 0.0)
    assert found.cells["B02"].state == "ready"
    assert found.cells["B02"].left_kg > 0.0


@pytest.mark.parametrize("day", [date(2025, 8, 31), date(2025, 9, 1)])
def test_a_new_permit_year_starts_from_nothing(mire, book, day):
    book.bags(date(2025, 8, 31), "B02", 30)
    (found,) = mire.register(book, day, mire.mire(permits=(permit(1000.0, "kg_dry"),))).permits
    assert found.taken == pytest.approx(210.0 if day.month == 8 else 0.0)


def test_only_permits_in_force_are_told_and_ground_of_none_is_closed(mire, book):
    permits = (permit(parcels=("home",), until=date(2025, 12, 31)),
               permit(parcels=("strip",), until=ON))
    found = mire.register(book, ON, parcels(mire, *permits))
    assert [one.permit.parcels for one in found.permits] == [("strip",)]
    assert [found.cells[name].state for name in ("A01", "B02")] == ["closed", "ready"]
    assert found.cells["A01"].why == "closed: no permit in force"


def test_two_permits_of_two_parcels_hold_each_its_own_cells(mire, book):
    permits = (permit(300.0, "kg_dry", parcels=("home",)),
               permit(200.0, "kg_dry", parcels=("strip",)))
    found = mire.register(book, ON, parcels(mire, *permits))
    assert found.may_take_kg == pytest.approx(500.0)


def test_ground_under_two_permits_is_held_to_the_lesser_cap(mire, book):
    permits = (permit(900.0, "kg_dry"), permit(200.0, "kg_dry", parcels=("home",)))
    found = mire.register(book, ON, parcels(mire, *permits))
    left = {name: one.left_kg for name, one in found.cells.items()}
    home = sum(kg for name, kg in left.items() if name[0] == "A")
    rest = sum(left.values()) - home
    assert (home > 200.0, rest > 900.0) == (True, True)
    assert found.may_take_kg == pytest.approx(900.0)


def test_a_block_without_any_figure_may_take_none_not_nothing(mire):
    book = mire.Book()
    book.quadrat(SURVEYED, "B02", drawn=False)
    found = mire.register(book, ON)
    assert found.cells["B02"].left_kg is None
    assert found.may_take_kg == 0.0, "the others are unsurveyed: 0 with that word as the reason"
