"""Which of many walks were open at an instant."""

import bisect
import itertools
import math
from collections.abc import Sequence
from typing import Generic, Protocol, TypeVar

from sync.geometry.outings import Carried


class Open(Protocol):
    """Anything with an outing."""

    @property
    def carried(self) -> Carried:
        """Its outing."""


W = TypeVar("W", bound=Open)


class OpenAt(Generic[W]):
    """Walks by their start: a person's or a device's of ten seasons are a thousand.

    Parameters
    ----------
    walks : sequence of W
        In any order.
    """

    def __init__(self, walks: Sequence[W]) -> None:
        self._places = sorted(range(len(walks)), key=lambda i: walks[i].carried.since_ms)
        self._walks = walks
        self._since_ms = [walks[i].carried.since_ms for i in self._places]
        self._until_ms = [walks[i].carried.until_ms for i in self._places]
        #: The latest end of any walk up to each: further back none can be open.
        self._latest_ms = list(itertools.accumulate(self._until_ms, max))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, OpenAt) and self._walks == other._walks

    __hash__ = None  # type: ignore[assignment]

    def same_until_ms(self, other: "OpenAt[W]") -> float:
        """Give the instant before which the same walks are open in both. [ms since 1970]."""
        for mine, its in itertools.zip_longest(self._places, other._places):
            one = None if mine is None else self._walks[mine]
            two = None if its is None else other._walks[its]
            if one is not two:
                return min(each.carried.since_ms for each in (one, two) if each is not None)
        return math.inf

    def at(self, at_ms: float) -> list[W]:
        """Give the walks that are open at an instant, start and end included, in their order."""
        found = []
        i = bisect.bisect_right(self._since_ms, at_ms)
        while i > 0 and self._latest_ms[i - 1] >= at_ms:
            i -= 1
            if self._until_ms[i] >= at_ms:
                found.append(self._places[i])
        found.sort()
        return [self._walks[place] for place in found]
