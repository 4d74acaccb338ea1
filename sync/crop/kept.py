"""What was worked out of a block for other days, and for registers built before.

Rule 1: whatever is kept is given again only where all it was made of is the very same; no figure
changes by it, and all of it may be forgotten at any time.
Rule 2: one user at a time; two registers that are built at once keep apart.
"""

import dataclasses

from sync.block import Block
from sync.crop.class_days import ClassDays
from sync.crop.classes import JudgedPick, ReadingIndex
from sync.crop.learn import Learned, Regrown
from sync.crop.reading_shares import Readers
from sync.picks.kilos import KgPerBag
from sync.picks.once import Once
from sync.picks.sources import WeighedLot
from sync.settings import Tunables
from sync.survey.density import Densities
from sync.survey.observers import Observers
from sync.survey.readings import Reading


@dataclasses.dataclass(frozen=True)
class Kept:
    """Remembers what the chains of one block and its tunables are made of.

    Attributes
    ----------
    class_days : ClassDays
        What the classes were on the days before picks.
    """

    block: Block
    tunables: Tunables
    class_days: ClassDays = dataclasses.field(default_factory=ClassDays)
    lots: Once[WeighedLot] = dataclasses.field(default_factory=Once)
    kappa: Once[KgPerBag] = dataclasses.field(default_factory=Once)
    chosen: Once[tuple[Reading, ...]] = dataclasses.field(default_factory=Once)
    indexed: Once[tuple[ReadingIndex, ...]] = dataclasses.field(default_factory=Once)
    observers: Once[Observers] = dataclasses.field(default_factory=Once)
    densities: Once[Densities] = dataclasses.field(default_factory=Once)
    judged: Once[JudgedPick] = dataclasses.field(default_factory=Once)
    readers: Once[Readers] = dataclasses.field(default_factory=Once)
    regrown: Once[Regrown | None] = dataclasses.field(default_factory=Once)
    learned: Once[Learned] = dataclasses.field(default_factory=Once)
