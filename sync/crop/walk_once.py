"""A cell's walk, given again where all that it is made of is the very same."""

from datetime import date

from sync.crop.base import Shared
from sync.crop.cell_walk import walk_cell
from sync.crop.takings import CellFacts
from sync.crop.walk import Growth
from sync.crop.walked import Walked
from sync.settings import Tunables
from sync.survey.density import of_class


def walk_once(
    shared: Shared, cell: str, facts: CellFacts, growth: Growth, tunables: Tunables, *,
    until: date,
) -> Walked | None:
    """Walk one cell to a day, as `walk_cell` does.

    Parameters
    ----------
    shared : Shared
        What all cells of the block share, on that day or later.
    cell : str
        Its name.
    facts, growth, tunables, until
        As for `walk_cell`.
    """
    name = shared.ground.cells[cell].ground_class
    of, density, readers = (
        shared.classes[name], of_class(shared.densities, name), shared.readers[name])
    return shared.kept.walks.give(
        (cell, until), (facts, of, density, growth, readers),
        lambda: walk_cell(facts, of, density, growth, tunables, readers=readers, until=until))
