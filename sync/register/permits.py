"""Permits on a day: what was taken in the permit year, and what the cap leaves.

Rule 1: all bags tallied for the block count, also those outside or of no cell.
Rule 2: a used-up cap warns; it closes no cell.
Rule 3: what was taken is told in the permit's own unit, or not at all.
"""

import dataclasses
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date, timedelta

from sync.block import Block, Permit, bag_kg_on, holds_on, season_of
from sync.crop.chain import Crop, Known
from sync.crop.long_run import block_may_take_kg as cap_held_kg
from sync.crop.today import CellToday
from sync.geometry.ground import Ground
from sync.geometry.placed import NOT_THERE, Placed
from sync.intake.seen import Events, NoticeSeen
from sync.picks.made import Kg, kg_of
from sync.picks.wet_taken import WetTaken, wet_taken
from sync.register.notices import Notice, filed_of, notice_of

_HERE = "here"


@dataclasses.dataclass(frozen=True)
class PermitToday:
    """A permit and its year.

    Attributes
    ----------
    first, last : date
        The permit year that the day lies in.
    cells : tuple of str
        Cells that it covers.
    taken_kg : Kg
        Taken in the year so far, shed-dry. [kg]
    taken, sd : float or None
        The same in the permit's own unit and its standard deviation; None where the unit cannot
        be had from the records.
    df : float
        Degrees of freedom of `sd`.
    left, left_kg : float or None
        What the cap leaves, in its unit and in shed-dry kg.
    notice : Notice or None
        Of the year's start; None where none was given and none is needed.
    filed : NoticeSeen or None
        The last return filed, of whatever year.
    """

    permit: Permit
    first: date
    last: date
    cells: tuple[str, ...]
    taken_kg: Kg
    taken: float | None
    sd: float | None
    df: float
    left: float | None
    left_kg: float | None
    notice: Notice | None
    filed: NoticeSeen | None


def permits_today(
    known: Known, events: Events, crop: Crop, cells: Iterable[str], *, on: date
) -> tuple[PermitToday, ...]:
    """Give every permit in force on a day.

    Parameters
    ----------
    known : Known
        Bags with their chances.
    events : Events
        Notices, returns and wet weights.
    crop : Crop
        The block on the day.
    cells : iterable of str
        Its cells.
    on : date
        The day.

    Returns
    -------
    tuple of PermitToday
        In the order of the owner's file.
    """
    names = tuple(cells)
    return tuple(
        permit_on(permit, known, events, crop, names, on=on)
        for permit in known.block.permits
        if holds_on(on, permit.since, permit.until)
    )


def permit_on(
    permit: Permit, known: Known, events: Events, crop: Crop, cells: Collection[str], *, on: date
) -> PermitToday:
    """Give one permit on a day, in force or not.

    Parameters
    ----------
    permit : Permit
        The permit.
    known, events, crop, cells
        As for `permits_today`; `crop` may be of a later day.
    on : date
        The day.

    Returns
    -------
    PermitToday
        Of the permit year that the day lies in, until that day.
    """
    first, last = permit_year(permit, on)
    covered = tuple(name for name in cells if covers(permit, crop.ground, name))
    presses = bags_under(permit, known, covered, cells, first=first, until=on)
    kg = kg_of(presses, _HERE, crop.weights, known.block)
    wet = None
    if permit.cap_unit == "kg_wet":
        wet = _wet(presses, known, events, on)
    taken, sd, kg_a_unit = _in_unit(permit, kg, wet, presses, crop, known.block, on)
    left = None
    if permit.cap is not None and taken is not None:
        left = max(0.0, permit.cap - taken)
    left_kg = None if left is None or kg_a_unit is None else left * kg_a_unit
    return PermitToday(
        permit, first, last, covered, kg, taken, sd, kg.df if wet is None else wet.kg.df, left,
        left_kg, notice_of(events.notices, permit, (first, last), known.block, on=on),
        filed_of(events.notices, permit, lambda day: permit_year(permit, day)[0].year, on=on))


def bags_under(
    permit: Permit, known: Known, covered: Collection[str], cells: Collection[str], *,
    first: date, until: date,
) -> list[Placed]:
    """Give the bags tallied under a permit between two days.

    Parameters
    ----------
    permit : Permit
        The permit.
    known : Known
        Bags with their chances.
    covered, cells : collection of str
        Cells that it covers, and all of them.
    first, until : date
        Local days, both counted.

    Returns
    -------
    list of Placed
        With one chance each, of being the permit's.
    """
    elsewhere = frozenset(cells) - frozenset(covered)
    return [_with_share(one, elsewhere) for one in known.placed if first <= one.bag.day <= until]


def _wet(
    presses: Sequence[Placed], known: Known, events: Events, on: date
) -> WetTaken | None:
    """Weigh the permit's bags wet; the others tell what a batch was made of."""
    mine = {one.bag.name for one in presses}
    others = [dataclasses.replace(one, chances={}, drift=None, moved={})
              for one in known.placed if one.bag.day <= on and one.bag.name not in mine]
    return wet_taken([*presses, *others], _HERE, events.wet, events.batch_sources, known.block,
                     known.tunables, on=on)


def permit_year(permit: Permit, on: date) -> tuple[date, date]:
    """Give the permit year that a day lies in.

    Parameters
    ----------
    permit : Permit
        With the day its year starts on.
    on : date
        Local day.

    Returns
    -------
    tuple of date
        First and last day.
    """
    month, day = permit.year_start
    first = date(season_of(on, permit.year_start), month, day)
    return first, date(first.year + 1, month, day) - timedelta(days=1)


def covers(permit: Permit, ground: Ground, cell: str) -> bool:
    """Say whether a permit covers a cell.

    Parameters
    ----------
    permit : Permit
        The permit.
    ground : Ground
        Of the day.
    cell : str
        A cell of that ground.

    Returns
    -------
    bool
        True where it names no parcels, or the one that most of the cell's ground is of.
    """
    return not permit.parcels or ground.cells[cell].parcel in permit.parcels


def _with_share(one: Placed, elsewhere: frozenset[str]) -> Placed:
    """Count a bag for the permit unless it is of ground that the permit does not cover."""
    gone = sum(chance for cell, chance in one.chances.items() if cell in elsewhere)
    moved = [1.0 - sum(ways[way] for cell, ways in one.moved.items() if cell in elsewhere)
             for way in range(len(NOT_THERE))]
    return dataclasses.replace(
        one, chances={_HERE: max(0.0, 1.0 - gone)}, drift=None,
        moved={_HERE: (moved[0], moved[1], moved[2], moved[3])} if one.moved else one.moved)


def _in_unit(
    permit: Permit, kg: Kg, wet: WetTaken | None, presses: list[Placed], crop: Crop,
    block: Block, on: date,
) -> tuple[float | None, float | None, float | None]:
    """Give what was taken, its spread, and the shed-dry kg of one unit."""
    if permit.cap_unit in {"kg_dry", None}:
        return kg.kg, kg.variance**0.5, 1.0
    usual = bag_kg_on(block.bags, None, on)
    kappa = crop.weights.kappa[season_of(on, block.season_start), usual.name].kg
    if permit.cap_unit == "kg_wet":
        if wet is None:
            return None, None, None
        return wet.kg.kg, wet.kg.variance**0.5, kappa / wet.usual_kg
    if permit.cap_unit == "bags":
        return kg.bags, 0.0, kappa
    if usual.litres is None:
        return None, None, None
    volume_m3 = sum(
        one.bag.bags * one.chances[_HERE]
        * (bag_kg_on(block.bags, one.bag.bag_type, on).litres or usual.litres) / 1000.0
        for one in presses
    )
    return volume_m3, 0.0, kappa * 1000.0 / usual.litres


def block_may_take_kg(
    cells: Mapping[str, CellToday],
    ground: Ground,
    permits: tuple[PermitToday, ...],
    block: Block,
) -> float | None:
    """Give what may be taken of the block now: the cells' left, held to the permits' caps.

    Parameters
    ----------
    cells : mapping of str to CellToday
        The block's cells.
    ground : Ground
        Their parcels.
    permits : tuple of PermitToday
        Those in force.
    block : Block
        For whether permits are needed at all.

    Returns
    -------
    float or None
        None where no cell has a figure. [kg]
    """
    left = {name: one.left_kg for name, one in cells.items() if one.left_kg is not None}
    if not left:
        return None
    groups: dict[tuple[int, ...], float] = {}
    for name, kg in left.items():
        mine = tuple(i for i, p in enumerate(permits) if covers(p.permit, ground, name))
        groups[mine] = groups.get(mine, 0.0) + kg
    held = {}
    for mine, kg in groups.items():
        caps = [cap for i in mine if (cap := permits[i].left_kg) is not None]
        held[mine] = cap_held_kg([kg], cap_kg=min(caps, default=None), picked_kg=0.0)
    total = sum(held.values())
    for i, permit in enumerate(permits):
        if permit.left_kg is not None:
            others = sum(kg for mine, kg in held.items() if i not in mine)
            total = min(total, others + permit.left_kg)
    return total
