"""How much of a purity lies dried.

Rule 1: a lot counts as a whole, by its own purity; what could be mixed is told beside it.
"""

import dataclasses
from collections.abc import Sequence

from sync.picks.ledger.trace import LotTold


@dataclasses.dataclass(frozen=True)
class Dried:
    """What of a season's lots lies dried. [kg].

    Attributes
    ----------
    kg, told_kg, pure_kg : float
        Of all lots, of those with a purity, and of those at or above the purity asked for.
    mixed_kg : float
        The most that could be mixed to that purity as a whole, the cleanest lots first.
    mean_pct : float or None
        Purity of all that is told, by kg. [%]
    """

    kg: float
    told_kg: float
    pure_kg: float
    mixed_kg: float
    mean_pct: float | None


def dried_of(lots: Sequence[LotTold], *, least_pct: float) -> Dried:
    """Add up lots; what went into another lot counts there.

    Parameters
    ----------
    lots : sequence of LotTold
        Of a season.
    least_pct : float
        The purity asked for. [%]

    Returns
    -------
    Dried
        Shed-dry kg.
    """
    parts = [((lot.dry_kg or 0.0) * lot.part_left, lot.pure_pct) for lot in lots]
    told = sorted(((pure, kg) for kg, pure in parts if pure is not None and kg > 0.0),
                  reverse=True)
    told_kg = sum(kg for _, kg in told)
    return Dried(
        sum(kg for kg, _ in parts), told_kg,
        sum(kg for pure, kg in told if pure >= least_pct), _mixed_kg(told, least_pct),
        sum(pure * kg for pure, kg in told) / told_kg if told_kg else None)


def _mixed_kg(told: Sequence[tuple[float, float]], least_pct: float) -> float:
    """Give how many kg, the cleanest first, are of a purity as a whole."""
    kg = over = 0.0
    for pure, more in told:
        gain = (pure - least_pct) * more
        if over + gain < 0.0:
            # So much of this lot as the cleaner ones can carry.
            return kg + over / (least_pct - pure)
        kg, over = kg + more, over + gain
    return kg
