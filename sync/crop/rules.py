"""What the block and its permits demand of one cell on one day; of two, the stricter holds."""

import dataclasses
from datetime import date

from sync.block import Block, holds_on, permit_of, rule_on


@dataclasses.dataclass(frozen=True)
class CellRule:
    """The rule of a cell on a day.

    Attributes
    ----------
    rest_months, rest_years : int, float
        Rest after a pick.
    recovery_years : float
        Years a normal pick takes to come back.
    living_layer_mm : float
        Strand that must stay. [mm]
    keep : float
        Share of the pickable crop that stays. [-]
    max_share, max_kg_m2 : float or None
        A permit's own limits: share of the crop [-], kg on the ground [kg m⁻²].
    permitted : bool
        False where permits exist and none is in force for the cell.
    """

    rest_months: int
    recovery_years: float
    living_layer_mm: float
    keep: float
    max_share: float | None
    max_kg_m2: float | None
    permitted: bool

    @property
    def rest_years(self) -> float:
        """Rest after a pick. [yr]."""
        return self.rest_months / 12.0


def cell_rule(block: Block, parcel: str | None, day: date) -> CellRule:
    """Give the rule of a cell of a parcel on a day.

    Parameters
    ----------
    block : Block
        Rules and permits.
    parcel : str or None
        Parcel of most of the cell's ground.
    day : date
        Local day.

    Returns
    -------
    CellRule
        The block's rule, tightened by every permit in force.
    """
    rule = rule_on(block.rules, day)
    permits = [
        p for p in permit_of(block.permits, parcel) if holds_on(day, p.since, p.until)
    ]
    shares = [p.max_share_pct / 100.0 for p in permits if p.max_share_pct is not None]
    weights = [p.max_kg_ha / 10_000.0 for p in permits if p.max_kg_ha is not None]
    return CellRule(
        rest_months=rule.rest_months,
        recovery_years=rule.recovery_years,
        living_layer_mm=max([rule.living_layer_mm, *(p.living_layer_mm or 0 for p in permits)]),
        keep=max([rule.keep_pct, *(p.keep_pct or 0 for p in permits)]) / 100.0,
        max_share=min(shares, default=None),
        max_kg_m2=min(weights, default=None),
        permitted=bool(permits) or not block.permits,
    )
