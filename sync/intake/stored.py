"""Tracks whose fixes are read when they are asked for, by the heads of their records.

Rule 1: they tell what they would tell read at once: fixes stand by instant; of two at one instant
the first noted counts.
Rule 2: what a stretch is made of is known by the sums of its records.
"""

import dataclasses
import functools
import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from sync.intake.again import Again
from sync.intake.counted import Counted
from sync.intake.fixes import joined, ms_of, points_of, tracks_of
from sync.intake.heads import Tracks
from sync.intake.seen import Floats, Track, TrackSeen

Ints = npt.NDArray[np.int64]
#: Beyond the calendar, and a whole number that a float keeps. [ms]
_FAR_MS = 2.0**52


@dataclasses.dataclass(frozen=True, eq=False)
class StoredTrack:
    """The records of one device's track, in the order in which they were noted.

    Attributes
    ----------
    since_ms, until_ms : array of int64, shape (n,)
        Earliest and latest fix of each, at most a day apart unless it is read. [ms since 1970]
    rows : array of int64, shape (n,)
        Where each stands on disk.
    totals : array of bytes, shape (n,)
        The sum of each.
    seen : mapping of int to TrackSeen
        Those that are read, by place.
    read : callable
        Gives the records in some rows.
    span_ms : (float, float)
        From when to when, both included. [ms since 1970]
    """

    since_ms: Ints
    until_ms: Ints
    rows: Ints
    totals: npt.NDArray[np.void]
    seen: Mapping[int, TrackSeen]
    read: Callable[[Sequence[int]], Sequence[Mapping[str, Any]]]
    span_ms: tuple[float, float] = (-np.inf, np.inf)

    def __len__(self) -> int:
        return len(self._fixes)

    @property
    def at_ms(self) -> Ints:
        """Instants, all different, ascending. [ms since 1970, UTC]."""
        return self._fixes.at_ms

    @property
    def lat(self) -> Floats:
        """WGS 84. [deg]."""
        return self._fixes.lat

    @property
    def lon(self) -> Floats:
        """WGS 84. [deg]."""
        return self._fixes.lon

    @property
    def acc_m(self) -> Floats:
        """68 % horizontal radius; NaN where the receiver does not say. [m]."""
        return self._fixes.acc_m

    @property
    def is_empty(self) -> bool:
        """Say whether there is no fix; only where records reach over both ends are they read."""
        whole = (self.since_ms >= self.span_ms[0]) & (self.until_ms <= self.span_ms[1])
        return not whole.any() and not len(self)

    @property
    def about_ms(self) -> Ints:
        """Instants such that every fix is on the day of one of them by UTC. [ms since 1970]."""
        ends = np.concatenate([self.since_ms, self.until_ms]).astype(np.float64)
        read = [seen.at_ms for seen in self.seen.values()]
        return np.concatenate([np.clip(ends, *self.span_ms).astype(np.int64), *read])

    @property
    def made_of(self) -> bytes:
        """Bytes that are others where any fix is another."""
        return repr(self.span_ms).encode() + self.totals.tobytes()

    def within(self, since_ms: float, until_ms: float) -> "StoredTrack":
        """Give the fixes from one instant to another, both included [ms since 1970]."""
        low, high = max(since_ms, self.span_ms[0]), min(until_ms, self.span_ms[1])
        here = self._reaching(low, high)
        places = np.arange(len(self.rows))[here].tolist() if self.seen else ()
        seen = {place: self.seen[old] for place, old in enumerate(places) if old in self.seen}
        # Copies: a stretch that is kept must not hold on to the track of ten seasons.
        return StoredTrack(
            self.since_ms[here].copy(), self.until_ms[here].copy(), self.rows[here].copy(),
            self.totals[here].copy(), seen, self.read, (low, high))

    def _reaching(self, low: float, high: float) -> Ints | slice:
        """Give the places of records that reach into a time; of an ordered track at once."""
        if not self._is_ordered:
            return np.flatnonzero((self.until_ms >= low) & (self.since_ms <= high))
        # Asked for by whole numbers, or numpy makes floats of all of them first.
        first, last = np.ceil(np.clip((low, -high), -_FAR_MS, _FAR_MS)).astype(np.int64)
        return slice(int(np.searchsorted(self.until_ms, first, side="left")),
                     int(np.searchsorted(self.since_ms, -last, side="right")))

    @functools.cached_property
    def _is_ordered(self) -> bool:
        return bool((np.diff(self.since_ms) >= 0).all() and (np.diff(self.until_ms) >= 0).all())

    @functools.cached_property
    def _fixes(self) -> TrackSeen:
        wanted = [place for place in range(len(self.rows)) if place not in self.seen]
        bodies = self.read(self.rows[wanted].tolist())
        parts = dict(self.seen)
        parts.update(
            (place, points_of(body, None)) for place, body in zip(wanted, bodies, strict=True))
        if not parts:
            return joined([_NO_FIXES])
        return joined([parts[place] for place in range(len(self.rows))]).within(*self.span_ms)


_NO_FIXES = TrackSeen(np.empty(0, dtype=np.int64), np.empty(0), np.empty(0), np.empty(0))


def stored_tracks(
    records: Sequence[Counted], tracks: Tracks, again: Again | None = None
) -> dict[str, Track]:
    """Put the tracks of each phone or receiver together, read or not.

    Parameters
    ----------
    records : sequence of Counted
        Counting tracks that are read, in the order in which they were noted.
    tracks : Tracks
        Counting tracks that are not.
    again : Again, optional
        What was put together before; what is the same is given again.

    Returns
    -------
    dict of str to Track
        By device, none without a fix.
    """
    own: dict[str, list[Counted]] = defaultdict(list)
    for one in records:
        if one.record.get("thinned") is None and one.record.get("dt_ms") is not None:
            own[one.device].append(one)

    def track(device: str) -> Track | None:
        mine = own.get(device, [])
        if (tracks.of(device)["points"] > 0).any():
            return _stored(device, mine, tracks)
        return tracks_of(mine).get(device)

    found = (again or Again()).each("tracks", {
        device: ((*own.get(device, ()), tracks.of(device)), tracks.read)
        for device in sorted(own.keys() | tracks.by_device.keys())}, track)
    return {device: each for device, each in found.items() if each is not None}


def _stored(device: str, own: Iterable[Counted], tracks: Tracks) -> StoredTrack:
    heads = tracks.of(device)
    some = heads["points"] > 0
    heads = heads if some.all() else heads[some]
    read = [(one, seen) for one in own if len(seen := points_of(one.record, one.lag_s))]
    at_ms = np.append(heads["at_ms"].astype(np.float64), [ms_of(one.at) for one, _ in read])
    seq = np.append(heads["seq"], np.array([one.seq for one, _ in read], dtype=np.int64))
    if not read and (np.diff(at_ms) > 0).all():  # as most phones note: nothing is to be sorted
        since_ms, until_ms, rows, totals = (
            np.ascontiguousarray(heads[one]) for one in ("since_ms", "until_ms", "row", "total"))
        return StoredTrack(since_ms, until_ms, rows, totals, {}, tracks.read)
    order = np.lexsort((seq, at_ms))
    place_of = {int(order[place]): int(place)
                for place in np.flatnonzero(order >= len(heads))}
    return StoredTrack(
        _both(heads["since_ms"], [int(seen.at_ms.min()) for _, seen in read])[order],
        _both(heads["until_ms"], [int(seen.at_ms.max()) for _, seen in read])[order],
        _both(heads["row"], [0] * len(read))[order],
        np.append(heads["total"], np.array([_sum(seen) for _, seen in read], dtype="V32"))[order],
        {place_of[len(heads) + i]: seen for i, (_, seen) in enumerate(read)}, tracks.read)


def _both(heads: Ints, read: Sequence[int]) -> Ints:
    return np.append(heads, np.array(read, dtype=np.int64))


def _sum(seen: TrackSeen) -> bytes:
    return hashlib.sha256(seen.made_of).digest()
