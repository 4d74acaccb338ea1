"""Which cell a bag came from: from what the phone, the picker and the shed said of it.

Rule 1: in this order: the cell typed in at the shed; the cell the picker confirmed for the outing,
if the fix does not speak against it; the chances of the fix; else the block alone.
Rule 2: a pile says nothing of the cell; bags are carried.
Rule 3: the fix of a press is the track's at that instant, else the press's own.
"""

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from types import MappingProxyType
from typing import Literal

from sync.geometry.chance import sigma_of
from sync.geometry.crs import Projection
from sync.geometry.ground import Ground
from sync.geometry.placing import chances_of
from sync.geometry.shapes import distance_m
from sync.geometry.track import Fix, position_at
from sync.intake.seen import BagSeen
from sync.settings import Tunables

How = Literal["typed", "confirmed", "fix", "nowhere"]
_NONE: Mapping[str, float] = MappingProxyType({})


@dataclasses.dataclass(frozen=True)
class Placed:
    """A press with its chances.

    Attributes
    ----------
    e, n, sigma_m : float or None
        Its fix and the standard deviation of each coordinate. [m]
    chances : mapping of str to float
        By cell. [-]
    closed : mapping of str to float
        Part of these on ground under the owner's closures. [-]
    outside : float
        Chance of no ground of the block. [-]
    how : str
        What told the cell.
    group : int
        Presses of one phone with the same number share one position error.
    """

    bag: BagSeen
    e: float | None
    n: float | None
    sigma_m: float | None
    chances: Mapping[str, float]
    closed: Mapping[str, float]
    outside: float
    how: How
    group: int = 0


def place_bags(
    bags: Sequence[BagSeen],
    tracks: Mapping[str, Sequence[Fix]],
    ground_of: Callable[[date], Ground],
    projection: Projection,
    tunables: Tunables,
) -> tuple[Placed, ...]:
    """Place every bag.

    Parameters
    ----------
    bags : sequence of BagSeen
        In any order.
    tracks : mapping of str to sequence of Fix
        Fixes of each phone in time order.
    ground_of : callable
        Ground of a local day.
    projection : Projection
        The block's.
    tunables : Tunables
        Accuracy of a fix that states none, and how far a confirmed cell reaches. [m]

    Returns
    -------
    tuple of Placed
        In the order given.
    """
    return tuple(
        _placed(bag, tracks.get(bag.device, ()), ground_of(bag.day), projection, tunables)
        for bag in bags
    )


def _placed(
    bag: BagSeen,
    fixes: Sequence[Fix],
    ground: Ground,
    projection: Projection,
    tunables: Tunables,
) -> Placed:
    if bag.cell is not None and bag.cell in ground.cells:
        return Placed(bag, None, None, None, {bag.cell: 1.0}, _whole(ground, bag.cell), 0.0,
                      "typed")
    fix = fix_of(bag, fixes, tunables)
    if fix is None:
        return Placed(bag, None, None, None, _NONE, _NONE, 0.0, "nowhere")
    lat, lon, r68_m = fix
    e, n = projection.to_m(lat, lon)
    sigma = sigma_of(r68_m)
    found = chances_of(ground, float(e), float(n), sigma)
    here = bag.confirmed if bag.own and bag.confirmed in ground.cells else None
    if here is not None and distance_m(
        ground.cells[here].shape, float(e), float(n)
    ) <= tunables.confirmed_sigmas * sigma:
        chance = found.cells.get(here, 0.0)
        closed = found.closed.get(here, 0.0) / chance if chance > 0.0 else 0.0
        return Placed(bag, float(e), float(n), sigma, {here: 1.0},
                      {here: min(1.0, closed)} if closed else _NONE, 0.0, "confirmed")
    return Placed(bag, float(e), float(n), sigma, found.cells, found.closed, found.outside, "fix")


def fix_of(
    bag: BagSeen, fixes: Sequence[Fix], tunables: Tunables
) -> tuple[float, float, float] | None:
    """Give where a press was noted.

    Parameters
    ----------
    bag : BagSeen
        The press.
    fixes : sequence of Fix
        The phone's track.
    tunables : Tunables
        The longest gap in a track, and the accuracy of a fix that states none.

    Returns
    -------
    tuple of float or None
        Latitude, longitude [deg] and 68 % radius [m].
    """
    on_track = position_at(fixes, bag.at, worst_gap_s=tunables.worst_track_gap_s)
    if on_track is not None:
        lat, lon, acc_m = on_track
    elif bag.where is not None and bag.where.age_s <= tunables.oldest_fix_s:
        lat, lon, acc_m = bag.where.lat, bag.where.lon, bag.where.acc_m
    else:
        return None
    return lat, lon, max(acc_m if acc_m is not None else tunables.unknown_accuracy_m, 0.1)


def _whole(ground: Ground, cell: str) -> Mapping[str, float]:
    """Say that a typed bag is on closed ground only where all of its cell is closed."""
    closed = ground.cells[cell].open_m2 <= 0.0
    return {cell: 1.0} if closed and any(not c.hold for c in ground.closures_of(cell)) else _NONE


def fixes_of(
    raw: Mapping[str, Sequence[tuple[datetime, float, float, float | None]]],
) -> dict[str, tuple[Fix, ...]]:
    """Turn decoded fixes into the track's own kind, by phone."""
    return {device: tuple(Fix(*one) for one in fixes) for device, fixes in raw.items()}

