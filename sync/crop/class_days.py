"""What the classes were on the days before picks, kept from one day asked about to the next.

Rule 1: what was worked out for a day is given again only where every quadrat and every rest up to
that day is the same; the figures are the same to the last bit.
Rule 2: the first that asks of a class leaves what the others are held to.
"""

import bisect
import dataclasses
import itertools
from collections.abc import Hashable, Mapping, Sequence
from datetime import date

from sync.crop.classes import ClassCrop, JudgedPick, ReadingIndex, class_crop
from sync.settings import Tunables

#: A reading with its day and cell, in the order of days.
_Read = tuple[date, str, ReadingIndex]
#: What of a pick tells whether a cell was rested: its first day, cell, touch, and the rest's end.
_Rest = tuple[date, str, bool, date | None]


@dataclasses.dataclass
class _First:
    """What the first that asked found of a class."""

    readings: list[_Read]
    rests: list[_Rest] = dataclasses.field(default_factory=list)
    by_day: dict[date, ClassCrop] = dataclasses.field(default_factory=dict)


class ClassDays:
    """What every class was on the days before picks, for all days asked about."""

    def __init__(self) -> None:
        self._firsts: dict[Hashable, _First] = {}

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
            Priors.

        Returns
        -------
        OneClass
            To be told of every pick in the order of first days.
        """
        mine = sorted(((one.reading.day, cell, one) for cell in cells
                       for one in readings.get(cell, ())), key=lambda read: read[:2])
        key = ground_class, tuple(cells), mine[0][2] if mine else None
        first = self._firsts.get(key)
        leads = first is None
        if first is None:
            first = self._firsts[key] = _First(mine)
        return OneClass(ground_class, cells, readings, tunables, first, mine, leads=leads)


class OneClass:
    """A class on the days before its picks; made by `ClassDays.of`."""

    def __init__(
        self,
        ground_class: str,
        cells: Sequence[str],
        readings: Mapping[str, Sequence[ReadingIndex]],
        tunables: Tunables,
        first: _First,
        mine: list[_Read],
        *,
        leads: bool,
    ) -> None:
        self._class, self._cells = ground_class, cells
        self._readings, self._tunables = readings, tunables
        self._first, self._mine, self._leads = first, mine, leads
        self._same_before = date.max if leads else _first_other_day(first.readings, mine)
        self._told = 0
        self._days = [day for day, _, _ in mine]
        self._own: dict[date, ClassCrop] = {}

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
        by_day = self._first.by_day if self._leads else self._own
        if day not in by_day:
            first = self._first.by_day.get(day) if self._is_same(day) else None
            by_day[day] = first or class_crop(
                self._class, self._cells, self._readings, judged, self._tunables, until=day)
        return by_day[day]

    def judged(self, pick: JudgedPick) -> None:
        """Be told of a pick; they come in the order of their first days."""
        rest = pick.made.first, pick.made.cell, pick.touch, pick.rest_ends
        rests = self._first.rests
        if self._leads:
            rests.append(rest)
        elif self._told < len(rests) and rests[self._told] != rest:
            self._same_before = min(self._same_before, self._tells_from(rest, rests[self._told]))
        self._told += 1

    def _tells_from(self, rest: _Rest, other: _Rest) -> date:
        """Give the day from which two picks that differ tell a different class.

        One pick that rests otherwise tells nothing else until its cell is next read.
        """
        if rest[:2] != other[:2]:
            return min(rest[0], other[0])
        later = [day for reads in (self._first.readings, self._mine) for day, cell, _ in reads
                 if cell == rest[1] and day > rest[0]]
        return min(later, default=date.max)

    def _is_same(self, day: date) -> bool:
        """Say whether all up to a day is as the first that asked had it.

        A reading of the first day of a pick is of before that pick.
        """
        if self._leads:
            return True
        rests = self._first.rests
        ahead = self._told < len(rests) and rests[self._told][0] < day
        behind = self._told > len(rests)
        return day < self._same_before and not ahead and not behind


def _first_other_day(one: list[_Read], other: list[_Read]) -> date:
    """Give the first day on which two lists of readings differ."""
    for mine, theirs in itertools.zip_longest(one, other):
        if mine != theirs:
            return min(read[0] for read in (mine, theirs) if read is not None)
    return date.max
