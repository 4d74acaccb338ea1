"""From placed bags to the picks that were made: days, kg and their spread, by cell.

Rule 1: a picking day is a day with at least half a bag expected in the cell; less counts as kg.
Rule 2: which days make one pick is a matter of dates alone; touch or pick is judged later.
"""

import dataclasses
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from sync.block import Block, season_of
from sync.geometry.placed import NOT_THERE, Placed
from sync.intake.seen import PastPick
from sync.picks.groups import GroupShare, track_share_variance
from sync.picks.joining import join_days
from sync.picks.kilos import KgPerBag
from sync.picks.place import cell_kg, cell_kg_of_lot
from sync.picks.sources import WeighedLot, Weights
from sync.settings import Tunables


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


def takings_of(
    placed: Sequence[Placed],
    past: Sequence[PastPick],
    weights: Weights,
    block: Block,
    tunables: Tunables,
) -> dict[str, CellTakings]:
    """Work out what was taken from each cell.

    Parameters
    ----------
    placed : sequence of Placed
        Bags with their chances by cell.
    past : sequence of PastPick
        Picks from before the program.
    weights : Weights
        Kg of a bag. [kg]
    block : Block
        For its seasons and bag types.
    tunables : Tunables
        When days join, and what a picking day is.

    Returns
    -------
    dict of str to CellTakings
        By cell.
    """
    presses: dict[str, list[Placed]] = defaultdict(list)
    for one in placed:
        for cell in one.chances:
            presses[cell].append(one)
    typed: dict[str, list[PastPick]] = defaultdict(list)
    for pick in past:
        typed[pick.cell].append(pick)
    return {
        cell: _cell_takings(cell, presses[cell], typed[cell], weights, block, tunables)
        for cell in sorted({*presses, *typed})
    }


def _cell_takings(
    cell: str,
    presses: Sequence[Placed],
    typed: Sequence[PastPick],
    weights: Weights,
    block: Block,
    tunables: Tunables,
) -> CellTakings:
    expected: dict[date, float] = defaultdict(float)
    for one in presses:
        expected[one.bag.day] += one.bag.bags * one.chances[cell]
    days = {day for day, bags in expected.items() if bags >= tunables.least_bags_a_day}
    days |= {day for pick in typed for day in (pick.first, pick.last)}
    spans = join_days(
        days,
        season_start=block.season_start,
        same_pick_days=tunables.same_pick_days,
        pick_longest_days=tunables.pick_longest_days,
    )
    picks = []
    in_picks: set[date] = set()
    for span in spans:
        mine = [one for one in presses if span.first <= one.bag.day <= span.last]
        # One longer than a pick may last counts where it ended, for there its rest begins.
        of_past = [pick for pick in typed if span.first <= pick.last <= span.last]
        in_picks |= {one.bag.day for one in mine}
        picks.append(_pick(cell, span.first, span.last, span.days, mine, of_past, weights, block))
    stray = {
        day: kg_of([one for one in presses if one.bag.day == day], cell, weights, block)
        for day in sorted(set(expected) - in_picks)
    }
    return CellTakings(cell, tuple(picks), stray)


def _pick(
    cell: str,
    first: date,
    last: date,
    days: tuple[date, ...],
    presses: Sequence[Placed],
    typed: Sequence[PastPick],
    weights: Weights,
    block: Block,
) -> PickMade:
    by_day = {
        day: kg_of([one for one in presses if one.bag.day == day], cell, weights, block)
        for day in sorted({one.bag.day for one in presses})
    }
    whole: Kg | None = kg_of(presses, cell, weights, block)
    shares = [pick.share_pct for pick in typed]
    for pick in typed:
        middle = pick.first + (pick.last - pick.first) / 2
        if pick.dry_kg is None:
            whole = None
        elif whole is not None:
            typed_kg = Kg(pick.dry_kg, 0.0, 0.0, (pick.name,))
            whole = _added([whole, typed_kg])
            by_day[middle] = _added([by_day[middle], typed_kg]) if middle in by_day else typed_kg
    records = (*(whole.records if whole else ()), *(pick.name for pick in typed))
    return PickMade(
        cell, first, last, days, by_day, whole, max(shares) if shares else None,
        tuple(dict.fromkeys(records)),
    )


def _added(parts: Sequence[Kg]) -> Kg:
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
    by_source: dict[tuple[int, str, WeighedLot | None], list[Placed]] = {}
    for one in presses:
        by_source.setdefault(_source(one, weights, block), []).append(one)
    parts: list[Kg] = []
    counted: dict[tuple[KgPerBag, str], list[GroupShare]] = defaultdict(list)
    for (season, bag_type, lot), members in by_source.items():
        kappa = weights.kappa[season, bag_type]
        part, rest = _lot_kg(members, cell, kappa, lot)
        parts.append(part)
        counted[kappa, bag_type] += rest
    # All counted bags of a type share the error of one mean bag, also of two seasons that have
    # the same figure: the owner's, or that of the lots before both.
    for (kappa, _), groups in counted.items():
        kg, variance = cell_kg(groups, kappa)
        parts.append(Kg(kg, variance, sum(g.bags * g.share for g in groups), (), kappa.df))
    return _added(parts)


def _source(one: Placed, weights: Weights, block: Block) -> tuple[int, str, WeighedLot | None]:
    season = season_of(one.bag.day, block.season_start)
    known = {bag.name for bag in block.bags}
    bag_type = one.bag.bag_type if one.bag.bag_type in known else block.bags[0].name
    lot = weights.lots.get((one.bag.pile, season)) if one.bag.pile is not None else None
    return season, str(bag_type), lot


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
    in_lot = [dataclasses.replace(g, bags=g.bags * dried) for g in groups]
    kg, variance = cell_kg_of_lot(in_lot, lot.lot, kappa)
    bags = sum(g.bags * g.share for g in in_lot)
    rest = [dataclasses.replace(g, bags=g.bags * (1.0 - dried)) for g in groups]
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
