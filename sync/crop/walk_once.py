"""A cell's walk, given again where all that it is made of is the very same."""

from datetime import date

from sync.crop.cell_walk import walk_cell
from sync.crop.classes import ClassCrop
from sync.crop.reading_shares import Readers
from sync.crop.takings import CellFacts
from sync.crop.walk import Growth
from sync.crop.walked import Walked
from sync.picks.once import Once
from sync.settings import Tunables
from sync.survey.density import ClassDensity


def walk_once(
    walks: Once[Walked | None],
    cell: str,
    facts: CellFacts,
    of_class: ClassCrop,
    density: ClassDensity,
    growth: Growth,
    tunables: Tunables,
    *,
    readers: Readers,
    until: date,
) -> Walked | None:
    """Walk one cell to a day, as `walk_cell` does.

    Parameters
    ----------
    walks : Once
        Of the same tunables.
    cell : str
        Its name.
    facts, of_class, density, growth, tunables, readers, until
        As for `walk_cell`.
    """
    return walks.give(
        (cell, until), (facts, of_class, density, growth, readers),
        lambda: walk_cell(facts, of_class, density, growth, tunables, readers=readers,
                          until=until))
