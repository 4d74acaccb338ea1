"""From placed bags to kg: what the bags of a pick weighed, and how well that is known."""

import dataclasses
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from sync.block import Block, season_of
from sync.geometry.placed import NOT_THERE, Placed
from sync.picks.groups import GroupShare, track_share_variance
from sync.picks.kilos import KgPerBag
from sync.picks.place import cell_kg, cell_kg_of_lot
from sync.picks.sources import WeighedLot, Weights


@dataclasses.dataclass(frozen=True)
class Kg:
    """A weight with its variance. [kg], [kg²].

    Attributes
    ----------
    records : tuple of str
        Names of the bags behind it.
    df : float
        Degrees of freedom of the variance: few lots tell the spread of bags badly.
    """

    kg: float
    variance: float
    bags: float
    records: tuple[str, ...]
    df: float = math.inf


@dataclasses.dataclass(frozen=True)
class PickMade:
    """One pick of one cell.

    Attributes
    ----------
    by_day : mapping of date to Kg
        What was taken on each day from the first to the last.
    whole : Kg or None
        All of it together; None where its kg are not known.
    share_pct : float or None
        As typed in for a pick from before the program.
    """

    cell: str
    first: date
    last: date
    days: tuple[date, ...]
    by_day: Mapping[date, Kg]
    whole: Kg | None
    share_pct: float | None
    records: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class CellTakings:
    """All that was taken from one cell: picks, and stray bags between them."""

    cell: str
    picks: tuple[PickMade, ...]
    stray: Mapping[date, Kg]


def added(parts: Sequence[Kg]) -> Kg:
    """Add up weights of which each may err by itself."""
    return Kg(
        sum(p.kg for p in parts), sum(p.variance for p in parts), sum(p.bags for p in parts),
        tuple(dict.fromkeys(name for p in parts for name in p.records)),
        # The least of the parts': never too sure.
        min((p.df for p in parts if p.variance > 0.0), default=math.inf),
    )


def kg_of(presses: Sequence[Placed], cell: str | None, weights: Weights, block: Block) -> Kg:
    """Weigh the bags of some presses that are of a cell.

    Parameters
    ----------
    presses : sequence of Placed
        Bags with their chances.
    cell : str or None
        The cell; None weighs all of them wherever they are of.
    weights : Weights
        Kg of a bag. [kg]
    block : Block
        For its seasons and bag types.

    Returns
    -------
    Kg
        Shed-dry kg, variance, expected bags and records. [kg], [kg²]
    """
    by_source: dict[tuple[int, str, int], tuple[WeighedLot | None, list[Placed]]] = {}
    known = frozenset(bag.name for bag in block.bags)
    for one in presses:
        season, bag_type, lot = _source(one, weights, block, known)
        # A lot is one object under all of its labels; its own sum would be worked out each time.
        by_source.setdefault((season, bag_type, id(lot)), (lot, []))[1].append(one)
    parts: list[Kg] = []
    counted: dict[tuple[KgPerBag, str], list[GroupShare]] = defaultdict(list)
    for (season, bag_type, _), (lot, members) in by_source.items():
        kappa = weights.kappa[season, bag_type]
        part, rest = _lot_kg(members, cell, kappa, lot)
        parts.append(part)
        counted[kappa, bag_type] += rest
    # All counted bags of a type share the error of one mean bag, also of two seasons that have
    # the same figure: the owner's, or that of the lots before both.
    for (kappa, _), groups in counted.items():
        kg, variance = cell_kg(groups, kappa)
        parts.append(Kg(kg, variance, sum(g.bags * g.share for g in groups), (), kappa.df))
    return added(parts)


def _source(
    one: Placed, weights: Weights, block: Block, known: frozenset[str]
) -> tuple[int, str, WeighedLot | None]:
    season = season_of(one.bag.day, block.season_start)
    lot = weights.lots.get((one.bag.pile, season)) if one.bag.pile is not None else None
    return season, bag_type_of(one, block, known), lot


def bag_type_of(one: Placed, block: Block, known: frozenset[str]) -> str:
    """Give the type of a press's bags; one that the block does not know is the usual one."""
    return str(one.bag.bag_type if one.bag.bag_type in known else block.bags[0].name)


def _lot_kg(
    members: Sequence[Placed], cell: str | None, kappa: KgPerBag, lot: WeighedLot | None
) -> tuple[Kg, list[GroupShare]]:
    """Weigh what of some bags went into a lot; give the rest, which the count must weigh."""
    groups = group_shares(members, cell)
    records = tuple(
        one.bag.name for one in members if cell is None or one.chances.get(cell, 0.0) > 0.0
    )
    if lot is None:
        return Kg(0.0, 0.0, 0.0, records), groups
    # Bags that never reached the drying floor are weighed by the count.
    dried = min(1.0, lot.lot.bags / lot.tallied) if lot.tallied else 1.0
    in_lot = [GroupShare(g.bags * dried, g.share, g.variance) for g in groups]
    kg, variance = cell_kg_of_lot(in_lot, lot.lot, kappa)
    bags = sum(g.bags * g.share for g in in_lot)
    rest = [GroupShare(g.bags * (1.0 - dried), g.share, g.variance) for g in groups]
    weighed = Kg(kg, variance, bags, (*records, *lot.names), kappa.df)
    return weighed, [g for g in rest if g.bags > 0.0]


def group_shares(members: Iterable[Placed], cell: str | None) -> list[GroupShare]:
    """Gather presses into their position groups.

    Parameters
    ----------
    members : iterable of Placed
        Presses with their groups.
    cell : str or None
        The cell; None counts all bags wherever they are of.

    Returns
    -------
    list of GroupShare
        Bags of each group and its bag-weighted mean share of the cell; where a track told of all
        of them, with the variance of the track moved as a whole. [-]
    """
    groups: dict[tuple[str, int], list[Placed]] = defaultdict(list)
    for one in members:
        groups[one.bag.device, one.group].append(one)
    return [_group_share(group, cell) for group in groups.values()]


def _group_share(group: Sequence[Placed], cell: str | None) -> GroupShare:
    bags = sum(one.bag.bags for one in group)
    if cell is None or bags <= 0.0:
        return GroupShare(bags, 1.0 if cell is None and bags > 0.0 else 0.0)
    share = min(1.0, sum(one.bag.bags * one.chances.get(cell, 0.0) for one in group) / bags)
    if any(not one.moved for one in group):
        return GroupShare(bags, share)  # a chance: all its bags are there, or none
    moved = [
        sum(one.bag.bags * one.moved.get(cell, NOT_THERE)[way] for one in group) / bags
        for way in range(len(NOT_THERE))
    ]
    return GroupShare(bags, share, track_share_variance(
        east=moved[0], west=moved[1], north=moved[2], south=moved[3]))
