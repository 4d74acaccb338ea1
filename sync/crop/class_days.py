"""What the classes were on the days before picks, kept from one day asked about to the next.

Rule 1: what was worked out for a day is given again only where every quadrat and every rest up to
that day is the same; the figures are the same to the last bit.
Rule 2: the first that was told of all picks leaves what the others are held to; it is held itself
to the first of the turn before. What is not told of all its picks yet serves nobody else.
"""

import bisect
import dataclasses
import itertools
from collections.abc import Callable, Hashable, Mapping, Sequence
from datetime import date

from sync.crop.classes import ClassCrop, JudgedPick, ReadingIndex, class_crop
from sync.picks.once import Once
from sync.settings import Tunables

#: A reading with its day and cell, in the order of days.
_Read = tuple[date, str, ReadingIndex]
#: What of a pick tells whether a cell was rested: its first day, cell, touch, and the rest's end.
_Rest = tuple[date, str, bool, date | None]


@dataclasses.dataclass
class _First:
    """What one that asked found of a class."""

    readings: list[_Read]
    rests: list[_Rest] = dataclasses.field(default_factory=list)
    by_day: dict[date, ClassCrop] = dataclasses.field(default_factory=dict)


class _Beside:
    """How far a class is as the first had it."""

    def __init__(self, first: _First, mine: list[_Read]) -> None:
        self._first, self._mine = first, mine
        self._same_before = (
            date.max if first.readings is mine else _first_other_day(first.readings, mine))
        self._told = 0

    def on(self, day: date) -> ClassCrop | None:
        """Give what the first found for a day, if all up to that day is the same.

        A reading of the first day of a pick is of before that pick.
        """
        rests = self._first.rests
        ahead = self._told < len(rests) and rests[self._told][0] < day
        if day >= self._same_before or ahead or self._told > len(rests):
            return None
        return self._first.by_day.get(day)

    def judged(self, rest: _Rest) -> None:
        """Be told of a pick; they come in the order of their first days."""
        rests = self._first.rests
        if self._told < len(rests) and rests[self._told] != rest:
            self._same_before = min(self._same_before, self._tells_from(rest, rests[self._told]))
        self._told += 1

    def _tells_from(self, rest: _Rest, other: _Rest) -> date:
        """Give the day from which two picks that differ tell a different class.

        One pick that rests otherwise tells nothing else until its cell is next read.
        """
        if rest[:2] != other[:2]:
            return min(rest[0], other[0])
        return min(_next_read(reads, rest[1], rest[0])
                   for reads in (self._first.readings, self._mine))


class ClassDays:
    """What every class was on the days before picks, for all days asked about."""

    def __init__(self) -> None:
        self._firsts: dict[Hashable, _First] = {}
        self._before: dict[Hashable, _First] = {}
        self._read: Once[list[_Read]] = Once()

    def turn(self) -> None:
        """Begin a turn: the firsts of this one stay until the next."""
        self._before, self._firsts = self._firsts, {}
        self._read.turn()

    def of(
        self,
        ground_class: str,
        cells: Sequence[str],
        readings: Mapping[str, Sequence[ReadingIndex]],
        tunables: Tunables,
    ) -> "OneClass":
        """Give a class's days by some readings.

        Parameters
        ----------
        ground_class : str
            Its name.
        cells : sequence of str
            Its cells.
        readings : mapping
            Readings by cell, none after the day asked about.
        tunables : Tunables
            Priors; those of before, too.

        Returns
        -------
        OneClass
            To be told of every pick in the order of first days.
        """
        by_cell = tuple(readings.get(cell, ()) for cell in cells)
        mine = self._read.give(ground_class, (tuple(cells), by_cell), lambda: sorted(
            ((one.reading.day, cell, one)
             for cell, each in zip(cells, by_cell, strict=True) for one in each),
            key=lambda read: read[:2]))
        key = ground_class, tuple(cells), mine[0][2] if mine else None
        other, own = self._firsts.get(key) or self._before.get(key), _First(mine)
        return OneClass(
            ground_class, cells, readings, tunables, own,
            None if other is None else _Beside(other, mine),
            finished=lambda: self._firsts.setdefault(key, own))


class OneClass:
    """A class on the days before its picks; made by `ClassDays.of`."""

    def __init__(
        self,
        ground_class: str,
        cells: Sequence[str],
        readings: Mapping[str, Sequence[ReadingIndex]],
        tunables: Tunables,
        own: _First,
        beside: _Beside | None,
        *,
        finished: Callable[[], object],
    ) -> None:
        self._class, self._cells = ground_class, cells
        self._readings, self._tunables = readings, tunables
        self._own, self._beside, self._finished = own, beside, finished
        self._days = [day for day, _, _ in own.readings]

    def until(
        self, day: date, judged: Mapping[str, Sequence[JudgedPick]]
    ) -> ClassCrop:
        """Say what is known of the class on a day.

        Parameters
        ----------
        day : date
            Last day whose readings are used.
        judged : mapping
            The picks told of so far, by cell.

        Returns
        -------
        ClassCrop
            As `class_crop` gives it.
        """
        # Without a reading between them two days tell the same.
        last = bisect.bisect_right(self._days, day)
        day = self._days[last - 1] if last else date.min
        by_day = self._own.by_day
        if day not in by_day:
            known = None if self._beside is None else self._beside.on(day)
            by_day[day] = known or class_crop(
                self._class, self._cells, self._readings, judged, self._tunables, until=day)
        return by_day[day]

    def judged(self, pick: JudgedPick) -> None:
        """Be told of a pick; they come in the order of their first days."""
        rest = pick.made.first, pick.made.cell, pick.touch, pick.rest_ends
        self._own.rests.append(rest)
        if self._beside is not None:
            self._beside.judged(rest)

    def all_judged(self) -> None:
        """Be told that there are no more picks: from now on others may be held to it."""
        self._finished()


def _next_read(reads: list[_Read], cell: str, after: date) -> date:
    """Give the day on which a cell is next read; the last day of all if never."""
    later = bisect.bisect_right(reads, after, key=lambda read: read[0])
    return next((day for day, of, _ in itertools.islice(reads, later, None) if of == cell),
                date.max)


def _first_other_day(one: list[_Read], other: list[_Read]) -> date:
    """Give the first day on which two lists of readings differ."""
    for mine, theirs in itertools.zip_longest(one, other):
        if mine != theirs:
            return min(read[0] for read in (mine, theirs) if read is not None)
    return date.max
