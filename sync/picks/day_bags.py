"""The bags of one day, sorted once by what is asked of them day after day.

Rule 1: the bags of each list stand in the order given.
"""

import functools
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from datetime import date

from sync.geometry.placed import Placed


class DayBags:
    """The bags of one day by cell, and those on each pile in the order of their tallying.

    Parameters
    ----------
    presses : sequence of Placed
        Of one day, at least one.
    """

    def __init__(self, presses: Sequence[Placed]) -> None:
        self.day = presses[0].bag.day
        self.by_cell: dict[str, list[Placed]] = defaultdict(list)
        self.on_piles: dict[str, list[tuple[date, float]]] = defaultdict(list)
        self._presses = presses
        self._those: dict[Callable[[Placed], bool], list[Placed]] = {}
        for one in presses:
            for cell in one.chances:
                self.by_cell[cell].append(one)
            if one.bag.pile is not None:
                self.on_piles[one.bag.pile].append((one.bag.day, one.bag.bags))

    def those(self, what: Callable[[Placed], bool]) -> list[Placed]:
        """Give the bags of which something is true."""
        if what not in self._those:
            self._those[what] = [one for one in self._presses if what(one)]
        return self._those[what]

    @functools.cached_property
    def flagged(self) -> Mapping[str, Sequence[Placed]]:
        """The bags by the cells that are flagged for them."""
        found: dict[str, list[Placed]] = defaultdict(list)
        for one in self._presses:
            for cell in one.flagged:
                found[cell].append(one)
        return found

    @functools.cached_property
    def names_on_piles(self) -> Mapping[str, Sequence[str]]:
        """The records of the bags on each pile."""
        found: dict[str, list[str]] = defaultdict(list)
        for one in self._presses:
            if one.bag.pile is not None:
                found[one.bag.pile].append(one.bag.name)
        return found
