"""What all walks of each phone told, remembered phone by phone: ten seasons have thousands.

Rule 1: what was gathered is known by the sum of all records of the phone, and of the phones and
receivers that its people carried or were tallied on; no figure changes by it.
Rule 2: only the latest of a phone is remembered.
"""

import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from functools import partial

import numpy as np
import shapely

from sync.geometry.gathered_bytes import Gathered, Swaths, from_bytes, to_bytes
from sync.geometry.ground import Ground
from sync.geometry.outings import Name
from sync.geometry.tracing import days_about
from sync.geometry.walk import Trodden, Walk
from sync.geometry.words import Heeded
from sync.intake.clock import is_phone
from sync.intake.memo import Memo
from sync.intake.seen import BagSeen

#: Grows when what is gathered is worked out in another way.
_FORM = 1
#: Another library may tell a last bit otherwise.
_MADE_BY = np.__version__, shapely.geos_version_string


class Gathering:
    """What is remembered of the phones of a block.

    Parameters
    ----------
    trodden : Trodden
        Presses, outings and tracks, with what they are made of.
    walks : iterable of Walk
        All of them.
    presses : mapping of (str, str) to sequence of BagSeen
        By picker and phone.
    ground_of : callable
        Ground of a local day.
    made_of : bytes
        A sum of all else that walks tell by.
    memo : Memo
        Remembers it.

    Attributes
    ----------
    heeded : mapping of (str, str) to Heeded
        What is remembered, by picker and phone.
    swept : mapping of Name to mapping
        What was swept on a walk, by its name.
    """

    def __init__(
        self, trodden: Trodden, walks: Iterable[Walk],
        presses: Mapping[tuple[str, str], Sequence[BagSeen]],
        ground_of: Callable[[date], Ground], made_of: bytes, memo: Memo,
    ) -> None:
        self._memo = memo
        self._presses: dict[str, dict[str, Sequence[BagSeen]]] = defaultdict(dict)
        for (picker, device), each in presses.items():
            self._presses[device][picker] = each
        self._walks: dict[str, list[Walk]] = defaultdict(list)
        for walk in walks:
            self._walks[walk.carried.device].append(walk)
        self._sums = self._sums_of(trodden, ground_of, made_of)
        self.heeded: dict[tuple[str, str], Heeded] = {}
        self.swept: dict[Name, Swaths] = {}
        for device, total in self._sums.items():
            known = memo.look(_key_of(device), partial(
                from_bytes, made_of=total, presses=self._presses.get(device, {})))
            if known is not None:
                self.heeded |= {(picker, device): each for picker, each in known.heeded.items()}
                self.swept |= known.swept

    def keep(
        self, heeded: Mapping[tuple[str, str], Heeded], swept_of: Callable[[Walk], Swaths]
    ) -> None:
        """Remember what is not, or otherwise.

        Parameters
        ----------
        heeded : mapping of (str, str) to Heeded
            All presses, by picker and phone.
        swept_of : callable
            Gives what was swept on a walk.
        """
        for device, total in self._sums.items():
            pickers, walks = self._presses.get(device, {}), self._walks[device]
            if all((picker, device) in self.heeded
                   and self.heeded[picker, device] is heeded[picker, device] for picker in pickers
                   ) and all(walk.name in self.swept for walk in walks):
                continue
            self._memo.put(_key_of(device), to_bytes(Gathered(
                {picker: heeded[picker, device] for picker in pickers},
                {walk.name: swept_of(walk) for walk in walks}), total))

    def _sums_of(
        self, trodden: Trodden, ground_of: Callable[[date], Ground], made_of: bytes
    ) -> dict[str, bytes]:
        """Sum up what each phone's entry is made of; one where that is not known has none."""
        beside = _beside(trodden, self._presses)
        parts = {device: self._part(device, trodden) for device in trodden.made_of}
        found = {}
        for device, others in beside.items():
            if not all(other in parts for other in others):
                continue
            days = {bag.day for each in self._presses.get(device, {}).values() for bag in each}
            days.update(*(parts[other][1] for other in others))
            grounds = [(day.toordinal(), ground_of(day).maps) for day in sorted(days)]
            if all(maps for _, maps in grounds):
                told_by = [parts[other][0] for other in others]
                found[device] = hashlib.sha256(made_of + repr(
                    (_FORM, _MADE_BY, told_by, grounds)).encode()).digest()
        return found

    def _part(self, device: str, trodden: Trodden) -> tuple[object, set[date]]:
        """Say what a device tells by, and the days about the fixes of its walks."""
        # A record is known by the same sum before and after its points go.
        mine = self._walks[device]
        walks = [(walk.name, walk.track.is_empty, len(walk.gone)) for walk in mine]
        days = {day for walk in mine for day in days_about(walk.track.about_ms)}
        return (device, trodden.made_of[device], walks), days


def swaths_of(swept: Mapping[tuple[date, str], bytes]) -> Swaths:
    """Sum up the pieces of ground that a walk swept, given as WKB."""
    return {piece: hashlib.sha256(wkb).digest() for piece, wkb in swept.items()}


def _key_of(device: str) -> str:
    return f"phone:{device}"


def _beside(
    trodden: Trodden, presses: Mapping[str, Mapping[str, object]]
) -> dict[str, Sequence[str]]:
    """Give, by device, it and all that tell where the people on it were."""
    people: dict[str, set[str]] = defaultdict(set)
    devices: dict[str, set[str]] = defaultdict(set)
    for one in trodden.outings:
        people[one.device].add(one.person)
        devices[one.person].add(one.device)
    for device, each in presses.items():
        people[device].update(each)
        if is_phone(device):  # what was typed in at the shed has no instant, and tells nobody else
            for picker in each:
                devices[picker].add(device)
    return {device: sorted({device}.union(*(devices[one] for one in each)))
            for device, each in people.items()}
