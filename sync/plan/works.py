"""Work done on the ground, cell by cell.

Rule 1: work within an outline is done in the cells of which it covers a tenth or more.
Rule 2: a machine's track is narrow, so a cell is driven over where any of it is.
Rule 3: its ground is what lies under the outline, or the whole of each cell named: what is closed
today was not when the work was done.
"""

import dataclasses
import math

from sync.geometry.worked import shares_under
from sync.intake.seen import WorkSeen
from sync.register.build import Register

#: Less of a cell under an outline is a ragged edge; own choice.
_LEAST_SHARE = 0.1
#: A metre of a track three metres wide in a cell of 100 m; less is a neighbour's edge.
_LEAST_DRIVEN = 0.0003


@dataclasses.dataclass(frozen=True)
class Work:
    """A record of work, the cells it was done in by column and row, and its ground. [ha]."""

    seen: WorkSeen
    cells: tuple[str, ...]
    ha: float


def works_of(register: Register) -> tuple[Work, ...]:
    """Give all work until the day asked about, oldest first.

    Parameters
    ----------
    register : Register
        Of that day.

    Returns
    -------
    tuple of Work
        Cells that are none of the block's are left out.
    """
    ground = register.crop.ground
    found = []
    for one in register.events.works:
        if one.day > register.on:
            continue
        under = {} if one.outline is None else shares_under(ground, one.outline)
        least = _LEAST_DRIVEN if one.what == "driven" else _LEAST_SHARE
        cells = tuple(cell for cell in ground.cells
                      if cell in one.cells or under.get(cell, 0.0) >= least)
        shares = {**under, **dict.fromkeys(set(one.cells) & set(ground.cells), 1.0)}
        m2 = math.fsum(share * ground.cells[cell].area_m2 for cell, share in shares.items())
        found.append(Work(one, cells, m2 / 1e4))
    return tuple(sorted(found, key=lambda work: (work.seen.day, work.seen.name)))
