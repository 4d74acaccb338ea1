"""The heads of all packs put together by device, those of a device given again while they stand.

Rule 1: they are what they would be put together from nothing; no figure changes by it.
Rule 2: only what the last register had stays.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np

from sync.disk.track_heads import Pack
from sync.intake.heads import Heads


class HeadsAgain:
    """Heads by device, as they were put together for a register."""

    def __init__(self) -> None:
        self._people: tuple[str, ...] = ()
        self._known: dict[str, tuple[list[Pack], Heads]] = {}

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
        self._known = {device: (mine, self._again(device, mine, codes))
                       for device, mine in sorted(by_device.items())}
        return self._people, {device: heads for device, (_, heads) in self._known.items()}

    def _again(self, device: str, packs: list[Pack], codes: Mapping[str, int]) -> Heads:
        """Give the array of the last time where the same heads stand in other packs too."""
        before, known = self._known.get(device, ((), None))
        if known is not None and len(before) == len(packs) and all(
                one is other for one, other in zip(before, packs, strict=True)):
            return known
        heads = _together(device, packs, codes)
        if known is not None and len(known) == len(heads) and np.array_equal(
                known.view(np.uint8), heads.view(np.uint8)):
            return known
        return heads


def _together(device: str, packs: Sequence[Pack], codes: Mapping[str, int]) -> Heads:
    parts = []
    for pack in packs:
        heads = pack.heads
        if len(pack.codes[0]) > 1:
            heads = heads[heads["device"] == pack.codes[0].index(device)]
        heads = heads.copy()
        heads["person"] = np.array([codes[code] for code in pack.codes[1]], np.int32)[
            heads["person"]]
        heads["device"] = 0
        parts.append(heads)
    whole = np.concatenate(parts)
    if (np.diff(whole["seq"]) > 0).all():
        return whole
    return whole[np.argsort(whole["seq"], kind="stable")]
