"""Which cell a bag came from: from what the track, the picker and the shed said of it.

Rule 1: in this order: the cell typed in at the shed; the picking time along the picker's track
since the bag before; the cell the picker confirmed for the outing, if the fix does not speak
against it; the chances of the fix; else the block alone.
The picker's word counts beside a track too, for as much as such words proved worth (`words`).
Rule 2: a pile says nothing of the cell; bags are carried.
Rule 3: the fix of a press is the track's at that instant, else the press's own.
Rule 4: a bag for somebody else goes by that person's track, else by its own fix.
Rule 5: a bag of which all is as it was for a register built before is the very same object again.
"""

import dataclasses
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date

from sync.geometry.asking import Whose
from sync.geometry.chance import sigma_of
from sync.geometry.crs import Projection
from sync.geometry.grid import cell_of
from sync.geometry.ground import Ground
from sync.geometry.placed import NO_CHANCES, Placed
from sync.geometry.placing import chances_of
from sync.geometry.pressed import Asking, Presses
from sync.geometry.shapes import distance_m
from sync.geometry.steady import LEAST_R68_M
from sync.geometry.swept import Swept, swept_of
from sync.geometry.traces import OnGround, Told
from sync.geometry.walks import Trodden, Walkers
from sync.geometry.words import Heard, Heeded, heard_of, heed
from sync.intake.memo import Memo, NoMemo
from sync.intake.seen import BagSeen
from sync.settings import Tunables

__all__ = ["Tread", "Trodden", "in_order", "place_bags", "tread"]


@dataclasses.dataclass(frozen=True, eq=False)
class _Placed:
    """The presses of one phone for one picker, placed: by what walks told, then by words too."""

    presses: Presses
    heeded: Heeded


@dataclasses.dataclass(frozen=True)
class Tread:
    """Where people were: their bags placed, the ground they swept, and who told of it."""

    bags: Sequence[BagSeen]
    swept: Swept
    walkers: Walkers
    parts: Mapping[Whose, _Placed] = dataclasses.field(repr=False)

    @property
    def by_whose(self) -> dict[Whose, tuple[Placed, ...]]:
        """The bags by picker and phone."""
        return _by_whose(self.parts)

    @property
    def placed(self) -> tuple[Placed, ...]:
        """The bags in their order."""
        return in_order(self.bags, self.by_whose)


def tread(
    trodden: Trodden,
    ground_of: Callable[[date], Ground],
    projection: Projection,
    tunables: Tunables,
    *,
    zone: str = "UTC",
    season_start: tuple[int, int] = (7, 1),
    memo: Memo | None = None,
    before: Tread | None = None,
) -> Tread:
    """Place every bag, and put the swept ground together.

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
    zone : str
        The block's time zone.
    season_start : tuple of int
        Month and day on which a season begins.
    memo : Memo, optional
        Remembers what walks told.
    before : Tread, optional
        That of a register built before of the same block, tunables and grounds; what is the same
        is given again, the very same objects.

    Returns
    -------
    Tread
        Bags in their order.
    """
    remembers = memo or NoMemo()
    walkers = Walkers(trodden, ground_of, projection, tunables, zone=zone, memo=remembers,
                      before=None if before is None else before.walkers)
    parts = _parts(walkers, ground_of, projection, tunables, before)
    swept = swept_of(walkers.pieces(), projection, season_start, remembers,
                     walkers.ground_of_piece, None if before is None else before.swept)
    walkers.gather({whose: one.heeded for whose, one in parts.items()})
    remembers.keep()
    return Tread(trodden.bags, swept, walkers, parts)


def place_bags(
    trodden: Trodden,
    ground_of: Callable[[date], Ground],
    projection: Projection,
    tunables: Tunables,
) -> tuple[Placed, ...]:
    """Place every bag, as `tread` does, without the ground that was swept.

    Parameters
    ----------
    trodden, ground_of, projection, tunables
        As for `tread`.

    Returns
    -------
    tuple of Placed
        In the order of the bags.
    """
    walkers = Walkers(trodden, ground_of, projection, tunables, sweeps=False)
    parts = _parts(walkers, ground_of, projection, tunables, None)
    return in_order(trodden.bags, _by_whose(parts))


def _by_whose(parts: Mapping[Whose, _Placed]) -> dict[Whose, tuple[Placed, ...]]:
    return {whose: one.heeded.placed for whose, one in parts.items()}


def in_order(
    bags: Sequence[BagSeen], placed: Mapping[Whose, Iterable[Placed]]
) -> tuple[Placed, ...]:
    """Put placed bags back into one row.

    Parameters
    ----------
    bags : sequence of BagSeen
        All bags.
    placed : mapping of (str, str) to iterable of Placed
        The same by picker and phone, each in the order of `bags`.

    Returns
    -------
    tuple of Placed
        In the order of `bags`.
    """
    turns = {whose: iter(each) for whose, each in placed.items()}
    return tuple([next(turns[bag.picker, bag.device]) for bag in bags])


def _parts(
    walkers: Walkers, ground_of: Callable[[date], Ground], projection: Projection,
    tunables: Tunables, before: Tread | None,
) -> dict[Whose, _Placed]:
    """Place each bag by itself, then let the words of all days count."""
    known = {} if before is None else before.parts
    remembered = walkers.heeded

    def place(asking: Asking) -> Placed:
        return _placed(asking, walkers, ground_of(asking.bag.day), projection, tunables)

    heard = [
        remembered[whose].heard if whose in remembered
        else _heard(presses, known.get(whose), place, tunables)
        for whose, presses in walkers.presses.items()]
    heeded = heed(heard, [
        known[whose].heeded if whose in known else remembered.get(whose)
        for whose in walkers.presses])
    return {whose: _Placed(presses, each) for (whose, presses), each in zip(
        walkers.presses.items(), heeded, strict=True)}


def _heard(
    presses: Presses, known: _Placed | None, place: Callable[[Asking], Placed],
    tunables: Tunables,
) -> Heard:
    """Place some presses by what walks told; one that asks the same of the same walks is known."""
    if known is None:
        return heard_of(
            [place(presses.asking(turn)) for turn in range(len(presses.bags))], tunables)
    if presses is known.presses:
        return known.heeded.heard
    before, same_until_ms = known.presses, presses.same_until_ms(known.presses)
    was = {bag.name: turn for turn, bag in enumerate(before.bags)}

    def again(turn: int, bag: BagSeen, at_ms: float) -> Placed:
        old = was.get(bag.name)
        if old is not None and (
                (at_ms < same_until_ms and before.bags[old] is bag)
                or before.asking(old) == presses.asking(turn)):
            return known.heeded.heard.placed[old]
        return place(presses.asking(turn))

    return heard_of([again(turn, bag, at_ms) for turn, (bag, at_ms) in enumerate(
        zip(presses.bags, presses.pressed.at_ms, strict=True))], tunables)


def _placed(
    asking: Asking, walkers: Walkers, ground: Ground, projection: Projection, tunables: Tunables
) -> Placed:
    bag = asking.bag
    if bag.cell is not None and bag.cell in ground.cells:
        return Placed(bag, None, None, None, {bag.cell: 1.0},
                      _whole(ground, bag.cell, hold=False), 0.0, "typed",
                      held=_whole(ground, bag.cell, hold=True))
    fix = walkers.fix(asking) or _own_fix(bag, projection, tunables)
    told = walkers.told(asking)
    if told is not None:
        return _by_time(bag, fix, told)
    if fix is None:
        return Placed(bag, None, None, None, NO_CHANCES, NO_CHANCES, 0.0, "nowhere")
    return _by_fix(bag, fix, ground, tunables)


def _by_time(bag: BagSeen, fix: OnGround | None, told: Told) -> Placed:
    """Place a press by the picking time of its spell."""
    e, n, sigma_m = told.last if fix is None else fix
    drift = told.drift
    return Placed(
        bag, e, n, sigma_m, told.shares, drift.mean_closed if drift.closed else NO_CHANCES,
        drift.mean_outside, "track", drift=drift, moved=told.moved,
        held=drift.mean_held if drift.held else NO_CHANCES)


def _by_fix(bag: BagSeen, fix: OnGround, ground: Ground, tunables: Tunables) -> Placed:
    e, n, sigma = fix
    found = chances_of(ground, e, n, sigma)
    here = bag.confirmed if bag.own and bag.confirmed in ground.cells else None
    if here is not None and _off_m(ground, here, e, n) <= tunables.confirmed_sigmas * sigma:
        chance = found.cells.get(here, 0.0)
        closed, held = (
            {here: min(1.0, part[here] / chance)} if chance > 0.0 and part.get(here) else
            NO_CHANCES for part in (found.closed, found.held))
        return Placed(bag, e, n, sigma, {here: 1.0}, closed, 0.0, "confirmed", held=held)
    return Placed(bag, e, n, sigma, found.cells, found.closed, found.outside, "fix",
                  held=found.held)


def _off_m(ground: Ground, cell: str, e: float, n: float) -> float:
    if ground.cells[cell].clear_m > 0.0 and cell_of(ground.grid, e, n) == cell:
        return 0.0
    return distance_m(ground.cells[cell].shape, e, n)


def _own_fix(bag: BagSeen, projection: Projection, tunables: Tunables) -> OnGround | None:
    """Give where a press says it was, unless that is too old. [m]."""
    where = bag.where
    if where is None or where.age_s > tunables.oldest_fix_s:
        return None
    e, n = projection.to_m(where.lat, where.lon)
    r68_m = tunables.unknown_accuracy_m if where.acc_m is None else where.acc_m
    return float(e), float(n), sigma_of(max(r68_m, LEAST_R68_M))


def _whole(ground: Ground, cell: str, *, hold: bool) -> Mapping[str, float]:
    """Say that a typed bag is on closed ground only where all of its cell is closed."""
    closed = ground.cells[cell].open_m2 <= 0.0
    return {cell: 1.0} if closed and any(c.hold == hold for c in ground.closures_of(cell)) else (
        NO_CHANCES)
