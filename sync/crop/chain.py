"""The chain of a day: from all that is known by then to every cell's crop.

Rule 1: what all cells of a day share is worked out once, in `base_of`; then each is walked by
itself.
"""

import dataclasses
from collections.abc import Mapping
from datetime import date

from sync.crop.base import Base, Shared, base_of
from sync.crop.classes import JudgedPick, ReadingIndex
from sync.crop.known import Known
from sync.crop.rules import CellRule
from sync.crop.walk import Growth
from sync.crop.walk_once import walk_once
from sync.crop.walked import Walked
from sync.geometry.ground import Ground
from sync.picks.made import CellTakings
from sync.settings import Tunables


@dataclasses.dataclass(frozen=True)
class CellCrop:
    """One cell on the day.

    Attributes
    ----------
    walked : Walked or None
        Its crop; None where its class has no figure or none of it is open.
    readings : tuple of ReadingIndex
        All of its quadrats until the day.
    growth : Growth
        Of its class, where that has learned by itself, else of the block.
    """

    cell: str
    ground_class: str
    open_m2: float
    rule: CellRule
    picks: tuple[JudgedPick, ...]
    takings: CellTakings | None
    readings: tuple[ReadingIndex, ...]
    growth: Growth
    walked: Walked | None


@dataclasses.dataclass(frozen=True)
class Crop(Shared):
    """The block on a day."""

    cells: Mapping[str, CellCrop]


def chain(
    known: Known, ground: Ground, *, until: date, rules_of: date | None = None
) -> Crop:
    """Work out the crop of every cell by what happened until a day.

    Parameters
    ----------
    known : Known
        All that is known.
    ground : Ground
        Of the day asked about: its open ground is used for every date of the walk.
    until : date
        Last day whose events are used.
    rules_of : date, optional
        The day whose rules hold, where that is not the last: the first day of a pick.

    Returns
    -------
    Crop
        Of that day.
    """
    base = base_of(known, ground, until=until, rules_of=rules_of)
    return Crop(
        until, ground, base.learned, base.class_learned, base.weights, base.observers,
        base.densities, base.clips, base.classes, base.readers, base.class_on, base.kept,
        {cell: cell_crop(base, cell, known.tunables) for cell in ground.cells},
    )


def cell_crop(base: Base, cell: str, tunables: Tunables) -> CellCrop:
    """Walk one cell of a day.

    Parameters
    ----------
    base : Base
        What all cells of that day are walked by.
    cell : str
        One of its ground.
    tunables : Tunables
        As of the block.
    """
    of, facts = base.ground.cells[cell].ground_class, base.facts[cell]
    growth = base.class_learned.get(of, base.learned).growth
    walked = walk_once(base, cell, facts, growth, tunables, until=base.day)
    return CellCrop(
        cell, of, facts.open_m2, base.rules[cell], tuple(facts.picks), base.takings.get(cell),
        tuple(facts.readings), growth, walked,
    )
