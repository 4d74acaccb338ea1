"""From placed bags to the picks that were made: their days and kg, by cell, until any day.

Rule 1: a picking day is a day with at least half a bag expected in the cell; less counts as kg.
Rule 2: which days make one pick is a matter of dates alone; touch or pick is judged later.
Rule 3: what was weighed for one day is not weighed again for another unless a bag, a lot or the
weight of a bag is another; the figures are the same to the last bit.
"""

import bisect
import itertools
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date

from sync.block import Block, season_of
from sync.geometry.placed import Placed
from sync.intake.seen import PastPick
from sync.picks.bags import Bags, JoinedBags
from sync.picks.day_bags import DayBags
from sync.picks.joining import Pick, join_days
from sync.picks.made import CellTakings, Kg, PickMade, added
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
        days: Once[DayBags] | None = None, cells: Once["CellBags"] | None = None,
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

    def bags_in(self, cell: str) -> Iterator[Placed]:
        """Give the bags that may be of a cell, by day."""
        if cell in self._cells:
            yield from self._cells[cell].all()

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
                for season, each in weights.by_season().items()}
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


class CellBags:
    """The bags of one cell by day, and what was weighed of them.

    Parameters
    ----------
    cell : str
        Its name.
    presses : mapping of date to sequence of Placed
        By day.
    block, tunables
        As for `Tallies`.
    """

    def __init__(
        self, cell: str, presses: Mapping[date, Sequence[Placed]], block: Block,
        tunables: Tunables,
    ) -> None:
        self._cell, self._block, self._tunables = cell, block, tunables
        self._presses = dict(sorted(presses.items()))
        self._days = list(self._presses)
        seasons = [season_of(day, block.season_start) for day in self._days]
        self._seasons = [tuple(sorted(set(seasons[:seen]))) for seen in range(len(seasons) + 1)]
        self._expected = {
            day: sum([one.bag.bags * one.chances[cell] for one in each])
            for day, each in self._presses.items()
        }
        self._known: Once[CellTakings] = Once()
        self._known_picks: Once[PickMade] = Once()
        self._known_days: Once[Kg] = Once()
        self._bags: dict[tuple[date, ...], Bags] = {}

    def all(self) -> Iterator[Placed]:
        """Give all of them, by day."""
        for each in self._presses.values():
            yield from each

    def has_any(self, until: date) -> bool:
        """Say whether there is a bag until a day."""
        return bool(self._days) and self._days[0] <= until

    def takings(
        self, typed: Sequence[PastPick], weights: Weights,
        said: Mapping[int, tuple[object, ...]], until: date,
    ) -> CellTakings:
        """Work out the picks until a day, and the stray bags between them.

        Parameters
        ----------
        typed : sequence of PastPick
            Its picks from before the program.
        weights : Weights
            Kg of a bag. [kg]
        said : mapping of int to tuple
            All that the weights say of each season.
        until : date
            The last day whose bags count.
        """
        seen = bisect.bisect_right(self._days, until)
        by = (tuple(typed), tuple(said[season] for season in self._seasons[seen]))
        return self._known.give(seen, by, lambda: self._takings(typed, weights, seen))

    def _takings(
        self, typed: Sequence[PastPick], weights: Weights, count: int
    ) -> CellTakings:
        seen = self._days[:count]
        least = self._tunables.least_bags_a_day
        days = {day for day in seen if self._expected[day] >= least}
        days |= {day for pick in typed for day in (pick.first, pick.last)}
        spans = join_days(
            days,
            season_start=self._block.season_start,
            same_pick_days=self._tunables.same_pick_days,
            pick_longest_days=self._tunables.pick_longest_days,
        )
        picks = tuple(self._pick(span, typed, weights) for span in spans)
        inside = {day for span in spans for day in self._within(span.first, span.last)}
        stray = {day: self._day(day, weights) for day in seen if day not in inside}
        return CellTakings(self._cell, picks, stray)

    def _within(self, first: date, last: date) -> Sequence[date]:
        return self._days[bisect.bisect_left(self._days, first):
                          bisect.bisect_right(self._days, last)]

    def _pick(self, span: Pick, typed: Sequence[PastPick], weights: Weights) -> PickMade:
        # One longer than a pick may last counts where it ended, for there its rest begins.
        of_past = tuple(pick for pick in typed if span.first <= pick.last <= span.last)
        days = self._within(span.first, span.last)
        by = (of_past, *self._bags_of(days).weighed_by(weights))
        return self._known_picks.give(
            span.days, by, lambda: self._made(span, days, of_past, weights))

    def _day(self, day: date, weights: Weights) -> Kg:
        bags = self._bags_of((day,))
        return self._known_days.give(
            day, bags.weighed_by(weights), lambda: bags.kg(weights))

    def _bags_of(self, days: Sequence[date]) -> Bags:
        days = tuple(days)
        if days not in self._bags:
            presses = [one for day in days for one in self._presses[day]]
            self._bags[days] = Bags(presses, self._cell, self._block) if len(days) < 2 else (
                JoinedBags([self._bags_of((day,)) for day in days], presses, self._cell,
                           self._block))
        return self._bags[days]

    def _made(
        self, span: Pick, days: Sequence[date], typed: Sequence[PastPick], weights: Weights
    ) -> PickMade:
        by_day = {day: self._day(day, weights) for day in days}
        whole: Kg | None = (
            by_day[days[0]] if len(days) == 1 else self._bags_of(days).kg(weights))
        shares = [pick.share_pct for pick in typed]
        for pick in typed:
            middle = pick.first + (pick.last - pick.first) / 2
            if pick.dry_kg is None:
                whole = None
            elif whole is not None:
                typed_kg = Kg(pick.dry_kg, 0.0, 0.0, (pick.name,))
                whole = added([whole, typed_kg])
                by_day[middle] = (
                    added([by_day[middle], typed_kg]) if middle in by_day else typed_kg)
        records = (*(whole.records if whole else ()), *(pick.name for pick in typed))
        return PickMade(
            self._cell, span.first, span.last, span.days, by_day, whole,
            max(shares) if shares else None, tuple(dict.fromkeys(records)),
        )
