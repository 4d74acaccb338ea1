"""Permits on a day: what was taken in the permit year, what the cap leaves, what was filed.

Rule 1: what was taken is told in the permit's own unit, or not at all.
Rule 2: a return that was filed stands as it was; what it would say now is told beside it.
"""

import dataclasses
from collections.abc import Collection, Iterable, Sequence
from datetime import date

from sync.block import Block, Permit, bag_kg_on, holds_on, season_of
from sync.crop.chain import Crop
from sync.crop.known import Known, weights_until
from sync.geometry.grounds import Grounds
from sync.geometry.placed import Placed
from sync.intake.seen import Events, NoticeSeen
from sync.picks.made import Kg
from sync.picks.wet_taken import WetTaken, wet_taken
from sync.register.notices import Notice, filed_of, notice_of
from sync.register.permit_year import (
    HERE,
    bags_under,
    covers,
    kg_under,
    permit_year,
    year_of,
)


@dataclasses.dataclass(frozen=True)
class Filed:
    """A return that was filed, and what it would say now.

    Attributes
    ----------
    seen : NoticeSeen
        The record of the filing.
    now : float or None
        Taken in that permit year by all that is known, in the permit's unit.
    """

    seen: NoticeSeen
    now: float | None


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
    filed : Filed or None
        The return of the latest year that has one.
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
    filed: Filed | None = None


def permits_today(
    known: Known, events: Events, crop: Crop, cells: Iterable[str], grounds: Grounds, *, on: date
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
    grounds : Grounds
        Its ground on the last day of a year that a return was filed for.
    on : date
        The day.

    Returns
    -------
    tuple of PermitToday
        In the order of the owner's file.
    """
    names = tuple(cells)
    return tuple(
        dataclasses.replace(
            permit_on(permit, known, events, crop, names, on=on),
            filed=filed_under(permit, known, events, crop, grounds, on=on))
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
    kg = kg_under(permit, known, covered, cells, crop.weights, first=first, until=on)
    presses, wet = [], None
    if permit.cap_unit in {"kg_wet", "m3"}:
        presses = bags_under(permit, known, covered, cells, first=first, until=on)
    if permit.cap_unit == "kg_wet":
        wet = _wet(presses, known, events, on)
    taken, sd, kg_a_unit = _in_unit(permit, kg, wet, presses, crop, known.block, on)
    left = None
    if permit.cap is not None and taken is not None:
        left = max(0.0, permit.cap - taken)
    left_kg = None if left is None or kg_a_unit is None else left * kg_a_unit
    return PermitToday(
        permit, first, last, covered, kg, taken, sd, kg.df if wet is None else wet.kg.df, left,
        left_kg, notice_of(events.notices, permit, (first, last), known.block, on=on))


def filed_under(
    permit: Permit, known: Known, events: Events, crop: Crop, grounds: Grounds, *, on: date,
    year: int | None = None,
) -> Filed | None:
    """Give the return filed under a permit, and what it would say now.

    Parameters
    ----------
    permit : Permit
        The permit.
    known, events, crop
        As for `permits_today`.
    grounds : Grounds
        Its ground on the last day of that year.
    on : date
        The day asked about.
    year : int, optional
        Of the permit year that starts in it; else of the latest that has one.

    Returns
    -------
    Filed or None
        None where none was filed by that day. Worked out as `fallow permit` does, by the weights
        and the ground of the last day of that year, so that both say one figure.
    """
    seen = filed_of(
        events.notices, permit, lambda day: permit_year(permit, day)[0].year, on=on, year=year)
    if seen is None or seen.year is None:
        return None
    day = min(on, year_of(permit, seen.year)[1])
    ground = grounds.on(day)
    then = dataclasses.replace(
        crop, day=day, ground=ground, weights=weights_until(known, day))
    return Filed(seen, permit_on(
        permit, known, events, then, tuple(ground.cells), on=day).taken)


def _wet(
    presses: Sequence[Placed], known: Known, events: Events, on: date
) -> WetTaken | None:
    """Weigh the permit's bags wet; the others tell what a batch was made of."""
    mine = {one.bag.name for one in presses}
    others = [one._replace(chances={}, drift=None, moved={})
              for one in known.placed if one.bag.day <= on and one.bag.name not in mine]
    return wet_taken([*presses, *others], HERE, events.wet, events.batch_sources, known.block,
                     known.tunables, on=on)


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
        one.bag.bags * one.chances[HERE]
        * (bag_kg_on(block.bags, one.bag.bag_type, on).litres or usual.litres) / 1000.0
        for one in presses
    )
    return volume_m3, 0.0, kappa * 1000.0 / usual.litres
