"""Holes in a phone's numbers: which records never came, when they were made, and what paper says.

Rule 1: a number that was set aside was received; it is no hole.
Rule 2: a hole that counting paper tallies cover whole is told, not flagged.
"""

import bisect
import dataclasses
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Protocol
from zoneinfo import ZoneInfo

import numpy as np

from sync.intake.again import Again
from sync.intake.clock import is_phone
from sync.intake.seen import BagSeen, OutingSeen


class Timed(Protocol):
    """Gives the mended time of a record by its name; None where it has none."""

    def get(self, name: str, /) -> datetime | None:
        """Give the time, UTC."""


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
        Bags by the paper tallies, where these cover all of it.
    """

    device: str
    first: int
    last: int
    since: datetime | None
    until: datetime | None
    paper_bags: float | None

    def touches(self, day: date, zone: str) -> bool:
        """Say whether a local day lies in it; none does where no time is known."""
        ends = [at for at in (self.since, self.until) if at is not None]
        if not ends:
            return False
        first, last = (at.astimezone(ZoneInfo(zone)).date() for at in (min(ends), max(ends)))
        return first <= day <= last


def holes_in(
    numbers: Mapping[str, Sequence[int]],
    times: Timed,
    bags: Iterable[BagSeen],
    again: Again | None = None,
) -> tuple[Hole, ...]:
    """Find the holes.

    Parameters
    ----------
    numbers : mapping of str to sequence of int
        Numbers received of each device, ascending.
    times : Timed
        Mended times by record name.
    bags : iterable of BagSeen
        Counting bags, paper tallies among them.
    again : Again, optional
        Gaps that were found before; those of the same numbers are given again.

    Returns
    -------
    tuple of Hole
        By phone and number.
    """
    paper: dict[str, list[tuple[int, int, float]]] = defaultdict(list)
    for bag in bags:
        if bag.covers is not None:
            device, low, high = bag.covers
            paper[device].append((low, high, bag.bags))
    found = (again or Again()).each(
        "gaps", {device: ((seqs,), None) for device, seqs in sorted(numbers.items())
                 if is_phone(device)}, lambda device: gaps(numbers[device]))
    return tuple(
        _hole(device, first, last, times, numbers[device], paper[device])
        for device, each in found.items()
        for first, last in each
    )


def gaps(numbers: Sequence[int]) -> list[tuple[int, int]]:
    """Give the spans missing from 1 to the highest number, as (first, last)."""
    if isinstance(numbers, range):
        return [(1, numbers[0] - 1)] if numbers[0] > 1 else []
    received = np.fromiter((0, *numbers), np.int64, len(numbers) + 1)
    return [(int(received[place]) + 1, int(received[place + 1]) - 1)
            for place in np.flatnonzero(np.diff(received) > 1)]


def _hole(
    device: str,
    first: int,
    last: int,
    times: Timed,
    numbers: Sequence[int],
    paper: Sequence[tuple[int, int, float]],
) -> Hole:
    below = bisect.bisect_left(numbers, first)
    above = bisect.bisect_right(numbers, last)
    return Hole(
        device, first, last,
        _first_time(device, (numbers[i] for i in range(below - 1, -1, -1)), times),
        _first_time(device, (numbers[i] for i in range(above, len(numbers))), times),
        _paper_bags(first, last, paper),
    )


def _first_time(device: str, numbers: Iterable[int], times: Timed) -> datetime | None:
    """Give the first time there is; what waits was received, but says none."""
    found = (times.get(f"{device}:{seq}") for seq in numbers)
    return next((at for at in found if at is not None), None)


def _paper_bags(
    first: int, last: int, paper: Sequence[tuple[int, int, float]]
) -> float | None:
    """Add up the paper counts of a hole; None unless together they cover all of it."""
    over = sorted(one for one in paper if one[0] <= last and first <= one[1])
    reached = first - 1
    for low, high, _ in over:
        if low > reached + 1:
            return None
        reached = max(reached, high)
    return math.fsum(bags for _, _, bags in over) if reached >= last else None


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
