"""Cells as they were on former days.

Rule 1: what the cells of such a day share is worked out once; what was told of a cell for a
register before is told again while nothing until that day is another.
"""

from datetime import date

from sync.crop.base import Base, base_of
from sync.crop.chain import CellCrop, cell_crop
from sync.crop.former import Former
from sync.crop.known import Known
from sync.geometry.ground import Ground


class Befores:
    """Cells as they were on former days.

    Parameters
    ----------
    known : Known
        All that is known.
    """

    def __init__(self, known: Known) -> None:
        self._known = known
        self._bases: dict[tuple[date, date, int], Base] = {}

    def cell(
        self, cell: str, ground: Ground, *, until: date, rules_of: date | None = None
    ) -> CellCrop | None:
        """Give one cell as `chain` of the same day would; None where the ground has it not.

        Parameters
        ----------
        cell : str
            Its name.
        ground, until, rules_of
            As for `chain`.
        """
        if cell not in ground.cells:
            return None
        rules = rules_of or until

        def work() -> CellCrop:
            return cell_crop(self._base(ground, until, rules), cell, self._known.tunables)

        if not ground.maps:  # nobody summed it up, so it is known by itself alone
            return work()
        befores: Former[CellCrop] = self._known.kept.befores
        return befores.give(self._known.dated, until, (until, rules, ground.maps, cell), work)

    def _base(self, ground: Ground, until: date, rules_of: date) -> Base:
        # The ground is held by the base of the day, so its number stays its own.
        key = until, rules_of, id(ground.cells)
        if key not in self._bases:
            self._bases[key] = base_of(self._known, ground, until=until, rules_of=rules_of)
        return self._bases[key]
