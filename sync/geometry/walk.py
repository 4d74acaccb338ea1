"""Walks: outings with a track.

Rule 1: a walk whose points are gone has what was written down of it.
Rule 2: a walk that is what it was for a register built before is the very same object again.
"""

import dataclasses
import functools
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from sync.errors import IntakeError
from sync.geometry.outings import Carried, Name, Parted, by_person, parted_of
from sync.geometry.traces import Gone, read_gone
from sync.intake.seen import BagSeen, OutingSeen, ThinnedSeen, Track, TrackSeen


@dataclasses.dataclass(frozen=True)
class Trodden:
    """What tells where people picked.

    Attributes
    ----------
    bags : sequence of BagSeen
        All presses.
    outings : sequence of OutingSeen
        Who carried which device when.
    tracks : mapping of str to Track
        By device.
    thinned : mapping of str to tuple of ThinnedSeen
        What is left of tracks whose points are gone, by device.
    made_of : mapping of str to str
        By device, a sum of all that its presses, outings and tracks are made of, where somebody
        summed them up.
    """

    bags: Sequence[BagSeen]
    outings: Sequence[OutingSeen]
    tracks: Mapping[str, Track]
    thinned: Mapping[str, Sequence[ThinnedSeen]] = dataclasses.field(default_factory=dict)
    made_of: Mapping[str, str] = dataclasses.field(default_factory=dict)


@dataclasses.dataclass(frozen=True, eq=False)
class Walk:
    """One outing with a track.

    Attributes
    ----------
    gone : sequence of Gone
        What was written down of it before its points went.
    """

    carried: Carried
    track: Track
    gone: Sequence[Gone]

    @functools.cached_property
    def name(self) -> Name:
        """That of its outing."""
        return self.carried.name


class Walks:
    """The walks of a block.

    Parameters
    ----------
    trodden : Trodden
        Outings, tracks and what is left of tracks.
    before : Walks, optional
        Those of a register built before; what is the same is given again.

    Attributes
    ----------
    by_person, by_device : dict of str to list of Walk
        By start and device; by person, start and device.
    """

    def __init__(self, trodden: Trodden, before: "Walks | None" = None) -> None:
        self._tracks = dict(trodden.tracks)
        self._read: dict[str, tuple[Mapping[str, Any], Gone | None]] = {}
        self._known: dict[Name, Walk] = {}
        self.by_person: dict[str, list[Walk]] = {}
        self.by_device: dict[str, list[Walk]] = defaultdict(list)
        left = {device: list(self._readable(each, before))
                for device, each in trodden.thinned.items()}
        self._parted: dict[str, Parted] = parted_of(
            trodden.outings, {} if before is None else before._parted)
        for person, outings in by_person(self._parted).items():
            for one in outings:
                gone = [said for said in left.get(one.device, ()) if said.since_ms == one.since_ms]
                walk = self._walk(one, gone, before)
                if gone or (before is not None and before.is_known(walk)) or (
                        not walk.track.is_empty):
                    self._known[walk.name] = walk
                    self.by_person.setdefault(person, []).append(walk)
        for walk in self:
            self.by_device[walk.carried.device].append(walk)

    def __iter__(self) -> Iterator[Walk]:
        """Give every walk, by person, start and device."""
        for person in sorted(self.by_person):
            yield from self.by_person[person]

    def named(self, name: Name) -> Walk:
        """Give the walk of a name that is there."""
        return self._known[name]

    def is_known(self, walk: Walk) -> bool:
        """Say whether this very walk is among them."""
        return self._known.get(walk.name) is walk

    def _walk(self, carried: Carried, gone: Sequence[Gone], before: "Walks | None") -> Walk:
        track = self._tracks.get(carried.device, _NO_TRACK)
        known = None if before is None else before._known.get(carried.name)
        if before is None or known is None or (known.carried, known.gone) != (carried, gone):
            return Walk(carried, track.within(carried.since_ms, carried.until_ms), gone)
        if track is before._tracks.get(carried.device):
            return known
        mine = track.within(carried.since_ms, carried.until_ms)
        same = type(mine) is type(known.track) and mine.made_of == known.track.made_of
        return known if same else Walk(carried, mine, gone)

    def _readable(
        self, thinned: Sequence[ThinnedSeen], before: "Walks | None"
    ) -> Iterator[Gone]:
        """Read what is left of tracks; one that is damaged stops no register, tells nothing."""
        for one in thinned:
            known = None if before is None else before._read.get(one.name)
            if known is None or known[0] is not one.told:
                known = one.told, _read(one.told)
            self._read[one.name] = known
            if known[1] is not None:
                yield known[1]


def _read(told: Mapping[str, Any]) -> Gone | None:
    try:
        return read_gone(told)
    except IntakeError:
        return None


_NO_TRACK = TrackSeen(np.empty(0, dtype=np.int64), np.empty(0), np.empty(0), np.empty(0))
