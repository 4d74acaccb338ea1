"""Working days between two days, as an authority counts the days of a notice.

Rule 1: Saturdays, Sundays and the days that the owner lists are no working days.
Rule 2: clear days: neither the day on which notice is given nor the day of the start counts.
"""

from collections.abc import Sequence
from datetime import date, timedelta

#: First and last day of each span without work.
Spans = Sequence[tuple[date, date]]
#: No notice runs longer; a typing slip in a year must not be counted day by day. [days]
_LONGEST_DAYS = 4000
_SATURDAY = 5


def is_working_day(day: date, holidays: Spans) -> bool:
    """Say whether a day is a working day.

    Parameters
    ----------
    day : date
        Local day.
    holidays : sequence of (date, date)
        First and last day of each span in which the authority does not work.

    Returns
    -------
    bool
        False on Saturdays, Sundays and in a span.
    """
    return day.weekday() < _SATURDAY and not any(first <= day <= last for first, last in holidays)


def clear_working_days(given: date, start: date, holidays: Spans = ()) -> int:
    """Count the clear working days of a notice.

    Parameters
    ----------
    given : date
        The day on which it was given; it does not count.
    start : date
        The day of which it tells; it does not count.
    holidays : sequence of (date, date)
        First and last day of each span in which the authority does not work.

    Returns
    -------
    int
        Working days after `given` and before `start`; 0 where the start is not later.

    Notes
    -----
    Common practice, no source: where a law says "at least n working days before", the clear count
    is the stricter reading.
    """
    between = min((start - given).days - 1, _LONGEST_DAYS)
    return sum(
        is_working_day(given + timedelta(days=i), holidays) for i in range(1, between + 1))


def earliest_start(given: date, needed: int, holidays: Spans = ()) -> date:
    """Give the first day for which a notice is in time.

    Parameters
    ----------
    given : date
        The day on which it was given.
    needed : int
        Clear working days that it must run, not negative.
    holidays : sequence of (date, date)
        First and last day of each span in which the authority does not work.

    Returns
    -------
    date
        The day after the last working day needed; the day after `given` where none is.
    """
    day, left = given, needed
    for _ in range(_LONGEST_DAYS):
        if left <= 0:
            break
        day += timedelta(days=1)
        left -= is_working_day(day, holidays)
    return day + timedelta(days=1)
