"""What was worked out of a block for other days, and for registers built before.

Rule 1: whatever is kept is given again only where all it was made of is the very same; no figure
changes by it, and all of it may be forgotten at any time.
Rule 2: one user at a time; two registers that are built at once keep apart.
Rule 3: what rests on a whole class is kept for one register only, for it is large.
"""

import dataclasses

from sync.block import Block
from sync.crop.class_days import ClassDays
from sync.crop.classes import JudgedPick, ReadingIndex
from sync.crop.learn import Learned, Regrown
from sync.crop.reading_shares import Readers
from sync.geometry.before import TrodBefore
from sync.picks.made import Bags
from sync.picks.once import Once
from sync.picks.presses import Numbered
from sync.picks.sources import WeighedLot
from sync.picks.takings import CellBags
from sync.settings import Tunables
from sync.survey.density import Densities
from sync.survey.observers import Observers
from sync.survey.readings import Reading


@dataclasses.dataclass(frozen=True)
class Remembered:
    """What serves other registers of the same block and tunables too.

    Attributes
    ----------
    trod : TrodBefore
        Where people were.
    grouped : Numbered
        The presses of each phone, in their position groups.
    cells, under : Once
        The bags of each cell, and those under each permit, with what was weighed of them.
    lots : Once of WeighedLot
        With what was tallied until a day.
    chosen, indexed : Once
        The readings of each cell, and their indices.
    """

    trod: TrodBefore = dataclasses.field(default_factory=TrodBefore)
    grouped: Numbered = dataclasses.field(default_factory=Numbered)
    cells: Once[CellBags] = dataclasses.field(default_factory=lambda: Once(most=2))
    under: Once[Bags] = dataclasses.field(default_factory=lambda: Once(most=2))
    lots: Once[WeighedLot] = dataclasses.field(default_factory=Once)
    chosen: Once[tuple[Reading, ...]] = dataclasses.field(default_factory=Once)
    indexed: Once[tuple[ReadingIndex, ...]] = dataclasses.field(default_factory=Once)
    observers: Once[Observers] = dataclasses.field(default_factory=Once)
    densities: Once[Densities] = dataclasses.field(default_factory=Once)


@dataclasses.dataclass(frozen=True)
class Days:
    """What serves the other days of one register.

    Attributes
    ----------
    classes : ClassDays
        What the classes were on the days before picks.
    """

    classes: ClassDays = dataclasses.field(default_factory=ClassDays)
    judged: Once[JudgedPick] = dataclasses.field(default_factory=Once)
    readers: Once[Readers] = dataclasses.field(default_factory=Once)
    regrown: Once[Regrown | None] = dataclasses.field(default_factory=Once)
    learned: Once[Learned] = dataclasses.field(default_factory=Once)


class Kept:
    """What a shed that builds register after register remembers from one to the next."""

    def __init__(self) -> None:
        self._of: tuple[Block, Tunables] | None = None
        self._remembered = Remembered()

    def of(self, block: Block, tunables: Tunables) -> Remembered:
        """Give what is remembered of a block and its tunables; of others it is forgotten."""
        if self._of != (block, tunables):
            self._of, self._remembered = (block, tunables), Remembered()
        return self._remembered
