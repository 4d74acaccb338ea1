"""Which ground gives clean moss and full bags: lots told by ground class and by cell.

Rule 1: a cell's class is that of the day asked about.
Rule 2: purity of lots counts alike, kg a bag by their bags; lots of every season to the day count.
"""

import dataclasses
from collections.abc import Mapping, Sequence

from sync.picks.ledger.trace import LotTold
from sync.plan.lots.marginal import Marginal
from sync.plan.lots.measured import Measured
from sync.plan.lots.mixed import Mixed, mixed_of

#: Readings are written to a tenth of a point; no lot is known better. [%], [kg]
_LEAST_PCT, _LEAST_KG = 0.1, 0.05
#: A cell is told from half a lot on.
_LEAST_LOTS = 0.5
_WHOLE_PCT = 100.0


@dataclasses.dataclass(frozen=True)
class Estimate:
    """A figure with its 90 % range, both ends within what it can be."""

    value: float
    low: float
    high: float


@dataclasses.dataclass(frozen=True)
class GroundTold:
    """What the lots of a ground class or of a cell were like.

    Attributes
    ----------
    name, ground_class : str
        A class has both alike.
    lots : float
        So many, by shares, with a purity or a weight.
    pure_pct, kg_a_bag : Estimate or None
        Mean of the ground. [%], [kg]
    chance : float or None
        That one more lot from there is of the purity asked for: from a new cell of the class, or
        from this cell. [-]
    """

    name: str
    ground_class: str
    lots: float
    pure_pct: Estimate | None
    kg_a_bag: Estimate | None
    chance: float | None


@dataclasses.dataclass(frozen=True, eq=False)
class Clean:
    """What is learned from the lots: purity and kg a bag; None where lots are too few."""

    purity: Mixed | None
    kg_a_bag: Mixed | None
    mean_bags: float


def clean_of(lots: Sequence[LotTold], group_of: Mapping[str, str]) -> Clean:
    """Learn from lots.

    Parameters
    ----------
    lots : sequence of LotTold
        All that were dried by the day.
    group_of : mapping of str to str
        Ground class of each cell.

    Returns
    -------
    Clean
        Purity in %, kg a bag in kg.
    """
    weighed = [lot for lot in lots if lot.kg_a_bag is not None]
    mean_bags = sum(lot.bags for lot in weighed) / len(weighed) if weighed else 1.0
    purity = [Measured(lot.pure_pct, 1.0, lot.shares.cells) for lot in lots
              if lot.pure_pct is not None]
    kg = [Measured(lot.kg_a_bag, lot.bags / mean_bags, lot.shares.cells) for lot in weighed
          if lot.kg_a_bag is not None]
    return Clean(mixed_of(purity, group_of, least_sd=_LEAST_PCT),
                 mixed_of(kg, group_of, least_sd=_LEAST_KG), mean_bags)


def classes_told(clean: Clean, *, least_pct: float) -> tuple[GroundTold, ...]:
    """Tell every ground class that lots tell of.

    Parameters
    ----------
    clean : Clean
        What is learned.
    least_pct : float
        The purity asked for. [%]

    Returns
    -------
    tuple of GroundTold
        By name.
    """
    parts = [one for one in (clean.purity, clean.kg_a_bag) if one is not None]
    return tuple(
        _told(clean, group, group, max(one.lots.get(group, 0.0) for one in parts), least_pct)
        for group in sorted({group for one in parts for group in one.groups}))


def cells_told(clean: Clean, *, least_pct: float) -> tuple[GroundTold, ...]:
    """Tell every cell with half a lot or more, the likeliest for the purity first.

    Parameters
    ----------
    clean, least_pct
        As for `classes_told`.

    Returns
    -------
    tuple of GroundTold
        Those of equal chance by name.
    """
    parts = [one for one in (clean.purity, clean.kg_a_bag) if one is not None]
    lots = {cell: max(one.cells.get(cell, 0.0) for one in parts)
            for cell in sorted({cell for one in parts for cell in one.cells})}
    found = [_told(clean, cell, parts[0].group_of[cell], n, least_pct)
             for cell, n in lots.items() if n >= _LEAST_LOTS]
    return tuple(sorted(found, key=lambda one: (-(one.chance or 0.0), one.name)))


def _told(
    clean: Clean, name: str, group: str, lots: float, least_pct: float
) -> GroundTold:
    pure, kg = clean.purity, clean.kg_a_bag
    return GroundTold(
        name, group, lots,
        _estimate(pure, name, group, _WHOLE_PCT), _estimate(kg, name, group, None),
        None if pure is None or group not in pure.groups
        else pure.of_lot(name, group).chance_from(least_pct))


def _estimate(mixed: Mixed | None, name: str, group: str, most: float | None) -> Estimate | None:
    if mixed is None or group not in mixed.groups:
        return None
    told: Marginal = mixed.of_group(group) if name == group else mixed.of_cell(name, group)
    low, high = told.range()
    ends = (_within(one, most) for one in (told.mean, low, high))
    return Estimate(*ends)


def _within(value: float, most: float | None) -> float:
    return max(0.0, value if most is None else min(most, value))
