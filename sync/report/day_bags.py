"""The bags of one day, summed by person, cell, type and pile: four views of the same records.

Rule 1: whose a bag is says its `for`, else who noted it; what a void or a correction takes away
is in none of the sums.
Rule 2: a cell's bags are expected ones, by chance or by picking time; the others are counts.
Rule 3: rows stand in the order of their names, never of their sizes.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sync.block import bag_kg_on, season_of
from sync.geometry.placed import Placed
from sync.register.build import Register
from sync.report.piles import waiting_bags


@dataclass(frozen=True)
class Bags:
    """Bags under one name: a person, a cell, a type; of a pile None is no pile."""

    name: str | None
    bags: float


@dataclass(frozen=True)
class OnPile:
    """Bags that a day laid on a pile, and all that wait on it that evening; None of no pile."""

    name: str | None
    bags: float
    waiting: float | None


@dataclass(frozen=True)
class DayBags:
    """The bags of a day.

    Attributes
    ----------
    total : float
        All that count.
    paper : float
        Of these, by typed paper counts.
    records : tuple of str
        The records they are counted by, in time order.
    cells : tuple of Bags
        Expected bags by cell, by column and row.
    outside, nowhere : float
        Expected on no ground of the block, and of no place that is known.
    undone : int
        Bag records of the day that do not count: taken back, or mended by another.
    """

    total: float
    paper: float
    records: tuple[str, ...]
    persons: tuple[Bags, ...]
    cells: tuple[Bags, ...]
    outside: float
    nowhere: float
    types: tuple[Bags, ...]
    piles: tuple[OnPile, ...]
    undone: int


def day_bags(register: Register) -> DayBags:
    """Sum up the bags of the register's day.

    Parameters
    ----------
    register : Register
        Of the day.

    Returns
    -------
    DayBags
        Sums by person, type and pile add up to the total; so do cells, outside and nowhere.
    """
    placed = [one for one in register.known.placed if one.bag.day == register.on]
    total = math.fsum(one.bag.bags for one in placed)
    cells = _cells(register, placed)
    nowhere = math.fsum(one.bag.bags for one in placed if one.how == "nowhere")
    # What of a bag is in no cell was noted beyond the outline, or on a sliver of no cell.
    outside = math.fsum(
        one.bag.bags * max(0.0, 1.0 - math.fsum(one.chances.values()))
        for one in placed if one.how != "nowhere")
    return DayBags(
        total, math.fsum(one.bag.bags for one in placed if one.bag.covers is not None),
        tuple(one.bag.name for one in placed),
        _summed((one.bag.picker, one.bag.bags) for one in placed),
        cells, outside, nowhere,
        _summed((type_of(register, one), one.bag.bags) for one in placed),
        _piles(register, placed),
        sum(one.said.kind == "bag" and one.said.day == register.on
            for one in register.merged.undone),
    )


def type_of(register: Register, one: Placed) -> str:
    """Give the type of a bag: what is said, else the usual one of the block."""
    return one.bag.bag_type or bag_kg_on(register.block.bags, None, one.bag.day).name


def _summed(parts: Iterable[tuple[str, float]]) -> tuple[Bags, ...]:
    sums: dict[str, float] = defaultdict(float)
    for name, bags in parts:
        sums[name] += bags
    return tuple(Bags(name, bags) for name, bags in sorted(sums.items()))


def _cells(register: Register, placed: Sequence[Placed]) -> tuple[Bags, ...]:
    parts: dict[str, list[float]] = defaultdict(list)
    for one in placed:
        for cell, chance in one.chances.items():
            parts[cell].append(one.bag.bags * chance)
    order = {cell: i for i, cell in enumerate(register.cells)}
    return tuple(
        Bags(cell, math.fsum(parts[cell]))
        for cell in sorted(parts, key=lambda cell: (order.get(cell, len(order)), cell)))


def _piles(register: Register, placed: Sequence[Placed]) -> tuple[OnPile, ...]:
    sums: dict[str, float] = defaultdict(float)
    none = 0.0
    for one in placed:
        if one.bag.pile is None:
            none += one.bag.bags
        else:
            sums[one.bag.pile] += one.bag.bags
    waiting = waiting_bags(register)
    season = season_of(register.on, register.block.season_start)
    rows = [OnPile(label, bags, waiting.get((label, season), 0.0))
            for label, bags in sorted(sums.items())]
    return (*rows, OnPile(None, none, None)) if none > 0.0 else tuple(rows)
