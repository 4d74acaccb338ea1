"""The history: all that the phone holds, by outing or by day, for the person to see and mend.

Rule 1: nothing is hidden: what was undone or mended stays in sight, marked as such.
Rule 2: of a track it says how many points are kept, and never a pace or a pause.
Rule 3: a mend shows on the day of what it mends, as it counts there.
"""

import dataclasses
from collections import Counter
from collections.abc import Mapping
from datetime import date, datetime, time, tzinfo
from typing import Any, Literal

from fieldapp.capture.book import Noted
from fieldapp.capture.days import day_bounds
from fieldapp.capture.outing import Outing
from fieldapp.record import instant

Standing = Literal["stands", "undone", "mended"]


@dataclasses.dataclass(frozen=True)
class Line:
    """One line of the history.

    Attributes
    ----------
    record : mapping
        As written.
    standing : str
        stands, undone (a void names it) or mended (another stands in for it).
    mends : int or None
        Number of the first record that it stands in for, or did.
    """

    record: Mapping[str, Any]
    standing: Standing
    mends: int | None


@dataclasses.dataclass(frozen=True)
class DayHeld:
    """A local day of which the phone holds something.

    Attributes
    ----------
    day : date
        Local.
    count : int
        Lines of its history.
    points : int
        Points of tracks.
    """

    day: date
    count: int
    points: int


def history(outing: Outing) -> tuple[Line, ...]:
    """Give the lines of the last outing.

    Parameters
    ----------
    outing : Outing
        Open or over.

    Returns
    -------
    tuple of Line
        The newest first; voids show by what they name, tracks by `points_kept`.
    """
    noted, first_seq = outing.noted, outing.first_seq
    return tuple(_line(record, noted) for record in reversed(noted.records())
                 if record["seq"] >= first_seq and record["kind"] != "void")


def days_held(outing: Outing, *, zone: tzinfo) -> tuple[DayHeld, ...]:
    """Give the days of which the phone holds anything.

    Parameters
    ----------
    outing : Outing
        Open or over.
    zone : tzinfo
        The block's time zone.

    Returns
    -------
    tuple of DayHeld
        The newest first.
    """
    noted = outing.noted
    bounds: dict[date, tuple[str, str]] = {}
    lines: Counter[date] = Counter()
    day = date.min
    for record in noted.records():
        if record["kind"] == "void":
            continue
        at = noted.first_record(record["seq"])["at"]
        # Records mostly follow in time: a day is reckoned once and then held against its bounds.
        if day not in bounds or not bounds[day][0] <= at < bounds[day][1]:
            day = instant(at).astimezone(zone).date()
            bounds[day] = _bounds(day, zone)
        lines[day] += 1
    points = noted.points_by_day(zone)
    return tuple(DayHeld(day, lines[day], points.get(day, 0))
                 for day in sorted({*lines, *points}, reverse=True))


def history_of(outing: Outing, day: date, *, zone: tzinfo) -> tuple[Line, ...]:
    """Give the lines of a day, of all outings.

    Parameters
    ----------
    outing : Outing
        Open or over.
    day : date
        Local.
    zone : tzinfo
        The block's time zone.

    Returns
    -------
    tuple of Line
        The newest first; voids show by what they name, tracks by `days_held`.
    """
    noted = outing.noted
    begin, end = _bounds(day, zone)
    return tuple(_line(record, noted) for record in reversed(noted.records())
                 if record["kind"] != "void"
                 and begin <= noted.first_record(record["seq"])["at"] < end)


def points_kept(outing: Outing) -> int:
    """Give how many points of tracks the phone holds."""
    outing.noted.records()
    return outing.noted.points


def _bounds(day: date, zone: tzinfo) -> tuple[str, str]:
    return day_bounds(datetime.combine(day, time(12), zone), zone)


def _line(record: Mapping[str, Any], noted: Noted) -> Line:
    seq = record["seq"]
    first = noted.first_record(seq)["seq"]
    mends = None if first == seq else first
    if noted.counts(seq):
        return Line(record, "stands", mends)
    return Line(record, "mended" if noted.is_mended(seq) else "undone", mends)
