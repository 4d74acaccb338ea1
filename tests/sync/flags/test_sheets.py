"""Pickers who went out with an old ground sheet, or with none."""

from datetime import UTC, date, datetime, timedelta

import pytest

from sync.disk.load import load_inputs
from sync.flags.raised import flags_of
from sync.register.build import build

OUT = datetime(2025, 11, 10, 8, tzinfo=UTC)
ON = date(2026, 2, 20)
NAME = "stale_sheet:p1-aaaa:2025"


def stamped(at):
    return at.strftime("%Y-%m-%dT%H:%M:%S.000Z")


def start(book, at=OUT, *, made_at=None, role="picker", state="start"):
    sheet = None if made_at is None else {"id": "0a1b2c3d", "made_at": stamped(made_at)}
    return book.note("outing", at, state=state, role=role, sheet=sheet)


def stale(mire, book, on=ON, **options):
    return mire.flags(mire.register(book, on, **options), "stale_sheet")


@pytest.mark.parametrize(("age", "told"), [
    (timedelta(0), False), (timedelta(days=7), False), (timedelta(days=7, seconds=1), True)])
def test_a_sheet_is_good_for_seven_days_to_the_second(mire, age, told):
    book = mire.Book("p1-aaaa")
    start(book, made_at=OUT - age)
    assert bool(stale(mire, book)) is told


def test_the_days_are_a_setting(mire):
    book = mire.Book("p1-aaaa")
    start(book, made_at=OUT - timedelta(days=8))
    assert stale(mire, book)
    assert stale(mire, book, sheet_days=9) == {}


def test_a_flag_tells_how_often_and_of_the_oldest_sheet(mire):
    book = mire.Book("p1-aaaa")
    made = OUT - timedelta(days=60)
    for days in (0, 3, 6):
        start(book, OUT + timedelta(days=days), made_at=made)
    start(book, OUT + timedelta(days=7), made_at=OUT + timedelta(days=6))
    flag = stale(mire, book)[NAME]
    assert flag.figures == {"sheet_made_at": made, "days_old": 66, "starts": 3, "bare": 0}
    assert flag.records == ("p1-aaaa:1", "p1-aaaa:2", "p1-aaaa:3")
    assert (flag.about, flag.cell, flag.probability, flag.how_sure) == (
        "p1-aaaa", None, None, "sure")
    assert "3 times with a ground sheet past its 7 days, at worst 66 days old" in flag.why
    assert "2025-11-10 to 2025-11-16" in flag.why


def test_a_start_with_no_sheet_has_no_age(mire):
    book = mire.Book("p1-aaaa")
    start(book)
    flag = stale(mire, book)[NAME]
    assert flag.figures == {"sheet_made_at": None, "days_old": None, "starts": 1, "bare": 1}
    assert "once with none, on 2025-11-10;" in flag.why


def test_both_kinds_stand_in_one_flag(mire):
    book = mire.Book("p1-aaaa")
    start(book)
    start(book, OUT + timedelta(days=1), made_at=OUT - timedelta(days=9))
    flag = stale(mire, book)[NAME]
    assert (flag.figures["days_old"], flag.figures["starts"], flag.figures["bare"]) == (10, 2, 1)
    assert "days old and once with none" in flag.why


def test_a_surveyor_and_a_going_on_are_not_judged(mire):
    book = mire.Book("p1-aaaa")
    start(book, role="surveyor")
    start(book, OUT + timedelta(hours=1), state="resume")
    assert stale(mire, book) == {}


@pytest.mark.parametrize("device", ["gpx-0a1b2c3d", "form-aaaa", "shed"])
def test_only_a_phone_carries_a_sheet(mire, device):
    book = mire.Book(device)
    start(book)
    assert stale(mire, book) == {}


def test_only_the_season_of_the_day_is_judged_and_nothing_that_comes_after(mire):
    book = mire.Book("p1-aaaa")
    start(book)
    start(book, OUT + timedelta(days=300))
    assert list(stale(mire, book)) == [NAME]
    assert list(stale(mire, book, date(2026, 12, 1))) == ["stale_sheet:p1-aaaa:2026"]
    assert stale(mire, book, OUT.date() - timedelta(days=1)) == {}


def test_a_wrong_clock_makes_no_sheet_old(mire):
    book = mire.Book("p1-aaaa")
    lag_s = 86_400 * 61
    book.note("outing", OUT + timedelta(seconds=lag_s), state="start", role="picker",
              sheet={"id": "0a1b2c3d", "made_at": stamped(OUT - timedelta(days=1))},
              where={**mire.where(150, 150), "lag_s": lag_s})
    assert stale(mire, book) == {}


@pytest.mark.parametrize(("made_at", "days"), [
    ("0001-01-01T00:00:00.000Z", 739_564), ("9999-12-31T23:59:59.999Z", None)])
def test_the_wildest_date_of_a_sheet_stops_no_register(mire, made_at, days):
    book = mire.Book("p1-aaaa")
    book.note("outing", OUT, state="start", role="picker",
              sheet={"id": "0a1b2c3d", "made_at": made_at})
    found = stale(mire, book)
    assert [flag.figures["days_old"] for flag in found.values()] == ([days] if days else [])


def test_a_phone_that_took_a_sheet_and_then_no_more_is_told_through_the_real_intake(small):
    block = small()
    phone = block.phone("p1")
    at = datetime(2025, 11, 10, 20, tzinfo=UTC)
    sheet = {"id": "0a1b2c3d", "made_at": stamped(at - timedelta(days=1))}
    for days in (0, 9):
        begun = at + timedelta(days=days)
        phone.note("outing", begun, state="start", role="picker", sheet=sheet, where=None)
        phone.bag(begun + timedelta(minutes=10), 150, 150)
        phone.note("outing", begun + timedelta(hours=8), state="end", finished=[], where=None)
    block.take({"a.handover.zip": phone.pack()})
    found = build(load_inputs(block.folder), on=ON)
    (flag,) = [flag for flag in flags_of(found) if flag.rule == "stale_sheet"]
    assert flag.records == ("p1-aaaa:4",)
    assert flag.figures["days_old"] == 10
