"""Which cell a bag came from: from what the track, the picker and the shed said of it.

Rule 1: in this order: the cell typed in at the shed; the picking time along the picker's track
since the bag before; the cell the picker confirmed for the outing, if the fix does not speak
against it; the chances of the fix; else the block alone.
Rule 2: a pile says nothing of the cell; bags are carried.
Rule 3: the fix of a press is the track's at that instant, else the press's own.
Rule 4: picking places are steadied before they are shared among cells.
Rule 5: a bag for somebody else goes by that person's track, else by its own fix.
"""

import dataclasses
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date

import numpy as np

from sync.geometry.chance import sigma_of
from sync.geometry.crs import Projection
from sync.geometry.ground import Ground
from sync.geometry.outings import Carried, Since, outings_of
from sync.geometry.picking import (
    Spell,
    drift_of,
    ground_track,
    moved_shares,
    spell_of,
    time_by_cell,
)
from sync.geometry.placed import NO_CHANCES, Placed
from sync.geometry.placing import chances_of
from sync.geometry.shapes import distance_m
from sync.geometry.steady import LEAST_R68_M, Steadied, steadied
from sync.geometry.track import position_at
from sync.intake.fixes import ms_of
from sync.intake.seen import BagSeen, OutingSeen, TrackSeen
from sync.settings import Tunables


@dataclasses.dataclass(frozen=True)
class Trodden:
    """What tells where people picked.

    Attributes
    ----------
    bags : sequence of BagSeen
        All presses.
    outings : sequence of OutingSeen
        Who carried which device when.
    tracks : mapping of str to TrackSeen
        By device.
    """

    bags: Sequence[BagSeen]
    outings: Sequence[OutingSeen]
    tracks: Mapping[str, TrackSeen]


def place_bags(
    trodden: Trodden,
    ground_of: Callable[[date], Ground],
    projection: Projection,
    tunables: Tunables,
) -> tuple[Placed, ...]:
    """Place every bag.

    Parameters
    ----------
    trodden : Trodden
        Presses, outings and tracks.
    ground_of : callable
        Ground of a local day.
    projection : Projection
        The block's.
    tunables : Tunables
        What a picking fix is, accuracy of a fix that states none, how far a confirmed cell
        reaches.

    Returns
    -------
    tuple of Placed
        In the order of the bags.
    """
    walkers = _Walkers(trodden, projection, tunables)
    return tuple(
        _placed(bag, walkers, ground_of(bag.day), projection, tunables) for bag in trodden.bags
    )


#: Standard deviation that a spell's places share [m] and the part of its variance that lasts [-];
#: None where nothing was steadied.
_Left = tuple[float, float] | None


class _Walkers:
    """The tracks on the ground, each brought there once, and which of them tells of a press."""

    def __init__(self, trodden: Trodden, projection: Projection, tunables: Tunables) -> None:
        self.tracks = trodden.tracks
        self._tunables = tunables
        self._projection = projection
        self._outings = outings_of(trodden.outings)
        self._since = Since(trodden.bags, one_tally_s=tunables.one_tally_s)
        self._on_ground: dict[str, Steadied] = {}

    def spell(self, bag: BagSeen) -> tuple[Spell, _Left] | None:
        """Give the picking fixes that a press counts the bags of, and the error left in them.

        None without a track.
        """
        at_ms = ms_of(bag.at)
        for outing in self._of(bag):
            if outing.since_ms <= at_ms <= outing.until_ms and outing.device in self.tracks:
                since_ms, steady = self._since(bag, outing), self._steadied(outing.device)
                spell = spell_of(steady.track, since_ms=since_ms, until_ms=at_ms,
                                 longest_s=self._tunables.longest_fix_s)
                if len(spell):
                    return spell, steady.error_between(since_ms, at_ms)
        return None

    def _of(self, bag: BagSeen) -> Iterator[Carried]:
        """Give the picker's outings, those with the phone that was pressed first."""
        mine = self._outings.get(bag.picker, ())
        if bag.own:
            yield from (one for one in mine if one.device == bag.device)
        yield from (one for one in mine if one.device != bag.device)

    def _steadied(self, device: str) -> Steadied:
        if device not in self._on_ground:
            track = ground_track(
                self._projection, self.tracks[device],
                worst_m=self._tunables.worst_fix_m, fastest_m_s=self._tunables.walking_m_s)
            self._on_ground[device] = steadied(track, self._tunables)
        return self._on_ground[device]


def _placed(
    bag: BagSeen, walkers: _Walkers, ground: Ground, projection: Projection, tunables: Tunables
) -> Placed:
    if bag.cell is not None and bag.cell in ground.cells:
        return Placed(bag, None, None, None, {bag.cell: 1.0}, _whole(ground, bag.cell), 0.0,
                      "typed")
    fix = _fix_on_ground(bag, walkers.tracks.get(bag.device), projection, tunables)
    spell = walkers.spell(bag)
    if spell is not None:
        by_time = _by_time(bag, fix, *spell, ground, tunables)
        if by_time is not None:
            return by_time
    if fix is None:
        return Placed(bag, None, None, None, NO_CHANCES, NO_CHANCES, 0.0, "nowhere")
    return _by_fix(bag, fix, ground, tunables)


#: Easting, northing and standard deviation of each coordinate. [m]
_OnGround = tuple[float, float, float]


def _by_time(
    bag: BagSeen, fix: _OnGround | None, spell: Spell, left: _Left, ground: Ground,
    tunables: Tunables,
) -> Placed | None:
    """Place a press by the picking time of its spell; None where that has no time."""
    if float(spell.seconds.sum()) <= 0.0:
        return None
    radii = np.where(np.isnan(spell.acc_m), tunables.unknown_accuracy_m,
                     np.maximum(spell.acc_m, LEAST_R68_M))
    sigma = sigma_of(float(np.average(radii, weights=spell.seconds)))
    shared, lasting = (sigma, 0.0) if left is None else left
    drift = drift_of(ground, spell, shared, lasting=lasting)
    last = (float(spell.e[-1]), float(spell.n[-1]), sigma)
    e, n, sigma_m = last if fix is None else fix
    return Placed(
        bag, e, n, sigma_m, time_by_cell(ground, spell),
        {cell: float(parts.mean()) for cell, parts in drift.closed.items()},
        float(drift.outside.mean()), "track", drift=drift,
        moved=moved_shares(ground, spell, sigma))


def _by_fix(bag: BagSeen, fix: _OnGround, ground: Ground, tunables: Tunables) -> Placed:
    e, n, sigma = fix
    found = chances_of(ground, e, n, sigma)
    here = bag.confirmed if bag.own and bag.confirmed in ground.cells else None
    if here is not None and distance_m(
        ground.cells[here].shape, e, n
    ) <= tunables.confirmed_sigmas * sigma:
        chance = found.cells.get(here, 0.0)
        closed = found.closed.get(here, 0.0) / chance if chance > 0.0 else 0.0
        return Placed(bag, e, n, sigma, {here: 1.0},
                      {here: min(1.0, closed)} if closed else NO_CHANCES, 0.0, "confirmed")
    return Placed(bag, e, n, sigma, found.cells, found.closed, found.outside, "fix")


def _fix_on_ground(
    bag: BagSeen, track: TrackSeen | None, projection: Projection, tunables: Tunables
) -> _OnGround | None:
    fix = fix_of(bag, track, tunables)
    if fix is None:
        return None
    lat, lon, r68_m = fix
    e, n = projection.to_m(lat, lon)
    return float(e), float(n), sigma_of(r68_m)


def fix_of(
    bag: BagSeen, track: TrackSeen | None, tunables: Tunables
) -> tuple[float, float, float] | None:
    """Give where a press was noted.

    Parameters
    ----------
    bag : BagSeen
        The press.
    track : TrackSeen or None
        The phone's.
    tunables : Tunables
        The longest gap in a track, and the accuracy of a fix that states none.

    Returns
    -------
    tuple of float or None
        Latitude, longitude [deg] and 68 % radius [m].
    """
    on_track = None if track is None else position_at(
        track, ms_of(bag.at), worst_gap_s=tunables.worst_track_gap_s)
    if on_track is not None:
        lat, lon, acc_m = on_track
    elif bag.where is not None and bag.where.age_s <= tunables.oldest_fix_s:
        lat, lon, acc_m = bag.where.lat, bag.where.lon, bag.where.acc_m
    else:
        return None
    return lat, lon, max(acc_m if acc_m is not None else tunables.unknown_accuracy_m,
                         LEAST_R68_M)


def _whole(ground: Ground, cell: str) -> Mapping[str, float]:
    """Say that a typed bag is on closed ground only where all of its cell is closed."""
    closed = ground.cells[cell].open_m2 <= 0.0
    return {cell: 1.0} if closed and any(not c.hold for c in ground.closures_of(cell)) else (
        NO_CHANCES)
