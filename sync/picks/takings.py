"""From placed bags to the picks that were made: their days and kg, by cell, until any day.

Rule 1: which days make one pick is a matter of dates alone; touch or pick is judged later.
Rule 2: days and cells whose bags are the same objects as before are not sorted again.
"""

import bisect
import itertools
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date

from sync.block import Block, season_of
from sync.geometry.placed import Placed
from sync.intake.seen import PastPick
from sync.picks.cell_bags import CellBags
from sync.picks.day_bags import DayBags
from sync.picks.made import CellTakings
from sync.picks.once import Once
from sync.picks.sources import Label, Weights
from sync.settings import Tunables


def takings_of(
    placed: Sequence[Placed],
    past: Sequence[PastPick],
    weights: Weights,
    block: Block,
    tunables: Tunables,
) -> dict[str, CellTakings]:
    """Work out what was taken from each cell.

    Parameters
    ----------
    placed : sequence of Placed
        Bags with their chances by cell.
    past : sequence of PastPick
        Picks from before the program.
    weights : Weights
        Kg of a bag. [kg]
    block : Block
        For its seasons and bag types.
    tunables : Tunables
        When days join, and what a picking day is.

    Returns
    -------
    dict of str to CellTakings
        By cell.
    """
    return Tallies(placed, block, tunables).takings(past, weights, until=date.max)


class Tallies:
    """The bags of a block by cell and by pile, and what was weighed of them.

    Parameters
    ----------
    placed : sequence of Placed
        All bags, with their chances by cell.
    block : Block
        For its seasons and bag types.
    tunables : Tunables
        When days join, and what a picking day is.
    days, cells : Once, optional
        The bags of days and of cells as they were before, by the same block and tunables.

    Attributes
    ----------
    bags_of_days : mapping of date to DayBags
        In the order of days.
    """

    def __init__(
        self, placed: Sequence[Placed], block: Block, tunables: Tunables,
        days: Once[DayBags] | None = None, cells: Once[CellBags] | None = None,
    ) -> None:
        self.placed = placed
        self._block, self._tunables = block, tunables
        day_of = [one.bag.day for one in placed]
        # As records are merged they come by day; then a stretch of days is a stretch of them.
        self._day_of = day_of if day_of == sorted(day_of) else None
        by_day: dict[date, list[Placed]] = defaultdict(list)
        for day, one in zip(day_of, placed, strict=True):
            by_day[day].append(one)
        self._days = sorted(by_day)
        self.bags_of_days: dict[date, DayBags] = {}
        known_days: Once[DayBags] = days or Once()
        presses: dict[str, dict[date, Sequence[Placed]]] = defaultdict(dict)
        on_piles: dict[Label, list[tuple[date, float]]] = defaultdict(list)
        for day in self._days:
            each = tuple(by_day[day])
            bags = known_days.give(day, each, lambda each=each: DayBags(each))  # type: ignore[misc]
            self.bags_of_days[day] = bags
            for cell, mine in bags.by_cell.items():
                presses[cell][day] = mine
            season = season_of(day, block.season_start)
            for pile, on_pile in bags.on_piles.items():
                on_piles[pile, season] += on_pile
        known: Once[CellBags] = cells or Once()
        self._cells = {
            cell: known.give(
                cell, tuple(itertools.chain.from_iterable(each.values())),
                lambda cell=cell, each=each: CellBags(  # type: ignore[misc]
                    cell, each, block, tunables))
            for cell, each in sorted(presses.items())
        }
        self._piles = {label: _Pile(each) for label, each in on_piles.items()}
        self._weights: Once[tuple[object, ...]] = Once()

    def between(self, first: date, last: date) -> tuple[Placed, ...]:
        """Give the bags of some days in their order, both days counted."""
        if self._day_of is None:
            return tuple(one for one in self.placed if first <= one.bag.day <= last)
        return tuple(self.placed[bisect.bisect_left(self._day_of, first):
                                 bisect.bisect_right(self._day_of, last)])

    def those(self, what: Callable[[Placed], bool], *, until: date) -> list[Placed]:
        """Give the bags of which something is true, until a day, in their order.

        Parameters
        ----------
        what : callable
            Says it of one; a function of a module, by which the answer of a day is kept.
        until : date
            Last day.
        """
        return [one for bags in self.by_day(until=until) for one in bags.those(what)]

    def by_day(self, *, until: date) -> Iterator[DayBags]:
        """Give the bags until a day in their order, all of a day together where that is so."""
        if self._day_of is None:
            yield from (DayBags([one]) for one in self.placed if one.bag.day <= until)
        else:
            yield from (self.bags_of_days[day] for day in self._days if day <= until)

    def days(self, *, until: date) -> list[date]:
        """Give the days with bags until a day."""
        return self._days[:bisect.bisect_right(self._days, until)]

    def seasons(self, until: date) -> set[int]:
        """Give the seasons with bags until a day."""
        return {season_of(day, self._block.season_start) for day in self.days(until=until)}

    def bags_in(self, cell: str, first: date, last: date) -> Iterator[Placed]:
        """Give the bags of some days that may be of a cell, by day; both days counted."""
        if cell in self._cells:
            yield from self._cells[cell].between(first, last)

    def on_pile(self, label: Label, until: date) -> float:
        """Give the bags tallied on a pile until a day. [bags]."""
        pile = self._piles.get(label)
        return 0.0 if pile is None else pile.until(until)

    def last_on_pile(self, label: Label) -> date:
        """Give the day of the last bags on a pile; the first day of all for one without any."""
        pile = self._piles.get(label)
        return date.min if pile is None else pile.last

    def takings(
        self, past: Iterable[PastPick], weights: Weights, *, until: date
    ) -> dict[str, CellTakings]:
        """Work out what was taken from each cell until a day.

        Parameters
        ----------
        past : iterable of PastPick
            Picks from before the program, none of a later day.
        weights : Weights
            Kg of a bag by what was known then. [kg]
        until : date
            The last day whose bags count.

        Returns
        -------
        dict of str to CellTakings
            By cell.
        """
        typed: dict[str, list[PastPick]] = defaultdict(list)
        for pick in past:
            typed[pick.cell].append(pick)
        for cell in set(typed) - set(self._cells):
            self._cells[cell] = CellBags(cell, {}, self._block, self._tunables)
        said = {season: self._weights.give(season, each, lambda each=each: each)  # type: ignore[misc]
                for season, each in weights.by_season.items()}
        return {
            cell: self._cells[cell].takings(typed.get(cell, ()), weights, said, until)
            for cell in sorted(self._cells)
            if cell in typed or self._cells[cell].has_any(until)
        }


class _Pile:
    """The bags of one label, added up in the order in which they were tallied."""

    def __init__(self, tallied: Sequence[tuple[date, float]]) -> None:
        in_order = sorted(tallied, key=lambda each: each[0])
        self._days = [day for day, _ in in_order]
        self._sums = list(itertools.accumulate((bags for _, bags in in_order), initial=0.0))

    @property
    def last(self) -> date:
        return self._days[-1]

    def until(self, day: date) -> float:
        return self._sums[bisect.bisect_right(self._days, day)]
