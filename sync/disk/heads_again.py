"""The heads of all packs put together by device, those of a device given again while they stand.

Rule 1: they are what they would be put together from nothing; no figure changes by it.
Rule 2: only what the last register had stays.
"""

import dataclasses
import itertools
from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np

from sync.disk.track_heads import Pack
from sync.intake.heads import HEAD, NO_HEADS, Heads


@dataclasses.dataclass(frozen=True, eq=False)
class _Joined:
    """Heads of a device, and what they were put together from.

    Attributes
    ----------
    packs : list of Pack
        Those that hold any of the device.
    ends : list of int
        How many heads there are up to each, none at first.
    heads : Heads
        By number.
    in_order : bool
        Whether they stand as they stand in the packs.
    """

    packs: list[Pack]
    ends: list[int]
    heads: Heads
    in_order: bool


class HeadsAgain:
    """Heads by device, as they were put together for a register."""

    def __init__(self) -> None:
        self._people: tuple[str, ...] = ()
        self._known: dict[str, _Joined] = {}

    def of(self, packs: Sequence[Pack]) -> tuple[tuple[str, ...], Mapping[str, Heads]]:
        """Put the heads of all packs together.

        Parameters
        ----------
        packs : sequence of Pack
            All of the journal.

        Returns
        -------
        tuple of str
            People that the heads count in.
        mapping of str to Heads
            By device and number; a number may stand twice. The device that a head counts in is
            the only one of its array. Where nothing changed it is the array of the last time.
        """
        codes: dict[str, int] = {}
        by_device: dict[str, list[Pack]] = defaultdict(list)
        for pack in packs:
            for code in pack.codes[1]:
                codes.setdefault(code, len(codes))
            for device in pack.codes[0]:
                by_device[device].append(pack)
        if tuple(codes)[:len(self._people)] != self._people:
            self._known = {}  # their heads count in other people
        self._people = tuple(codes)
        self._known = {device: _joined(device, mine, codes, self._known.get(device))
                       for device, mine in sorted(by_device.items())}
        return self._people, {device: one.heads for device, one in self._known.items()}


def _joined(
    device: str, packs: list[Pack], codes: Mapping[str, int], known: _Joined | None
) -> _Joined:
    """Put the heads of a device together; from the first pack that is another on, if known."""
    same = 0 if known is None or not known.in_order else next(
        (place for place, (one, other) in enumerate(zip(packs, known.packs, strict=False))
         if one is not other), min(len(packs), len(known.packs)))
    heads, ends = _heads_in(packs[same:], device, codes)
    if known is not None and same:
        reached = known.ends[same]
        ends = known.ends[:same] + [reached + end for end in ends]
        if ends[-1] == len(known.heads) and _equal(heads, known.heads[reached:]):
            return _Joined(packs, ends, known.heads, True)
        heads = _end_to_end([known.heads[:reached], heads])
    in_order = bool((np.diff(heads["seq"]) > 0).all())
    if not in_order:
        heads = heads[np.argsort(heads["seq"], kind="stable")]
    if known is not None and _equal(heads, known.heads):
        heads = known.heads
    return _Joined(packs, ends, heads, in_order)


def _equal(some: Heads, others: Heads) -> bool:
    return len(some) == len(others) and np.array_equal(
        some.view(np.uint8), np.ascontiguousarray(others).view(np.uint8))


def _end_to_end(parts: Sequence[Heads]) -> Heads:
    """Join heads as bytes, for numpy compares all fields of them before it joins them."""
    return np.concatenate([one.view(np.uint8) for one in parts]).view(HEAD)


def _heads_in(
    packs: Sequence[Pack], device: str, codes: Mapping[str, int]
) -> tuple[Heads, list[int]]:
    """Give the heads of a device in some packs, and how many there are up to each of these."""
    heads = _end_to_end([NO_HEADS, *(pack.heads_of(device) for pack in packs)])
    ends = [0, *itertools.accumulate(len(pack.heads_of(device)) for pack in packs)]
    heads["device"] = 0
    for pack, (begins, end) in zip(packs, itertools.pairwise(ends), strict=True):
        people = [codes[code] for code in pack.codes[1]]
        if people != list(range(len(people))):
            heads["person"][begins:end] = np.array(
                people, np.int32)[heads["person"][begins:end]]
    return heads, ends
