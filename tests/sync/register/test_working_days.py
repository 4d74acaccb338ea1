"""Clear working days, counted by hand with a calendar, and against a plain count."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.register.working_days import clear_working_days, earliest_start, is_working_day

D = date


@pytest.mark.parametrize(("given_on", "start", "holidays", "days"), [
    # Thursday 14 August to Monday 15 September 2025: 15 Aug 1, then four weeks of 5.
    (D(2025, 8, 14), D(2025, 9, 15), (), 21),
    # Labour Day of that year, Monday 27 October: a week with four working days.
    (D(2025, 10, 24), D(2025, 11, 3), (), 5),
    (D(2025, 10, 24), D(2025, 11, 3), ((D(2025, 10, 27), D(2025, 10, 27)),), 4),
    # An office shut from 20 December to 10 January: 18 and 19 December, 12 to 16 January.
    (D(2025, 12, 17), D(2026, 1, 19), ((D(2025, 12, 20), D(2026, 1, 10)),), 7),
    (D(2025, 8, 14), D(2025, 8, 14), (), 0),
    (D(2025, 8, 14), D(2025, 8, 15), (), 0),
    (D(2025, 8, 15), D(2025, 8, 18), (), 0),  # Friday to Monday
    (D(2025, 8, 14), D(2025, 7, 1), (), 0),  # a start before the notice
])
def test_clear_days_as_counted_by_hand(given_on, start, holidays, days):
    assert clear_working_days(given_on, start, holidays) == days


def test_the_earliest_start_for_twenty_days_from_14_august_2025_is_a_friday():
    assert earliest_start(D(2025, 8, 14), 20) == D(2025, 9, 12)
    assert earliest_start(D(2025, 8, 14), 0) == D(2025, 8, 15)


SPANS = st.lists(st.tuples(st.dates(D(2025, 1, 1), D(2026, 12, 31)), st.integers(0, 30)).map(
    lambda s: (s[0], s[0] + timedelta(days=s[1]))), max_size=4)


@settings(max_examples=200, deadline=None)
@given(st.dates(D(2025, 1, 1), D(2026, 12, 31)), st.integers(0, 60), SPANS)
def test_the_earliest_start_is_in_time_and_the_day_before_is_not(given_on, needed, spans):
    start = earliest_start(given_on, needed, spans)
    assert clear_working_days(given_on, start, spans) == needed
    if needed:
        assert clear_working_days(given_on, start - timedelta(days=1), spans) == needed - 1


@settings(max_examples=200, deadline=None)
@given(st.dates(D(2025, 1, 1), D(2026, 12, 31)), st.integers(-5, 200), SPANS)
def test_the_count_is_that_of_a_plain_calendar(given_on, length, spans):
    start = given_on + timedelta(days=length)
    shut = {first + timedelta(days=i) for first, last in spans
            for i in range((last - first).days + 1)}
    plain = [d for i in range(1, length) if (d := given_on + timedelta(days=i)) not in shut
             and d.strftime("%a") not in {"Sat", "Sun"}]
    assert clear_working_days(given_on, start, spans) == len(plain)
    assert all(is_working_day(d, spans) for d in plain)
