"""A cell ahead of its day: how it grows, what could be taken then, and what a pick would leave.

Rule 1: a day to come is worked out by the very walk and rule that give today's figure.
Rule 2: after a pick nothing is measured any more; what is told of the next is a forecast.
"""

import dataclasses

from sync.crop.allow import Allowance, allowance
from sync.crop.pickable import Measured, pickable_kg
from sync.crop.rules import CellRule
from sync.crop.walk import Growth, Stand, grow, take
from sync.settings import Z_THREE_IN_FOUR


@dataclasses.dataclass(frozen=True)
class Ahead:
    """All of a cell that a look ahead needs.

    Attributes
    ----------
    stand : Stand
        Crop and mark. [kg], [kg²]
    share : float
        Pickable share at the mark, q. [-]
    measured : Measured or None
        The survey since its last pick.
    open_m2 : float
        Open ground. [m²]
    growth : Growth
        How fast it comes back.
    rule : CellRule
        What block and permits demand.
    """

    stand: Stand
    share: float
    measured: Measured | None
    open_m2: float
    growth: Growth
    rule: CellRule


def allowance_by(
    stand: Stand, pickable: float, open_m2: float, growth: Growth, rule: CellRule
) -> Allowance:
    """Work out what may be taken by a cell's own rule, with three chances in four.

    Parameters
    ----------
    stand : Stand
        At the start of the pick. [kg], [kg²]
    pickable : float
        Its pickable part. [kg]
    open_m2 : float
        Open ground. [m²]
    growth : Growth
        How fast it comes back.
    rule : CellRule
        The rule on that day.
    """
    return allowance(
        stand, pickable, area_m2=open_m2, growth=growth, rest_years=rule.rest_years,
        keep=rule.keep, max_share=rule.max_share, max_kg_m2=rule.max_kg_m2, z=Z_THREE_IN_FOUR,
    )


def pickable_of(cell: Ahead) -> float:
    """Give the pickable part of a cell's crop; 0 where it has no mark. [kg]."""
    if cell.stand.mark_kg <= 0.0:
        return 0.0
    return pickable_kg(
        cell.stand.crop_kg, cell.stand.mark_kg, cell.share, measured=cell.measured)


def allowed(cell: Ahead) -> Allowance:
    """Give what may be taken of a cell as it stands."""
    return allowance_by(cell.stand, pickable_of(cell), cell.open_m2, cell.growth, cell.rule)


def grown(cell: Ahead, years: float) -> Ahead:
    """Let a cell grow.

    Parameters
    ----------
    cell : Ahead
        At the beginning.
    years : float
        Not under 0. [yr]

    Returns
    -------
    Ahead
        At the end; as it was where it has no mark.
    """
    if cell.stand.mark_kg <= 0.0:
        return cell
    return dataclasses.replace(cell, stand=grow(cell.stand, years, cell.growth))


def picked(cell: Ahead, kg: float, *, floor: float) -> Ahead:
    """Take a planned pick off a cell.

    Parameters
    ----------
    cell : Ahead
        At the start of the pick.
    kg : float
        To be taken; it will be weighed, so it has no variance of its own. [kg]
    floor : float
        A pick leaves at least this share of the mark. [-]

    Returns
    -------
    Ahead
        With nothing measured since.
    """
    after, _ = take(cell.stand, kg, 0.0, floor=floor)
    return dataclasses.replace(cell, stand=after, measured=None)
