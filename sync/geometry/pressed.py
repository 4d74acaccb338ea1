"""The presses of one phone for one picker, and what each asks of walks.

Rule 1: a person's own phone tells first, then another receiver that went along.
Rule 2: nothing is asked before somebody wants to know it: where it is remembered what all presses
of a phone were told, none of them asks.
"""

import bisect
import dataclasses
import functools
import itertools
import math
from collections.abc import Mapping, Sequence
from datetime import date
from typing import NamedTuple

from sync.geometry.open_walks import OpenAt
from sync.geometry.outings import since_of
from sync.geometry.traces import Span
from sync.geometry.walk import Walk
from sync.intake.clock import is_phone
from sync.intake.seen import BagSeen


class Asking(NamedTuple):
    """What a press asks.

    Attributes
    ----------
    at_ms : float
        Its instant. [ms since 1970]
    spans : tuple of (Walk, Span)
        The picker's walks at the press, those with the phone that was pressed first.
    own : tuple of Walk
        Those that the phone of the press was on, whoever carried it.
    """

    bag: BagSeen
    at_ms: float
    spans: tuple[tuple[Walk, Span], ...]
    own: tuple[Walk, ...]


@dataclasses.dataclass(frozen=True, eq=False)
class Pressed:
    """The presses of one phone for one picker, in order, with their instants. [ms since 1970]."""

    bags: tuple[BagSeen, ...]
    at_ms: tuple[float, ...]


@dataclasses.dataclass(frozen=True, eq=False)
class Presses:
    """What the presses of one phone for one picker ask.

    Attributes
    ----------
    device : str
        The phone.
    pressed : Pressed
        The presses.
    times : sequence of float
        All presses for the picker on phones, ascending. [ms since 1970]
    of_picker, of_phone : OpenAt
        The picker's walks, and those that the phone was on.
    one_tally_ms : float
        Presses of so long before a press are of the same tally. [ms]
    """

    device: str
    pressed: Pressed
    times: Sequence[float]
    of_picker: OpenAt[Walk]
    of_phone: OpenAt[Walk]
    one_tally_ms: float

    @property
    def bags(self) -> tuple[BagSeen, ...]:
        """The presses, in order."""
        return self.pressed.bags

    def asking(self, place: int) -> Asking:
        """Give what one of them asks."""
        known = self._asking.get(place)
        if known is None:
            bag, at_ms = self.pressed.bags[place], self.pressed.at_ms[place]
            mine = self.of_picker.at(at_ms)
            first = [one for one in mine if one.carried.device == bag.device] if bag.own else []
            others = [one for one in mine if one.carried.device != bag.device]
            spans = [(one, (since_of(at_ms, self.times, one.carried, self.one_tally_ms), at_ms))
                     for one in first + others]
            known = Asking(bag, at_ms, tuple(spans), tuple(self.of_phone.at(at_ms)))
            self._asking[place] = known
        return known

    def asked_of(self, walk: Walk) -> tuple[Mapping[Span, date], frozenset[float]]:
        """Give what they ask of a walk: spans with the local day of a press, and instants."""
        spells: dict[Span, date] = {}
        fixes: set[float] = set()
        instants, places = self._by_time
        within = slice(bisect.bisect_left(instants, walk.carried.since_ms),
                       bisect.bisect_right(instants, walk.carried.until_ms))
        for place in places[within] if is_phone(self.device) else ():
            one = self.asking(place)
            spells.update((span, one.bag.day) for other, span in one.spans if other is walk)
            fixes.update(one.at_ms for other in one.own if other is walk)
        return spells, frozenset(fixes)

    def same_until_ms(self, other: "Presses") -> float:
        """Give the instant before which the very same press asks the same here and there."""
        times = next((min(pair) for pair in itertools.zip_longest(
            self.times, other.times, fillvalue=math.inf) if pair[0] != pair[1]), math.inf)
        return min(times, self.of_picker.same_until_ms(other.of_picker),
                   self.of_phone.same_until_ms(other.of_phone))

    @functools.cached_property
    def _asking(self) -> dict[int, Asking]:
        """What was asked so far, by the place of a press."""
        return {}

    @functools.cached_property
    def _by_time(self) -> tuple[Sequence[float], Sequence[int]]:
        """Their instants, ascending, and their places."""
        at_ms = self.pressed.at_ms
        places = sorted(range(len(at_ms)), key=at_ms.__getitem__)
        return [at_ms[place] for place in places], places
