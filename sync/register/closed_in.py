"""What was closed within a span of days: closures of the owner's map and holds after spraying.

Rule 1: a closing is told once, with its own dates and the ground that it took on its first day
within the span.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from datetime import date

from sync.geometry.ground import Closing, Ground
from sync.geometry.swept import overlap_m2
from sync.register.build import Register

#: What makes two closings one: why, first and last day, and whether a record says it.
Key = tuple[str, date | None, date | None, bool]


@dataclasses.dataclass(frozen=True)
class ClosedIn:
    """A closing.

    Attributes
    ----------
    why : str
        In the owner's words.
    since, until : date or None
        First and last day; None is open.
    hold : bool
        Whether it comes from a record, such as a spraying.
    cells : tuple of str
        Cells that it takes some of.
    area_m2 : float
        What it takes of them. [m²]
    """

    why: str
    since: date | None
    until: date | None
    hold: bool
    cells: tuple[str, ...]
    area_m2: float


def closed_in(
    register: Register, cells: Collection[str], first: date, last: date
) -> tuple[ClosedIn, ...]:
    """Give what was closed of some cells between two days.

    Parameters
    ----------
    register : Register
        For its grounds.
    cells : collection of str
        Whose ground counts.
    first, last : date
        Both counted.

    Returns
    -------
    tuple of ClosedIn
        By first day, those open since ever first; then by words.
    """
    found: dict[Key, ClosedIn] = {}
    for day in sorted(set(_days(register, first, last))):
        ground = register.grounds.on(day)
        fresh: dict[Key, list[Closing]] = defaultdict(list)
        for one in ground.closings:
            fresh[one.why, one.since, one.until, one.hold].append(one)
        for key, alike in fresh.items():
            if key not in found and (told := _told(ground, alike, cells)).cells:
                found[key] = told
    return tuple(sorted(found.values(), key=lambda one: (
        one.since or date.min, one.until or date.max, one.why, one.cells)))


def _days(register: Register, first: date, last: date) -> Iterator[date]:
    """Give the days of the span on which a closing may begin."""
    yield first
    begun = [*(one.since for one in register.block.closures),
             *(one.since for one in register.events.sprayings)]
    yield from (day for day in begun if day is not None and first < day <= last)


def _told(ground: Ground, alike: Sequence[Closing], cells: Collection[str]) -> ClosedIn:
    """Tell closings of one reason and the same dates as one."""
    parts = [(name, overlap_m2(ground.projection, one.shape, ground.cells[name].shape))
             for name in cells if name in ground.cells
             for one in ground.cells[name].closings if one in alike]
    first = alike[0]
    return ClosedIn(first.why, first.since, first.until, first.hold,
                    tuple(dict.fromkeys(name for name, _ in parts)), sum(m2 for _, m2 in parts))
