"""What was worked out of a block for other days, and for registers built before.

Rule 1: whatever is kept is given again only where all it was made of is the very same; no figure
changes by it, and all of it may be forgotten at any time.
Rule 2: one user at a time: a register that others may ask is given what it keeps by itself.
Rule 3: of former registers stays what the last one asked for, and of the bags of a cell or of a
permit the last few results of each name.
"""

import dataclasses
from collections.abc import Mapping
from typing import Any

from sync.block import Block
from sync.crop.back import Back
from sync.crop.class_days import ClassDays
from sync.crop.classes import JudgedPick, ReadingIndex
from sync.crop.former import Former
from sync.crop.learn import Learned, Regrown
from sync.crop.reading_shares import Readers
from sync.crop.walk import Growth
from sync.crop.walked import Walked
from sync.geometry.before import TrodBefore
from sync.picks.bags import Bags
from sync.picks.cell_bags import CellBags
from sync.picks.day_bags import DayBags
from sync.picks.kilos import KgPerBag
from sync.picks.made import Kg
from sync.picks.once import Once
from sync.picks.presses import Numbered
from sync.picks.sources import WeighedLot
from sync.settings import Tunables
from sync.survey.density import Densities
from sync.survey.observers import Observers
from sync.survey.readings import Reading


@dataclasses.dataclass(frozen=True)
class Remembered:
    """What serves other days, and other registers of the same block and tunables.

    Attributes
    ----------
    trod : TrodBefore
        Where people were.
    grouped : Numbered
        The presses of each phone, in their position groups.
    days, cells, under, kg_under : Once
        The bags of each day, of each cell, and those under each permit, with what was weighed of
        them.
    lots, kappa : Once
        Lots with what was tallied until a day, and the kg of a bag.
    chosen, indexed : Once
        The readings of each cell, and their indices.
    observers, densities : Once
        Readers' factors, and the densities of the classes.
    classes : ClassDays
        What the classes were on the days before picks.
    judged, readers, regrown, learned : Once
        Picks, whose readings the classes rest on, and what regrew.
    walks : Once of Walked
        The cells walked to a day.
    to_come : Once
        What cells would teach, measured on a day to come.
    befores : Former of CellCrop
        Cells as they were on former days.
    backs : Once of tuple of Back
        How each cell stood once its rests were over.
    left_out : Once
        The growth that all cells but one teach.
    twice : Once
        The ground of a cell that was swept in two times. [m²]
    sums : Once of str
        Of the block and its tunables.
    there, weak : Once
        What was judged of bags from where nobody may pick; the bags of each day whose place is
        weak.
    """

    trod: TrodBefore = dataclasses.field(default_factory=TrodBefore)
    grouped: Numbered = dataclasses.field(default_factory=Numbered)
    days: Once[DayBags] = dataclasses.field(default_factory=Once)
    cells: Once[CellBags] = dataclasses.field(default_factory=lambda: Once(most=2))
    under: Once[Bags] = dataclasses.field(default_factory=lambda: Once(most=2))
    kg_under: Once[Kg] = dataclasses.field(default_factory=lambda: Once(most=2))
    lots: Once[WeighedLot] = dataclasses.field(default_factory=Once)
    kappa: Once[KgPerBag] = dataclasses.field(default_factory=Once)
    chosen: Once[tuple[Reading, ...]] = dataclasses.field(default_factory=Once)
    indexed: Once[tuple[ReadingIndex, ...]] = dataclasses.field(default_factory=Once)
    observers: Once[Observers] = dataclasses.field(default_factory=Once)
    densities: Once[Densities] = dataclasses.field(default_factory=Once)
    classes: ClassDays = dataclasses.field(default_factory=ClassDays)
    judged: Once[JudgedPick] = dataclasses.field(default_factory=Once)
    readers: Once[Readers] = dataclasses.field(default_factory=Once)
    regrown: Once[Regrown | None] = dataclasses.field(default_factory=Once)
    learned: Once[Learned] = dataclasses.field(default_factory=Once)
    walks: Once[Walked | None] = dataclasses.field(default_factory=Once)
    to_come: Once[Regrown | None] = dataclasses.field(default_factory=Once)
    befores: Former[Any] = dataclasses.field(default_factory=Former)
    backs: Once[tuple[Back, ...]] = dataclasses.field(default_factory=Once)
    left_out: Once[Mapping[str, Growth]] = dataclasses.field(default_factory=Once)
    twice: Once[float | None] = dataclasses.field(default_factory=Once)
    sums: Once[str] = dataclasses.field(default_factory=Once)
    there: Once[Any] = dataclasses.field(default_factory=Once)
    weak: Once[Any] = dataclasses.field(default_factory=Once)

    def turn(self) -> None:
        """Begin another register."""
        for field in dataclasses.fields(self):
            # Those that are asked once for a register forget by themselves.
            if field.name not in {"trod", "grouped"}:
                getattr(self, field.name).turn()


class Kept:
    """What a shed that builds register after register remembers from one to the next."""

    def __init__(self) -> None:
        self._of: tuple[Block, Tunables] | None = None
        self._remembered = Remembered()

    def of(self, block: Block, tunables: Tunables) -> Remembered:
        """Give what is remembered of a block and its tunables for a register that is begun.

        Of another block all is forgotten, and so is what the last register did not ask for.
        """
        if self._of != (block, tunables):
            self._of, self._remembered = (block, tunables), Remembered()
        self._remembered.turn()
        return self._remembered
