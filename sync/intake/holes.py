"""Holes in a phone's numbers: which records never came, when they were made, and what paper says.

Rule 1: a number that was set aside was received; it is no hole.
Rule 2: a hole with a counting paper tally is told, not flagged.
"""

import dataclasses
import itertools
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from sync.intake.clock import is_phone
from sync.intake.events import BagSeen, OutingSeen


@dataclasses.dataclass(frozen=True)
class Hole:
    """One span of numbers that were never received.

    Attributes
    ----------
    first, last : int
        Its numbers.
    since, until : datetime or None
        Times of the nearest numbers received before and after it.
    paper_bags : float or None
        Bags by the paper tally, where there is one.
    """

    device: str
    first: int
    last: int
    since: datetime | None
    until: datetime | None
    paper_bags: float | None

    def days(self, zone: str) -> tuple[date, ...]:
        """Give the local days it touches; none where no time is known."""
        ends = [at for at in (self.since, self.until) if at is not None]
        if not ends:
            return ()
        first, last = (at.astimezone(ZoneInfo(zone)).date() for at in (min(ends), max(ends)))
        return tuple(first + timedelta(days=i) for i in range((last - first).days + 1))


def holes_in(
    numbers: Mapping[str, Sequence[int]],
    times: Mapping[str, datetime],
    bags: Iterable[BagSeen],
) -> tuple[Hole, ...]:
    """Find the holes.

    Parameters
    ----------
    numbers : mapping of str to sequence of int
        Numbers received of each device, ascending.
    times : mapping of str to datetime
        Mended times by record name.
    bags : iterable of BagSeen
        Counting bags, paper tallies among them.

    Returns
    -------
    tuple of Hole
        By phone and number.
    """
    paper: dict[tuple[str, int, int], float] = defaultdict(float)
    for bag in bags:
        if bag.covers is not None:
            paper[bag.covers] += bag.bags
    return tuple(
        _hole(device, first, last, times, paper)
        for device, seqs in sorted(numbers.items())
        if is_phone(device)
        for first, last in gaps(seqs)
    )


def gaps(numbers: Sequence[int]) -> list[tuple[int, int]]:
    """Give the spans missing from 1 to the highest number, as (first, last)."""
    return [
        (before + 1, after - 1)
        for before, after in itertools.pairwise([0, *numbers])
        if after > before + 1
    ]


def _hole(
    device: str,
    first: int,
    last: int,
    times: Mapping[str, datetime],
    paper: Mapping[tuple[str, int, int], float],
) -> Hole:
    covering = [
        bags for (of, low, high), bags in paper.items()
        if of == device and low <= first and last <= high
    ]
    own = [int(name.rpartition(":")[2]) for name in times if name.rpartition(":")[0] == device]
    below = max((seq for seq in own if seq < first), default=None)
    above = min((seq for seq in own if seq > last), default=None)
    return Hole(
        device, first, last,
        None if below is None else times[f"{device}:{below}"],
        None if above is None else times[f"{device}:{above}"],
        sum(covering) if covering else None,
    )


def seen_hours(
    outings: Sequence[OutingSeen], device: str, day: date, hole: Hole, last_press: datetime | None
) -> float:
    """Give the hours of a phone's outings on a day, outside a hole.

    Parameters
    ----------
    outings : sequence of OutingSeen
        In time order.
    device : str
        The phone.
    day : date
        Local day.
    hole : Hole
        What is left out.
    last_press : datetime or None
        End of an outing that has none.

    Returns
    -------
    float
        Hours.
    """
    hours = 0.0
    begun: datetime | None = None
    for one in [o for o in outings if o.device == device and o.day == day]:
        if one.state in {"start", "resume"} and begun is None:
            begun = one.at
        elif one.state in {"pause", "end"} and begun is not None:
            hours += _outside(begun, one.at, hole)
            begun = None
    if begun is not None and last_press is not None and last_press > begun:
        hours += _outside(begun, last_press, hole)
    return hours


def _outside(start: datetime, end: datetime, hole: Hole) -> float:
    whole = (end - start).total_seconds()
    low = max(start, hole.since) if hole.since else start
    high = min(end, hole.until) if hole.until else end
    return (whole - max(0.0, (high - low).total_seconds())) / 3600.0
