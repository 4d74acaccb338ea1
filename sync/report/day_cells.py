"""The cells that a day was spent in: what was picked there, what is left, what ran over.

Rule 1: what is left is as a ground sheet says it: whole bags, rounded down.
Rule 2: less left than the day took is told as nearly used up; no other threshold is set.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Mapping, Sequence

from sync.flags.flag import Flag
from sync.register.build import Register
from sync.report.day_bags import DayBags
from sync.report.sheet_ground import left_bags

#: Less than so many expected bags show as none.
LEAST_SHOWN_BAGS = 0.05


@dataclasses.dataclass(frozen=True)
class CellOfDay:
    """A cell on the evening of a day.

    Attributes
    ----------
    bags : float
        Expected of the day.
    taken_kg, may_take_kg : float or None
        Of the open pick, shed-dry; None where none is open, or no figure can be given. [kg]
    left_bags : int or None
        Whole bags; None where there is no figure.
    over : Flag or None
        The over-pick flag on the pick of this day.
    finished : tuple of str
        Records of the day that name it finished.
    flags : tuple of str
        Names of the other flags that rest on bags of the day and are about it.
    """

    cell: str
    state: str
    bags: float
    taken_kg: float | None
    may_take_kg: float | None
    left_bags: int | None
    over: Flag | None
    finished: tuple[str, ...]
    flags: tuple[str, ...]

    @property
    def nearly_used_up(self) -> bool:
        """Whether less is left than the day took."""
        return self.left_bags is not None and self.state == "ready" and self.left_bags < self.bags


def cells_of_day(
    register: Register, flags: Sequence[Flag], bags: DayBags
) -> tuple[CellOfDay, ...]:
    """Give the cells with bags of the day, and those named finished on it.

    Parameters
    ----------
    register : Register
        Of the day.
    flags : sequence of Flag
        The register's.
    bags : DayBags
        Of the day.

    Returns
    -------
    tuple of CellOfDay
        By column and row; a name that is no cell's is left out.
    """
    picked = {one.name: one.bags for one in bags.cells if one.bags >= LEAST_SHOWN_BAGS}
    finished = _finished(register)
    left = left_bags(register)
    names = set(bags.records)
    return tuple(
        _cell(register, cell, picked.get(cell, 0.0), left, finished.get(cell, ()),
              [flag for flag in flags if flag.cell == cell and not names.isdisjoint(flag.records)])
        for cell in register.cells if cell in picked or cell in finished
    )


def _cell(
    register: Register, cell: str, bags: float, left: Mapping[str, int | None],
    finished: tuple[str, ...], flags: Sequence[Flag],
) -> CellOfDay:
    today = register.cells[cell]
    over = [flag for flag in flags if flag.rule == "over_pick"]
    open_pick = today.picks.open_pick is not None
    return CellOfDay(
        cell, today.state, bags,
        today.taken.kg if today.taken is not None and open_pick else None,
        today.may_take_kg if open_pick else None, left[cell],
        over[0] if over else None, finished,
        tuple(flag.name for flag in flags if flag.rule != "over_pick"))


def _finished(register: Register) -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = defaultdict(list)
    for one in register.merged.by_kind["outing"]:
        if one.day == register.on:
            for cell in one.record.get("finished") or ():
                found[cell].append(one.name)
    return {cell: tuple(names) for cell, names in found.items()}
