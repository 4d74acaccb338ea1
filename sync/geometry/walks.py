"""Walks: outings with a track, what is asked of each, and what it tells.

Rule 1: a walk is asked once for all its presses; what it told is remembered by the sum of its
points, of what was asked and of the ground.
Rule 2: a person's own phone tells first, then another receiver that went along.
Rule 3: a walk whose points are gone tells what was written down of it.
"""

import dataclasses
import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from typing import NamedTuple

import numpy as np

from sync.errors import IntakeError
from sync.geometry.crs import Projection
from sync.geometry.ground import Ground
from sync.geometry.memo import Memo, NoMemo
from sync.geometry.open_walks import OpenAt
from sync.geometry.outings import Carried, Since, outings_of
from sync.geometry.swept import Piece
from sync.geometry.trace_bytes import from_bytes, to_bytes
from sync.geometry.traces import (
    Gone,
    OnGround,
    Span,
    Told,
    Trace,
    read_gone,
    told_of_parts,
)
from sync.geometry.tracing import Asked, days_about, trace_of
from sync.intake.clock import is_phone
from sync.intake.fixes import ms_of
from sync.intake.seen import BagSeen, OutingSeen, ThinnedSeen, Track, TrackSeen
from sync.settings import Tunables

#: Grows when what is remembered is worked out in another way.
_FORM = 3


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
    """

    bags: Sequence[BagSeen]
    outings: Sequence[OutingSeen]
    tracks: Mapping[str, Track]
    thinned: Mapping[str, Sequence[ThinnedSeen]] = dataclasses.field(default_factory=dict)


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

    @property
    def name(self) -> tuple[float, str]:
        """Its start [ms since 1970] and its device."""
        return self.carried.since_ms, self.carried.device


class _Asking(NamedTuple):
    """What a press asks.

    Attributes
    ----------
    spans : sequence of (Walk, Span)
        The picker's walks at the press, those with the phone that was pressed first.
    own : sequence of Walk
        Those that the phone of the press was on, whoever carried it.
    """

    bag: BagSeen
    at_ms: float
    spans: Sequence[tuple[Walk, Span]]
    own: Sequence[Walk]


class Walkers:
    """All walks of a block, each brought to the ground once.

    Parameters
    ----------
    trodden : Trodden
        Presses, outings and tracks.
    ground_of : callable
        Ground of a local day.
    projection : Projection
        The block's.
    tunables : Tunables
        What a picking fix is.
    zone : str
        The block's time zone.
    memo : Memo, optional
        Remembers what walks told.
    sweeps : bool
        Whether the swept ground is wanted.
    """

    def __init__(
        self,
        trodden: Trodden,
        ground_of: Callable[[date], Ground],
        projection: Projection,
        tunables: Tunables,
        *,
        zone: str = "UTC",
        memo: Memo | None = None,
        sweeps: bool = True,
    ) -> None:
        self._ground_of = ground_of
        self._projection = projection
        self._tunables = tunables
        self._zone = zone
        self._memo = memo or NoMemo()
        self._sweeps = sweeps
        self._since = Since(trodden.bags, one_tally_s=tunables.one_tally_s)
        self._walks = _walks_of(trodden)
        by_device: dict[str, list[Walk]] = defaultdict(list)
        for walk in self.walks():
            by_device[walk.carried.device].append(walk)
        self._open_to = {person: OpenAt(each) for person, each in self._walks.items()}
        self._open_on = {device: OpenAt(each) for device, each in by_device.items()}
        self._asking_of: dict[str, _Asking] = {}
        self._made_of = repr((_FORM, zone, projection.epsg, dataclasses.astuple(tunables)))
        self._asks = self._asked(trodden.bags)
        self._traces: dict[tuple[float, str], Trace] = {}

    def told(self, bag: BagSeen) -> Told | None:
        """Give what the picking time since the bag before tells; None without a track."""
        for walk, span in self._asking(bag).spans:
            told = self._told(walk, span)
            if told is not None:
                return told
        return None

    def fix(self, bag: BagSeen) -> OnGround | None:
        """Give where the phone of a press was by its own track; None without one."""
        asking = self._asking(bag)
        for walk in asking.own:
            fix = self.trace(walk).fixes.get(asking.at_ms) or _written_fix(walk, asking.at_ms)
            if fix is not None:
                return fix
        return None

    def walks(self) -> Iterator[Walk]:
        """Give every walk, by person, start and device."""
        for person in sorted(self._walks):
            yield from self._walks[person]

    def trace(self, walk: Walk) -> Trace:
        """Give what the points of a walk tell that are still there."""
        if walk.name not in self._traces:
            self._traces[walk.name] = self._remembered(walk)
        return self._traces[walk.name]

    def pieces(self) -> Iterator[Piece]:
        """Give the ground that each walk swept, by cell and day."""
        for walk in self.walks():
            for (day, cell), wkb in self.trace(walk).swept.items():
                yield Piece(cell, day, walk.name, wkb)
            for one in walk.gone:
                for (day, cell), m2 in one.swept_m2.items():
                    yield Piece(cell, day, walk.name, None, m2)

    def _asking(self, bag: BagSeen) -> _Asking:
        """Give what a press asks of which walks; found once for each."""
        known = self._asking_of.get(bag.name)
        if known is None or known.bag is not bag:
            at_ms = ms_of(bag.at)
            to, on = self._open_to.get(bag.picker), self._open_on.get(bag.device)
            mine = [] if to is None else to.at(at_ms)
            first = [one for one in mine if one.carried.device == bag.device] if bag.own else []
            others = [one for one in mine if one.carried.device != bag.device]
            known = self._asking_of[bag.name] = _Asking(
                bag, at_ms, [(one, (self._since(bag, one.carried), at_ms))
                             for one in first + others],
                () if on is None else on.at(at_ms))
        return known

    def _asked(self, bags: Sequence[BagSeen]) -> dict[tuple[float, str], Asked]:
        """Gather what all presses ask of each walk."""
        spells: dict[tuple[float, str], dict[Span, date]] = {}
        fixes: dict[tuple[float, str], set[float]] = {}
        for bag in bags:
            if not is_phone(bag.device):
                continue
            asking = self._asking(bag)
            for walk, span in asking.spans:
                spells.setdefault(walk.name, {})[span] = bag.day
            for walk in asking.own:
                fixes.setdefault(walk.name, set()).add(asking.at_ms)
        return {
            walk.name: Asked(dict(sorted(spells.get(walk.name, {}).items())),
                             tuple(sorted(fixes.get(walk.name, ()))),
                             self._sweeps and walk.carried.picks)
            for walk in self.walks()
        }

    def _told(self, walk: Walk, span: Span) -> Told | None:
        traces = [self.trace(walk), *(gone.trace for gone in walk.gone)]
        known = [told for trace in traces if (told := trace.told(span)) is not None]
        if known or not walk.gone:
            return max(known, key=lambda told: told.seconds, default=None)
        spells = {one: said for gone in walk.gone for one, said in gone.trace.spells.items()}
        return told_of_parts(spells, span)

    def _remembered(self, walk: Walk) -> Trace:
        asked = self._asks[walk.name]
        if walk.track.is_empty:
            return Trace({}, {})
        key = self._key(walk, asked)
        known = None if key is None else self._memo.read(key, from_bytes)
        if known is not None:
            return known
        # A stretch of its own: what is read of it is let go of again.
        track = walk.track.within(-np.inf, np.inf)
        trace = trace_of(track, asked, self._ground_of, self._projection, self._tunables,
                         zone=self._zone)
        if key is not None:
            self._memo.put(key, to_bytes(trace))
        return trace

    def _key(self, walk: Walk, asked: Asked) -> str | None:
        """Sum up all that a trace is made of; None where the ground has no sum."""
        days = sorted({*asked.spells.values(), *days_about(walk.track.about_ms)})
        grounds = [(day.isoformat(), self._ground_of(day).maps) for day in days]
        if any(not maps for _, maps in grounds):
            return None
        total = hashlib.sha256(repr((
            self._made_of, asked.fixes, asked.sweeps, grounds, len(asked.spells))).encode())
        total.update(np.array([(*span, day.toordinal()) for span, day in asked.spells.items()],
                              dtype=np.float64).tobytes())
        total.update(walk.track.made_of)
        return "walk:" + total.hexdigest()


def _written_fix(walk: Walk, at_ms: float) -> OnGround | None:
    found = (gone.trace.fixes.get(at_ms) for gone in walk.gone)
    return next((fix for fix in found if fix is not None), None)


def _walks_of(trodden: Trodden) -> dict[str, list[Walk]]:
    """Give the walks of each person, by start and device."""
    found: dict[str, list[Walk]] = {}
    written_down = {device: list(_readable(each)) for device, each in trodden.thinned.items()}
    for person, outings in outings_of(trodden.outings).items():
        for one in outings:
            track = trodden.tracks.get(one.device)
            mine: Track = _NO_TRACK if track is None else track.within(one.since_ms, one.until_ms)
            gone = [said for said in written_down.get(one.device, ())
                    if said.since_ms == one.since_ms]
            if gone or not mine.is_empty:
                found.setdefault(person, []).append(Walk(one, mine, gone))
    return found


def _readable(thinned: Sequence[ThinnedSeen]) -> Iterator[Gone]:
    """Read what is left of tracks; one that is damaged stops no register and tells nothing."""
    for one in thinned:
        try:
            yield read_gone(one.told)
        except IntakeError:
            continue


_NO_TRACK = TrackSeen(np.empty(0, dtype=np.int64), np.empty(0), np.empty(0), np.empty(0))
