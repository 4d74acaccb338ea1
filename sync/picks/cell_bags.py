"""The bags of one cell by day, and the picks that they make until any day.

Rule 1: a picking day is a day with at least half a bag expected in the cell; less counts as kg.
Rule 2: what was weighed for one day is not weighed again for another unless a bag, a lot or the
weight of a bag is another; the figures are the same to the last bit.
"""

import bisect
from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from sync.block import Block, season_of
from sync.geometry.placed import Placed
from sync.intake.seen import PastPick
from sync.picks.bags import Bags, JoinedBags
from sync.picks.joining import Pick, join_days
from sync.picks.made import CellTakings, Kg, PickMade, added
from sync.picks.once import Once
from sync.picks.sources import Weights
from sync.settings import Tunables


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
        self._spans_of: dict[
            tuple[tuple[date, ...], int], tuple[Sequence[Pick], Sequence[date]]] = {}
        self._bags: dict[date, Bags] = {}
        self._joined: dict[tuple[date, ...], JoinedBags] = {}

    def between(self, first: date, last: date) -> Iterator[Placed]:
        """Give those of some days, both days counted."""
        for day in self._within(first, last):
            yield from self._presses[day]

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
        by = (tuple(typed), tuple([said[season] for season in self._seasons[seen]]))
        return self._known.give(seen, by, lambda: self._takings(typed, weights, seen))

    def _takings(
        self, typed: Sequence[PastPick], weights: Weights, count: int
    ) -> CellTakings:
        spans, stray = self._spans(tuple(
            day for pick in typed for day in (pick.first, pick.last)), count)
        return CellTakings(
            self._cell, tuple([self._pick(span, typed, weights) for span in spans]),
            {day: self._day(day, weights) for day in stray})

    def _spans(
        self, typed: tuple[date, ...], count: int
    ) -> tuple[Sequence[Pick], Sequence[date]]:
        """Join the first days to picks, with the days of typed ones; give the others apart.

        No weight of a bag tells of it, and those are others on every day asked about.
        """
        if (typed, count) not in self._spans_of:
            seen, least = self._days[:count], self._tunables.least_bags_a_day
            spans = join_days(
                {*typed, *(day for day in seen if self._expected[day] >= least)},
                season_start=self._block.season_start,
                same_pick_days=self._tunables.same_pick_days,
                pick_longest_days=self._tunables.pick_longest_days,
            )
            inside = {day for span in spans for day in self._within(span.first, span.last)}
            self._spans_of[typed, count] = spans, [day for day in seen if day not in inside]
        return self._spans_of[typed, count]

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
        bags = self._day_bags(day)
        return self._known_days.give(
            day, bags.weighed_by(weights), lambda: bags.kg(weights))

    def _bags_of(self, days: Sequence[date]) -> Bags | JoinedBags:
        if len(days) == 1:
            return self._day_bags(days[0])
        days = tuple(days)
        if days not in self._joined:
            self._joined[days] = JoinedBags(
                [self._day_bags(day) for day in days], self._cell, self._block)
        return self._joined[days]

    def _day_bags(self, day: date) -> Bags:
        if day not in self._bags:
            self._bags[day] = Bags(self._presses[day], self._cell, self._block)
        return self._bags[day]

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
