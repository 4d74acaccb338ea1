"""Ground that was driven over: the records of work `driven`, their cells and hectares.

Rule 1: an outline tells the ground itself; named cells tell no more than that it lies in them.
"""

import dataclasses
from datetime import date

from sync.geometry.worked import area_under_m2
from sync.plan.works import works_of
from sync.register.build import Register

_M2_A_HA = 1e4


@dataclasses.dataclass(frozen=True)
class Driven:
    """Ground driven over on one day.

    Attributes
    ----------
    name : str
        The record.
    area_ha : float
        Under its outline, else the whole of its cells. [ha]
    whole_cells : bool
        Whether only cells were named, so that `area_ha` is the most it can be.
    """

    name: str
    day: date
    cells: tuple[str, ...]
    area_ha: float
    whole_cells: bool


def driven_of(register: Register) -> tuple[Driven, ...]:
    """Give all that was driven over until the day asked about, oldest first.

    Parameters
    ----------
    register : Register
        Of that day.

    Returns
    -------
    tuple of Driven
        Records whose ground is none of the block's are left out.
    """
    ground = register.crop.ground
    found = []
    for work in works_of(register):
        if work.seen.what != "driven" or not work.cells:
            continue
        outline = work.seen.outline
        area_m2 = (sum(ground.cells[cell].area_m2 for cell in work.cells)
                   if outline is None else area_under_m2(ground, outline))
        found.append(Driven(work.seen.name, work.seen.day, work.cells, area_m2 / _M2_A_HA,
                            outline is None))
    return tuple(found)


def days_driven(driven: tuple[Driven, ...], cell: str) -> tuple[date, ...]:
    """Give the days on which a cell was driven over."""
    return tuple(sorted({one.day for one in driven if cell in one.cells}))
