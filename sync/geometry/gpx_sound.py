"""Which points of a receiver's segment can be believed, and what is said of the others.

Rule 1: as many points are kept as can stand in the order of their times; a receiver that woke with
a wrong clock costs its own points, not the day's.
Rule 2: every dropped point is counted under one reason, with its number in the segment.
"""

import bisect
import dataclasses
import math
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta

from sync.geometry.track import Fix

#: Satellite time begins in 1980; a receiver without it writes 1901, 1970 or 1980.
EARLIEST = datetime(2000, 1, 1, tzinfo=UTC)
_SPANS_NAMED = 5


@dataclasses.dataclass(frozen=True)
class Raw:
    """A point as it stands in the file; nothing of it is believed yet."""

    lat: float | None
    lon: float | None
    time: datetime | None


def sound_place(lat: float | None, lon: float | None) -> bool:
    """Say whether two numbers are a place on earth [deg]."""
    if lat is None or lon is None or not (math.isfinite(lat) and math.isfinite(lon)):
        return False
    return abs(lat) <= 90.0 and abs(lon) <= 180.0


def sound_instant(time: datetime | None) -> datetime | None:
    """Give an instant in UTC, or None if it is missing, before 2000 or no instant."""
    if time is None:
        return None
    try:
        at = time.replace(tzinfo=UTC) if time.tzinfo is None else time.astimezone(UTC)
    except (ValueError, OverflowError):
        return None
    return at if at >= EARLIEST else None


def sound_fixes(points: Sequence[Raw]) -> tuple[tuple[Fix, ...], tuple[str, ...]]:
    """Sort the believable fixes of one segment from the rest.

    Parameters
    ----------
    points : sequence of Raw
        In the file's order.

    Returns
    -------
    fixes : tuple of Fix
        The longest run of them, not needing to be neighbours, whose instants rise; of points of
        one instant the first.
    faults : tuple of str
        What was dropped and which points, numbered from 1.

    References
    ----------
    .. [1] M. L. Fredman, On computing the length of longest increasing subsequences, *Discrete
       Mathematics* 11, 1975.
    """
    if not points:
        return (), ("empty",)
    dropped: dict[str, list[int]] = {}
    believed: list[tuple[int, Fix]] = []
    for number, point in enumerate(points, start=1):
        fault, fix = _fix_of(point)
        if fix is None:
            dropped.setdefault(fault, []).append(number)
        else:
            believed.append((number, fix))
    kept = _rising([fix.at for _, fix in believed])
    instants = {believed[i][1].at for i in kept}
    for i in sorted(set(range(len(believed))) - set(kept)):
        number, fix = believed[i]
        fault = "at an instant twice" if fix.at in instants else "with a time that runs backwards"
        dropped.setdefault(fault, []).append(number)
    faults = tuple(f"{len(numbers)} {'point' if len(numbers) == 1 else 'points'} {fault} dropped "
                   f"({_spans(numbers)})" for fault, numbers in dropped.items())
    return tuple(believed[i][1] for i in kept), faults


def _fix_of(point: Raw) -> tuple[str, Fix | None]:
    if point.lat is None or point.lon is None or not sound_place(point.lat, point.lon):
        return "out of the range of coordinates", None
    at = sound_instant(point.time)
    if at is None:
        return ("without a time" if point.time is None else "dated before 2000"), None
    return "", Fix(at, point.lat, point.lon)


def _rising(instants: Sequence[datetime]) -> list[int]:
    """Give the places of a longest strictly rising subsequence; the earlier points where it ties.

    Read from the end, so that of two points that cannot both stand the later one falls.
    """
    ends: list[timedelta] = []
    place: list[int] = []
    after: dict[int, int | None] = {}
    for i in range(len(instants) - 1, -1, -1):
        key = EARLIEST - instants[i]
        length = bisect.bisect_left(ends, key)
        after[i] = place[length - 1] if length else None
        ends[length:length + 1], place[length:length + 1] = [key], [i]
    kept: list[int] = []
    step = place[-1] if place else None
    while step is not None:
        kept.append(step)
        step = after[step]
    return kept


def _spans(numbers: Iterable[int]) -> str:
    spans: list[list[int]] = []
    for number in numbers:
        if spans and number == spans[-1][1] + 1:
            spans[-1][1] = number
        else:
            spans.append([number, number])
    named = [str(a) if a == b else f"{a}–{b}" for a, b in spans[:_SPANS_NAMED]]
    return ", ".join(named + ["…"] * (len(spans) > _SPANS_NAMED))
