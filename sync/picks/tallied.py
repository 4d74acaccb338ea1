"""Lots with the bags that lay on their piles until a day.

Rule 1: bags put on a pile after the day move no share of its lot.
"""

import dataclasses
from collections.abc import Sequence
from datetime import date

from sync.picks.once import Once
from sync.picks.sources import WeighedLot
from sync.picks.takings import Tallies


class TalliedLots:
    """Lots, whose piles are counted until any day.

    Parameters
    ----------
    lots : sequence of WeighedLot
        All that are known.
    tallies : Tallies
        The bags on the piles.
    kept : Once
        Lots as they were counted before.
    """

    def __init__(
        self, lots: Sequence[WeighedLot], tallies: Tallies, kept: Once[WeighedLot]
    ) -> None:
        # Equal lots of before are the same objects again, which are compared at a glance.
        self._lots = [kept.give((lot.names, "known"), (lot,), lambda lot=lot: lot)  # type: ignore[misc]
                      for lot in lots]
        self._labels = [sorted(lot.labels) for lot in lots]
        self._last = [max((tallies.last_on_pile(label) for label in labels), default=date.min)
                      for labels in self._labels]
        self._whole = [self._tallied(i, date.max, tallies, kept) for i in range(len(lots))]
        self._tallies, self._kept = tallies, kept

    def until(self, day: date) -> list[WeighedLot]:
        """Give the lots with a bag until a day, with the bags tallied until then."""
        return [
            whole if last <= day else self._tallied(i, day, self._tallies, self._kept)
            for i, (whole, last) in enumerate(zip(self._whole, self._last, strict=True))
            if whole.first_day <= day
        ]

    def _tallied(
        self, number: int, day: date, tallies: Tallies, kept: Once[WeighedLot]
    ) -> WeighedLot:
        lot = self._lots[number]
        tallied = sum(tallies.on_pile(label, day) for label in self._labels[number])
        return kept.give(lot.names, (lot, tallied), lambda: dataclasses.replace(
            lot, tallied=tallied))
