"""The seasons of a plan, and the permit year that each counts for.

Rule 1: the first season is that of the day asked about, unless next to nothing of it is left.
Rule 2: a season counts for the permit year in which the middle of it lies, as far as the permit
is in force in it; two seasons may share one. What is picked before that year's first day comes off
the year before.
"""

import dataclasses
from datetime import date, timedelta

from sync.block import Block, Permit, bag_kg_on, holds_on, season_end, season_of
from sync.crop.chain import Crop
from sync.register.build import Register
from sync.register.permit_year import covers, permit_year
from sync.register.permits import PermitToday


@dataclasses.dataclass(frozen=True)
class Span:
    """What is left of a season: its name, and its first and last day that a plan can use."""

    season: int
    first: date
    last: date

    @property
    def middle(self) -> date:
        """The day half way."""
        return self.first + (self.last - self.first) // 2

    def middle_under(self, permit: Permit) -> date | None:
        """Give the day half way of what a permit covers of it; None where it covers nothing."""
        first = max(self.first, permit.since or self.first)
        last = min(self.last, permit.until or self.last)
        return first + (last - first) // 2 if first <= last else None


@dataclasses.dataclass(frozen=True)
class Cap:
    """What a permit leaves for one permit year, or for the seasons of the plan that count to it.

    Attributes
    ----------
    permit : str
        Its name.
    first : date
        Of the permit year.
    kg : float
        What may still be taken, shed-dry. [kg]
    cells : frozenset of str
        Cells that it covers.
    periods : tuple of int
        Seasons of the plan that count for it, by number from 0.
    """

    permit: str
    first: date
    kg: float
    cells: frozenset[str]
    periods: tuple[int, ...]


def spans_from(
    on: date, season_start: tuple[int, int], count: int, *, least_days: int
) -> tuple[Span, ...]:
    """Give the seasons from a day on.

    Parameters
    ----------
    on : date
        The day asked about.
    season_start : tuple of int
        Month and day.
    count : int
        How many.
    least_days : int
        A season of which fewer days are left is passed over.

    Returns
    -------
    tuple of Span
        The first may begin in its midst.
    """
    first = on
    if (season_end(on, season_start) - on).days < least_days:
        first = season_end(on, season_start) + timedelta(days=1)
    spans = []
    for _ in range(count):
        last = season_end(first, season_start)
        spans.append(Span(season_of(first, season_start), first, last))
        first = last + timedelta(days=1)
    return tuple(spans)


def caps_of(
    register: Register, spans: tuple[Span, ...]
) -> tuple[tuple[Cap, ...], tuple[str, ...]]:
    """Give what the permits' caps leave, by permit year.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    spans : tuple of Span
        The seasons planned.

    Returns
    -------
    caps : tuple of Cap
        One of each permit and year that a season counts for.
    untold : tuple of str
        Permits whose cap cannot be had in kg from the records.
    """
    today = {one.permit.name: one for one in register.permits}
    caps: list[Cap] = []
    untold: list[str] = []
    for permit in register.block.permits:
        if permit.cap is None:
            continue
        a_unit = unit_kg(permit, register.crop, register.block, register.on)
        if a_unit is None:
            untold.append(permit.name)
            continue
        years: dict[date, list[int]] = {}
        for period, span in enumerate(spans):
            middle = span.middle_under(permit)
            if middle is not None:
                years.setdefault(permit_year(permit, middle)[0], []).append(period)
        cells = frozenset(name for name in register.cells
                          if covers(permit, register.crop.ground, name))
        for first, periods in years.items():
            kg = _left_kg(permit, today.get(permit.name), first, a_unit)
            caps.append(Cap(permit.name, first, kg, cells, tuple(periods)))
    return tuple(caps), tuple(untold)


def without_permit(block: Block, spans: tuple[Span, ...]) -> frozenset[int]:
    """Give the seasons, by number, in whose middle no permit is in force where one is needed."""
    return frozenset(
        period for period, span in enumerate(spans) if block.permits
        and not any(holds_on(span.middle, p.since, p.until) for p in block.permits))


def _left_kg(permit: Permit, today: PermitToday | None, first: date, a_unit: float) -> float:
    """Give what the cap leaves in a permit year: of the one that runs, what is not taken yet."""
    if today is not None and today.first == first and today.left_kg is not None:
        return today.left_kg
    return (permit.cap or 0.0) * a_unit


def unit_kg(permit: Permit, crop: Crop, block: Block, on: date) -> float | None:
    """Give the shed-dry kg of one unit of a permit's cap; None where the records cannot tell.

    Parameters
    ----------
    permit : Permit
        With the unit of its cap.
    crop : Crop
        For the weight of a bag.
    block : Block
        For the usual bag and its litres.
    on : date
        The day asked about.
    """
    if permit.cap_unit in {"kg_dry", None}:
        return 1.0
    if permit.cap_unit == "kg_wet":
        return None
    usual = bag_kg_on(block.bags, None, on)
    kappa = crop.weights.kappa[season_of(on, block.season_start), usual.name].kg
    if permit.cap_unit == "bags":
        return kappa
    return None if usual.litres is None else kappa * 1000.0 / usual.litres
