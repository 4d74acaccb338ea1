"""What presses ask of walks: since when each counts bags, and where its phone was.

Rule 1: a person's own phone tells first, then another receiver that went along.
Rule 2: the presses of one phone for one picker ask what they asked for a register built before, as
long as they, the picker's presses on all phones and the walks of both are the same.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from typing import NamedTuple

from sync.geometry.open_walks import OpenAt
from sync.geometry.outings import Name, since_of
from sync.geometry.traces import Span
from sync.geometry.tracing import Asked
from sync.geometry.walk import Walk, Walks
from sync.intake.clock import is_phone
from sync.intake.fixes import ms_of
from sync.intake.seen import BagSeen

#: A picker and the phone that was pressed for them.
Whose = tuple[str, str]


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
class _Pressed:
    """The presses of one phone for one picker, in order, with their instants. [ms since 1970]."""

    bags: tuple[BagSeen, ...]
    at_ms: tuple[float, ...]


@dataclasses.dataclass(frozen=True, eq=False)
class Presses:
    """What the presses of one phone for one picker ask.

    Attributes
    ----------
    pressed : _Pressed
        The presses.
    times : sequence of float
        All presses for the picker on phones, ascending. [ms since 1970]
    of_picker, of_phone : sequence of Walk
        The picker's walks, and those that the phone was on.
    asking : tuple of Asking
        By press, in order.
    spells, fixes : mapping of Name
        What they ask of each walk, by its name: spans with the local day of a press, instants.
    """

    pressed: _Pressed
    times: Sequence[float]
    of_picker: Sequence[Walk]
    of_phone: Sequence[Walk]
    asking: tuple[Asking, ...]
    spells: Mapping[Name, Mapping[Span, date]]
    fixes: Mapping[Name, frozenset[float]]

    @property
    def bags(self) -> tuple[BagSeen, ...]:
        """The presses, in order."""
        return self.pressed.bags


class Askings:
    """What all presses of a block ask.

    Parameters
    ----------
    bags : sequence of BagSeen
        All presses.
    walks : Walks
        Of the block.
    one_tally_s : float
        Presses of so long before a press are of the same tally. [s]
    sweeps : bool
        Whether swept ground is wanted.
    before : Askings, optional
        What was asked for a register built before, by the same `one_tally_s` and `sweeps`.

    Attributes
    ----------
    presses : dict of (str, str) to Presses
        By picker and phone.
    asked : dict of Name to Asked
        By the name of a walk.
    """

    def __init__(
        self, bags: Sequence[BagSeen], walks: Walks, *, one_tally_s: float, sweeps: bool,
        before: "Askings | None" = None,
    ) -> None:
        self._one_tally_ms = 1000.0 * one_tally_s
        self._walks = walks
        self._pressed: Mapping[Whose, _Pressed] = _pressed_of(
            bags, {} if before is None else before._pressed)
        self._times: Mapping[str, Sequence[float]] = _times_of(
            self._pressed, {} if before is None else before._times)
        self._open_to = {person: OpenAt(each) for person, each in walks.by_person.items()}
        self._open_on = {device: OpenAt(each) for device, each in walks.by_device.items()}
        known = {} if before is None else before.presses
        self.presses: dict[Whose, Presses] = {
            whose: self._presses(whose, each, known.get(whose))
            for whose, each in self._pressed.items()}
        self._parts: dict[Name, list[Presses]] = defaultdict(list)
        for each in self.presses.values():
            for name in {*each.spells, *each.fixes}:
                self._parts[name].append(each)
        self.asked: dict[Name, Asked] = {
            walk.name: self._asked(walk, before, sweeps=sweeps) for walk in walks}

    def _presses(self, whose: Whose, pressed: _Pressed, known: Presses | None) -> Presses:
        picker, device = whose
        times = self._times.get(picker, ())
        of_picker = self._walks.by_person.get(picker, ())
        of_phone = self._walks.by_device.get(device, ())
        if known is not None and known.pressed is pressed and known.times is times and (
                known.of_picker == of_picker and known.of_phone == of_phone):
            return known
        asking = tuple(self._asking(bag, at_ms, times)
                       for bag, at_ms in zip(pressed.bags, pressed.at_ms, strict=True))
        spells: dict[Name, dict[Span, date]] = defaultdict(dict)
        fixes: dict[Name, set[float]] = defaultdict(set)
        for one in asking if is_phone(device) else ():
            for walk, span in one.spans:
                spells[walk.name][span] = one.bag.day
            for walk in one.own:
                fixes[walk.name].add(one.at_ms)
        return Presses(pressed, times, of_picker, of_phone, asking, dict(spells),
                       {name: frozenset(each) for name, each in fixes.items()})

    def _asking(self, bag: BagSeen, at_ms: float, times: Sequence[float]) -> Asking:
        to, on = self._open_to.get(bag.picker), self._open_on.get(bag.device)
        mine = [] if to is None else to.at(at_ms)
        first = [one for one in mine if one.carried.device == bag.device] if bag.own else []
        others = [one for one in mine if one.carried.device != bag.device]
        return Asking(
            bag, at_ms,
            tuple([(one, (since_of(at_ms, times, one.carried, self._one_tally_ms), at_ms))
                   for one in first + others]),
            () if on is None else tuple(on.at(at_ms)))

    def _asked(self, walk: Walk, before: "Askings | None", *, sweeps: bool) -> Asked:
        parts = self._parts.get(walk.name, [])
        known = None if before is None else before.asked.get(walk.name)
        if before is not None and known is not None and before._walks.is_known(walk) and (
                before._parts.get(walk.name, []) == parts):
            return known
        spells = {span: day for each in parts
                  for span, day in each.spells.get(walk.name, {}).items()}
        fixes = {at_ms for each in parts for at_ms in each.fixes.get(walk.name, ())}
        asked = Asked(dict(sorted(spells.items())), tuple(sorted(fixes)),
                      sweeps and walk.carried.picks)
        return known if known == asked and known is not None else asked


def _pressed_of(
    bags: Sequence[BagSeen], before: Mapping[Whose, _Pressed]
) -> dict[Whose, _Pressed]:
    by_whose: dict[Whose, list[BagSeen]] = defaultdict(list)
    for bag in bags:
        by_whose[bag.picker, bag.device].append(bag)
    found = {}
    for whose, each in by_whose.items():
        mine, known = tuple(each), before.get(whose)
        same = known is not None and known.bags == mine
        found[whose] = known if known is not None and same else _Pressed(
            mine, tuple(ms_of(bag.at) for bag in mine))
    return found


def _times_of(
    pressed: Mapping[Whose, _Pressed], before: Mapping[str, Sequence[float]]
) -> dict[str, Sequence[float]]:
    """Give the instants of each picker's presses on phones, ascending.

    Those typed in at the shed have no instant and count for none.
    """
    by_picker: dict[str, set[float]] = defaultdict(set)
    for (picker, device), each in pressed.items():
        if is_phone(device):
            by_picker[picker].update(each.at_ms)
    found: dict[str, Sequence[float]] = {}
    for picker, times in by_picker.items():
        mine, known = sorted(times), before.get(picker)
        found[picker] = known if known is not None and known == mine else mine
    return found
