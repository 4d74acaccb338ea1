"""Notices of a start and returns filed, as the register's permits tell them."""

import dataclasses
from datetime import date

import pytest

from sync.block import Permit

ON = date(2026, 2, 20)
PERMIT = Permit("TM-1", (), None, None, (9, 1), 1000.0, "kg_dry", None, None, None, None, 20)


def told(mire, notes, on=ON, permit=PERMIT, holidays=()):
    book = mire.Book()
    for day, fields in notes:
        book.note("notice", day, "O", permit="TM-1", **fields)
    (found,) = mire.register(book, on, mire.mire(permits=(permit,), holidays=holidays)).permits
    return found


def start(day):
    return {"what": "start", "start": day}


def filed(year, taken=10.0):
    return {"what": "return", "year": year, "known_by": "2025-09-20T06:00:00.000Z",
            "taken": taken, "sum": "0" * 64, "figures": "1" * 64}


def test_a_notice_is_told_with_its_clear_days(mire):
    notice = told(mire, [(date(2025, 8, 14), start("2025-09-15"))]).notice
    assert (notice.given, notice.start) == (date(2025, 8, 14), date(2025, 9, 15))
    assert (notice.clear_days, notice.needed, notice.record) == (21, 20, "shed:1")


def test_the_owners_holidays_are_no_working_days(mire):
    shut = ((date(2025, 9, 1), date(2025, 9, 3)),)
    notes = [(date(2025, 8, 14), start("2025-09-15"))]
    assert told(mire, notes, holidays=shut).notice.clear_days == 18


def test_of_several_the_last_given_counts_and_another_years_does_not(mire):
    notes = [(date(2025, 8, 14), start("2025-09-15")), (date(2025, 8, 20), start("2025-10-06")),
             (date(2025, 8, 25), start("2026-09-07"))]
    assert told(mire, notes).notice.start == date(2025, 10, 6)
    assert told(mire, notes, on=date(2025, 8, 19)).notice.start is None
    # Given the day after the day asked about.
    assert told(mire, notes, on=date(2026, 9, 1)).notice.start == date(2026, 9, 7)


def test_without_a_notice_it_says_what_is_needed_and_nothing_where_none_is(mire):
    assert dataclasses.astuple(told(mire, []).notice) == (None, None, None, 20, None)
    free = dataclasses.replace(PERMIT, notice_days=None)
    assert told(mire, [], permit=free).notice is None
    # A notice given without need is told all the same.
    notice = told(mire, [(date(2025, 9, 1), start("2025-09-15"))], permit=free).notice
    assert (notice.clear_days, notice.needed) == (9, None)


def test_the_last_return_is_told_until_the_day_asked_about(mire):
    notes = [(date(2024, 9, 20), filed(2023, 5.0)), (date(2025, 9, 20), filed(2024, 6.0)),
             (date(2025, 9, 25), filed(2024, 7.0)), (date(2025, 9, 26), filed(2077))]
    assert told(mire, notes).filed.seen.taken == 7.0
    assert told(mire, notes, on=date(2025, 9, 24)).filed.seen.taken == 6.0
    assert told(mire, notes, on=date(2025, 9, 19)).filed.seen.year == 2023
    assert told(mire, notes, on=date(2024, 1, 1)).filed is None


def test_a_notice_of_another_permit_is_not_taken_for_this_one(mire):
    book = mire.Book()
    book.note("notice", date(2025, 8, 14), "O", permit="TM-2", **start("2025-09-15"))
    (found,) = mire.register(book, ON, mire.mire(permits=(PERMIT,))).permits
    assert found.notice.given is None


@pytest.mark.parametrize("year", [1900, 9999, 10**15])
def test_an_odd_year_of_a_return_stops_nothing(mire, year):
    found = told(mire, [(date(2025, 9, 20), filed(year))])
    assert (found.filed is None) == (year > 2026)
