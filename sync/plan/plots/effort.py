"""How many cells and quadrats an effort is shared out to, and each cell's chance.

Rule 1: quadrats a cell by what a walk and a quadrat cost, cells a class by what is unknown in it.
Rule 2: however short the effort, some of it goes to ground that does not come first.
"""

import dataclasses
import math
import statistics
from collections.abc import Callable, Mapping, Sequence

from sync.plan.plots.frame import Candidate, Frame
from sync.settings import Tunables
from sync.survey.design.allocation import neyman_whole
from sync.survey.draw.chances import chances_by_size
from sync.survey.draw.pivotal import spread_sample
from sync.survey.effort import best_quadrats

Uniform = Callable[[], float]
#: The shortest round through many places by chance is this times the root of places × area:
#: Beardwood, Halton & Hammersley 1959, *Math. Proc. Cambridge Phil. Soc.* 55:299-327; the value is
#: from memory.
_ROUND = 0.7124


@dataclasses.dataclass(frozen=True)
class Group:
    """Cells drawn together: a class's cells of one turn.

    Attributes
    ----------
    name : str
        Of the class, or "all" where there are fewer cells to draw than classes or turns.
    count : int
        Cells to draw of them.
    chances : tuple of float
        Of each.
    """

    name: str
    cells: tuple[Candidate, ...]
    count: int
    chances: tuple[float, ...]


@dataclasses.dataclass(frozen=True)
class Effort:
    """What a number of cells is shared out to.

    Attributes
    ----------
    groups : tuple of Group
        None of them empty.
    quadrats : mapping of str to int
        In a cell of each class.
    walk_min : float
        Expected walk to the next cell. [min]
    """

    groups: tuple[Group, ...]
    quadrats: Mapping[str, int]
    walk_min: float

    @property
    def chances(self) -> dict[str, float]:
        """The chance of each cell by name."""
        return {cell.cell: chance for group in self.groups
                for cell, chance in zip(group.cells, group.chances, strict=True)}


def effort_of(frame: Frame, count: int, tunables: Tunables, *, least: int = 0) -> Effort:
    """Share a number of cells out.

    Parameters
    ----------
    frame : Frame
        The cells that may be drawn.
    count : int
        Cells to draw, 1 to all.
    tunables : Tunables
        Minutes, speed, the others' part, fewest and most quadrats.
    least : int
        Quadrats a cell at least, where there is time for more than pay.

    Returns
    -------
    Effort
        A turn is served before the next, but for the part that is left to those after it; where
        that part is less than one cell all are drawn together, an earlier turn's chance being the
        larger. Within a turn cells are shared out to classes by Neyman, a cell's SD being what is
        unknown of it, and within a class its chance is in proportion to that.
    """
    groups = _turns(frame.cells, count, tunables.others_pct / 100.0)
    walk_min = _walk_min(frame, count, tunables)
    return Effort(
        tuple(groups),
        {name: _quadrats(frame, name, walk_min, tunables, least) for name in frame.spreads},
        walk_min,
    )


def draw_cells(effort: Effort, uniform: Uniform) -> list[Candidate]:
    """Draw the cells of an effort, spread over the ground within each group."""
    found: list[Candidate] = []
    for group in effort.groups:
        places = [cell.at for cell in group.cells]
        found += [group.cells[i] for i in spread_sample(group.chances, places, uniform)]
    return found


def _turns(cells: Sequence[Candidate], count: int, kept: float) -> list[Group]:
    """Serve the first turn there is, keep some of the count for the others, and go on."""
    if not cells or count == 0:
        return []
    turn = min(cell.turn for cell in cells)
    mine = [cell for cell in cells if cell.turn == turn]
    others = [cell for cell in cells if cell.turn > turn]
    if others and count * kept < 1.0 and kept > 0.0:
        # A cell of an earlier turn is worth as many of a later one as the parts say.
        ahead = (1.0 - kept) / kept
        sizes = [cell.unknown_kg * ahead ** -cell.turn for cell in cells]
        return [Group("all", tuple(cells), count, tuple(chances_by_size(sizes, count)))]
    now = min(len(mine), count - min(len(others), math.ceil(count * kept - 1e-9)))
    return [*_shared(mine, now), *_turns(others, count - now, kept)]


def _shared(cells: Sequence[Candidate], count: int) -> list[Group]:
    """Share a count out to classes, or draw it over all where it is less than they are."""
    by_class = {name: [c for c in cells if c.ground_class == name]
                for name in sorted({c.ground_class for c in cells})}
    if count < len(by_class):
        sizes = [cell.unknown_kg for cell in cells]
        return [Group("all", tuple(cells), count, tuple(chances_by_size(sizes, count)))]
    units = [float(len(each)) for each in by_class.values()]
    unknown = [statistics.fmean(c.unknown_kg for c in each) for each in by_class.values()]
    counts = neyman_whole(units, unknown, count, least=1)
    return [
        Group(name, tuple(each), n, tuple(chances_by_size([c.unknown_kg for c in each], n)))
        for (name, each), n in zip(by_class.items(), counts, strict=True)
    ]


def _walk_min(frame: Frame, count: int, tunables: Tunables) -> float:
    next_m = _ROUND * math.sqrt(frame.open_m2 / count)
    return 60.0 * next_m / (1000.0 * tunables.walk_km_h)


def _quadrats(
    frame: Frame, ground_class: str, walk_min: float, tunables: Tunables, least: int
) -> int:
    spread = frame.spreads[ground_class]
    best = best_quadrats(walk_min, tunables.quadrat_min, within_variance=spread.within,
                         between_variance=spread.between)
    return min(tunables.most_quadrats, max(tunables.least_quadrats, best, least))
