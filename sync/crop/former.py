"""What was worked out for former days, given again while nothing until such a day is another.

Rule 1: what rests on the records until a day alone is the same while they are; a lot tells of its
bags from the day of the first of them on.
Rule 2: from one turn to the next stays only what was asked for in between.
"""

import dataclasses
import itertools
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from datetime import date
from typing import Generic, TypeVar

from sync.geometry.fresh import Fresh
from sync.geometry.swept import Swept
from sync.intake.seen import PastPick, QuadratSeen
from sync.picks.day_bags import DayBags
from sync.picks.sources import WeighedLot
from sync.survey.clip_join import JoinedClip

_T = TypeVar("_T")
_One = TypeVar("_One")


@dataclasses.dataclass(frozen=True, eq=False)
class Dated:
    """All that is known of a block, by the days on which it happened.

    Attributes
    ----------
    bags : mapping of date to DayBags
        The same object where all bags of a day are the same.
    quadrats : mapping of str to sequence of QuadratSeen
        By cell, each by day.
    """

    bags: Mapping[date, DayBags]
    past: Sequence[PastPick]
    lots: Sequence[WeighedLot]
    quadrats: Mapping[str, Sequence[QuadratSeen]]
    clips: Sequence[JoinedClip]
    swept: Swept


class Former(Generic[_T]):
    """Results of former days, of the registers of one block."""

    def __init__(self) -> None:
        self._of: Dated | None = None
        self._of_before: Dated | None = None
        self._same_before = date.min
        self._known: dict[Hashable, _T] = {}
        self._before: dict[Hashable, _T] = {}

    def turn(self) -> None:
        """Begin a turn: what the last one did not ask for is forgotten at the next."""
        self._of_before, self._of = self._of, None
        self._before, self._known = self._known, {}

    def give(self, of: Dated, until: date, name: Hashable, work: Callable[[], _T]) -> _T:
        """Give what was worked out by the very same until a day; else work it out and keep it.

        Parameters
        ----------
        of : Dated
            All that is known; the first that asks in a turn has the turn for itself.
        until : date
            The last day whose records it rests on.
        name : hashable
            What is asked for, the day and all else that it rests on.
        work : callable
            Works it out.
        """
        if self._of is None:
            self._same_before = (
                date.min if self._of_before is None else first_other_day(self._of_before, of))
            self._of = of
        if self._of is not of:
            return work()
        known = self._known
        if name not in known:
            same = until < self._same_before and name in self._before
            known[name] = self._before[name] if same else work()
        return known[name]


def first_other_day(one: Dated, other: Dated) -> date:
    """Give the first day on which one thing or another is not the same; the last of all if none.

    Parameters
    ----------
    one, other : Dated
        Known for two registers of one block.
    """
    return min(_other_days(one, other), default=date.max)


def _other_days(one: Dated, other: Dated) -> Iterator[date]:
    yield from (day for day in one.bags.keys() | other.bags.keys()
                if one.bags.get(day) is not other.bags.get(day))
    yield from _from_first_other(one.past, other.past, lambda pick: pick.first)
    # What lies on its piles until a day is told by the bags.
    yield from _from_first_other(_untallied(one.lots), _untallied(other.lots),
                                 lambda lot: lot.first_day)
    for cell in one.quadrats.keys() | other.quadrats.keys():
        yield from _from_first_other(one.quadrats.get(cell, ()), other.quadrats.get(cell, ()),
                                     lambda quadrat: quadrat.day)
    yield from _from_first_other(one.clips, other.clips, lambda clip: clip.day)
    for cell in one.swept.by_cell.keys() | other.swept.by_cell.keys():
        yield from _from_first_other(one.swept.by_cell.get(cell, ()),
                                     other.swept.by_cell.get(cell, ()), _swept_on)


def _untallied(lots: Sequence[WeighedLot]) -> list[WeighedLot]:
    return [dataclasses.replace(lot, tallied=0.0) for lot in lots]


def _swept_on(fresh: Fresh) -> date:
    return fresh.piece.day


def _from_first_other(
    one: Sequence[_One], other: Sequence[_One], day_of: Callable[[_One], date]
) -> Iterator[date]:
    """Give the days of all that stands from the first difference of two lists on."""
    same = sum(1 for _ in itertools.takewhile(
        lambda pair: pair[0] == pair[1], zip(one, other, strict=False)))
    yield from map(day_of, (*one[same:], *other[same:]))
