"""The block's local days and seasons, as bounds that instants in records can be held against."""

from datetime import date, datetime, time, timedelta, tzinfo

from fieldapp.record import stamp

_LONG_AGO = "0001-01-01T00:00:00.000Z"


def day_bounds(now: datetime, zone: tzinfo) -> tuple[str, str]:
    """Give the bounds of the local day.

    Parameters
    ----------
    now : datetime
        Aware.
    zone : tzinfo
        The block's time zone.

    Returns
    -------
    tuple of str
        Its midnight and the next, as instants are written in records.
    """
    day = now.astimezone(zone).date()
    return _midnight(day, zone), _midnight(day + timedelta(days=1), zone)


def season_bounds(now: datetime, zone: tzinfo, start: tuple[int, int] | None) -> tuple[str, str]:
    """Give the bounds of the season so far.

    Parameters
    ----------
    now : datetime
        Aware.
    zone : tzinfo
        The block's time zone.
    start : tuple of int or None
        Month and day on which a season begins; None where no sheet says it.

    Returns
    -------
    tuple of str
        Midnight of its first day, or long ago, and of tomorrow.
    """
    today = now.astimezone(zone).date()
    tomorrow = _midnight(today + timedelta(days=1), zone)
    if start is None:
        return _LONG_AGO, tomorrow
    begun = (today.month, today.day) >= start
    return _midnight(date(today.year if begun else today.year - 1, *start), zone), tomorrow


def _midnight(day: date, zone: tzinfo) -> str:
    return stamp(datetime.combine(day, time.min, zone))
