"""Days and the end of a rest.

Rule 1: every day here is a local day of the block.
Rule 2: picking on the day on which the rest ends is allowed.
"""

from datetime import date, datetime, tzinfo

MONTHS = 12


def local_day(at: datetime, zone: tzinfo) -> date:
    """Give the block's local day of an instant.

    Parameters
    ----------
    at : datetime
        Aware.
    zone : tzinfo
        The block's time zone.

    Returns
    -------
    date
        Local day.

    Raises
    ------
    ValueError
        If `at` has no time zone: its day could then be either of two.
    """
    if at.tzinfo is None:
        raise ValueError(f"at={at!r}: an instant needs its time zone")
    return at.astimezone(zone).date()


def rest_ends(last_day: date, rest_months: int) -> date:
    """Give the first day on which a cell may be picked again.

    Parameters
    ----------
    last_day : date
        Last day of the pick.
    rest_months : int
        Calendar months, as the rule stood on that day.

    Returns
    -------
    date
        The same day of the month; the 1st of the next month where that day does not exist.

    Raises
    ------
    ValueError
        If `rest_months` is negative.

    Notes
    -----
    Common practice, no source: a rest is then never a day short.
    """
    if rest_months < 0:
        raise ValueError(f"rest_months={rest_months!r}: must not be negative")
    year, month = _months_on(last_day, rest_months)
    try:
        return date(year, month, last_day.day)
    except ValueError:
        year, month = _months_on(last_day, rest_months + 1)
        return date(year, month, 1)


def days_early(rest_end: date, first_day: date) -> int:
    """Give how many days before the end of the rest a new pick began.

    Parameters
    ----------
    rest_end : date
        First day on which picking is allowed.
    first_day : date
        First day of the new pick.

    Returns
    -------
    int
        Days; 0 when it was not early.
    """
    return max(0, (rest_end - first_day).days)


def _months_on(day: date, months: int) -> tuple[int, int]:
    count = day.year * MONTHS + day.month - 1 + months
    return count // MONTHS, count % MONTHS + 1
