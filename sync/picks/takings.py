"""From placed bags to the picks that were made: their days and kg, by cell, until any day.

Rule 1: a picking day is a day with at least half a bag expected in the cell; less counts as kg.
Rule 2: which days make one pick is a matter of dates alone; touch or pick is judged later.
Rule 3: what was weighed for one day is not weighed again for another unless a bag, a lot or the
weight of a bag is another; the figures are the same to the last bit.
"""

import bisect
import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from sync.block import Block, season_of
from sync.geometry.placed import Placed
from sync.intake.seen import PastPick
from sync.picks.joining import Pick, join_days
from sync.picks.made import Bags, CellTakings, Kg, PickMade, added
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
    kept : Once, optional
        The bags of cells as they were before, by the same block and tunables.
    """

    def __init__(
        self, placed: Sequence[Placed], block: Block, tunables: Tunables,
        kept: Once["CellBags"] | None = None,
    ) -> None:
        self.placed = placed
        self._block, self._tunables = block, tunables
        presses: dict[str, dict[date, list[Placed]]] = defaultdict(lambda: defaultdict(list))
        on_piles: dict[Label, list[tuple[date, float]]] = defaultdict(list)
        for one in placed:
            for cell in one.chances:
                presses[cell][one.bag.day].append(one)
            if one.bag.pile is not None:
                season = season_of(one.bag.day, block.season_start)
                on_piles[one.bag.pile, season].append((one.bag.day, one.bag.bags))
        known: Once[CellBags] = kept or Once()
        self._cells = {
            cell: known.give(
                cell, tuple(one for day in sorted(each) for one in each[day]),
                lambda cell=cell, each=each: CellBags(  # type: ignore[misc]
                    cell, each, block, tunables))
            for cell, each in sorted(presses.items())
        }
        self._piles = {label: _Pile(each) for label, each in on_piles.items()}
        self._days = sorted({one.bag.day for one in placed})

    def seasons(self, until: date) -> set[int]:
        """Give the seasons with bags until a day."""
        days = self._days[:bisect.bisect_right(self._days, until)]
        return {season_of(day, self._block.season_start) for day in days}

    def bags_in(self, cell: str) -> Iterator[Placed]:
        """Give the bags that may be of a cell, by day."""
        if cell in self._cells:
            yield from self._cells[cell].all()

    def on_pile(self, label: Label, until: date) -> float:
        """Give the bags tallied on a pile until a day. [bags]."""
        pile = self._piles.get(label)
        return 0.0 if pile is None else pile.until(until)

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
        return {
            cell: self._cells[cell].takings(typed.get(cell, ()), weights, until)
            for cell in sorted(self._cells)
            if cell in typed or self._cells[cell].has_any(until)
        }


class _Pile:
    """The bags of one label, added up in the order in which they were tallied."""

    def __init__(self, tallied: Sequence[tuple[date, float]]) -> None:
        in_order = sorted(tallied, key=lambda each: each[0])
        self._days = [day for day, _ in in_order]
        self._sums = list(itertools.accumulate((bags for _, bags in in_order), initial=0.0))

    def until(self, day: date) -> float:
        return self._sums[bisect.bisect_right(self._days, day)]


class CellBags:
    """The bags of one cell by day, and what was weighed of them."""

    def __init__(
        self, cell: str, presses: Mapping[date, Sequence[Placed]], block: Block,
        tunables: Tunables,
    ) -> None:
        self._cell, self._block, self._tunables = cell, block, tunables
        self._presses = dict(sorted(presses.items()))
        self._days = list(self._presses)
        self._expected = {
            day: sum(one.bag.bags * one.chances[cell] for one in each)
            for day, each in self._presses.items()
        }
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
        self, typed: Sequence[PastPick], weights: Weights, until: date
    ) -> CellTakings:
        """Work out the picks until a day, and the stray bags between them."""
        seen = self._days[:bisect.bisect_right(self._days, until)]
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
            self._bags[days] = Bags(presses, self._cell, self._block)
        return self._bags[days]

    def _made(
        self, span: Pick, days: Sequence[date], typed: Sequence[PastPick], weights: Weights
    ) -> PickMade:
        by_day = {day: self._day(day, weights) for day in days}
        whole: Kg | None = self._bags_of(days).kg(weights)
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
