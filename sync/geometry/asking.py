"""What all presses of a block ask of its walks, walk by walk.

Rule 1: the presses of one phone for one picker ask what they asked for a register built before, as
long as they, the picker's presses on all phones and the walks of both are the same.
"""

from collections import defaultdict
from collections.abc import Container, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from sync.geometry.open_walks import OpenAt
from sync.geometry.outings import Name
from sync.geometry.pressed import Pressed, Presses
from sync.geometry.traces import Span
from sync.geometry.tracing import Asked
from sync.geometry.walk import Walk, Walks
from sync.intake.clock import is_phone
from sync.intake.fixes import ms_of
from sync.intake.seen import BagSeen

#: A picker and the phone that was pressed for them.
Whose = tuple[str, str]


class _OfWalk(NamedTuple):
    """What was asked of a walk, and who asked; None where that is not known any more."""

    walk: Walk
    parts: Sequence[Presses] | None
    asked: Asked


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
    """

    def __init__(
        self, bags: Sequence[BagSeen], walks: Walks, *, one_tally_s: float, sweeps: bool,
        before: "Askings | None" = None,
    ) -> None:
        self._one_tally_ms = 1000.0 * one_tally_s
        self._sweeps = sweeps
        self._pressed: Mapping[Whose, Pressed] = _pressed_of(
            bags, {} if before is None else before._pressed)
        self._times: Mapping[str, Sequence[float]] = _times_of(
            self._pressed, {} if before is None else before._times)
        self._open_to = {person: OpenAt(each) for person, each in walks.by_person.items()}
        self._open_on = {device: OpenAt(each) for device, each in walks.by_device.items()}
        known = {} if before is None else before.presses
        self.presses: dict[Whose, Presses] = {
            whose: self._presses(whose, each, known.get(whose))
            for whose, each in self._pressed.items()}
        self._by_picker: dict[str, list[Presses]] = defaultdict(list)
        self._by_device: dict[str, list[Presses]] = defaultdict(list)
        for (picker, device), each in self.presses.items():
            self._by_picker[picker].append(each)
            self._by_device[device].append(each)
        # A copy: a page may ask the register before for one more at any time.
        asked: dict[Name, _OfWalk] = {} if before is None else before._asked.copy()
        here = set(map(id, self.presses.values()))
        self._asked: dict[Name, _OfWalk] = {
            name: _without_former(one, here) for name, one in asked.items()
            if walks.is_known(one.walk)}
        self._sure: set[Name] = set()

    def asked(self, walk: Walk) -> Asked:
        """Give what is asked of a walk; the very same again while it and who asks are the same.

        Parameters
        ----------
        walk : Walk
            One of these walks.
        """
        known = self._asked.get(walk.name)
        if known is None or walk.name not in self._sure:
            parts = self._who_ask(walk)
            if known is None or known.parts != parts:
                known = _OfWalk(walk, parts, self._put_together(walk, parts, known))
            self._asked[walk.name] = known
            self._sure.add(walk.name)
        return known.asked

    def _presses(self, whose: Whose, pressed: Pressed, known: Presses | None) -> Presses:
        picker, device = whose
        times = self._times.get(picker, ())
        of_picker = self._open_to.get(picker, _NO_WALKS)
        of_phone = self._open_on.get(device, _NO_WALKS)
        if known is not None and known.pressed is pressed and known.times is times and (
                known.of_picker == of_picker and known.of_phone == of_phone):
            return known
        return Presses(device, pressed, times, of_picker, of_phone, self._one_tally_ms)

    def _who_ask(self, walk: Walk) -> list[Presses]:
        """Give the presses that may ask a walk: of its phone, or for who carried it."""
        mine = self._by_device.get(walk.carried.device, [])
        others = [one for one in self._by_picker.get(walk.carried.person, []) if one not in mine]
        return mine + others

    def _put_together(
        self, walk: Walk, parts: Sequence[Presses], known: _OfWalk | None
    ) -> Asked:
        spells: dict[Span, date] = {}
        fixes: set[float] = set()
        for each in parts:
            some_spells, some_fixes = each.asked_of(walk)
            spells |= some_spells
            fixes |= some_fixes
        asked = Asked(dict(sorted(spells.items())), tuple(sorted(fixes)),
                      self._sweeps and walk.carried.picks)
        return known.asked if known is not None and known.asked == asked else asked


def _without_former(one: _OfWalk, here: Container[int]) -> _OfWalk:
    """Let go of who asked where any of them is of a former register: nobody else does."""
    same = one.parts is not None and all(id(each) in here for each in one.parts)
    return one if same else one._replace(parts=None)


_NO_WALKS: OpenAt[Walk] = OpenAt(())


def _pressed_of(
    bags: Sequence[BagSeen], before: Mapping[Whose, Pressed]
) -> dict[Whose, Pressed]:
    by_whose: dict[Whose, list[BagSeen]] = defaultdict(list)
    for bag in bags:
        by_whose[bag.picker, bag.device].append(bag)
    found = {}
    for whose, each in by_whose.items():
        mine, known = tuple(each), before.get(whose)
        same = known is not None and known.bags == mine
        found[whose] = known if known is not None and same else Pressed(
            mine, tuple(ms_of(bag.at) for bag in mine))
    return found


def _times_of(
    pressed: Mapping[Whose, Pressed], before: Mapping[str, Sequence[float]]
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
