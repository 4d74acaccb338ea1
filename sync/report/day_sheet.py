"""What tomorrow's ground sheet will say that this morning's did not.

Rule 1: this morning's is what a sheet could say then, by what had come in; a phone may carry an
older one.
Rule 2: states are compared whole; bags left only where the day picked, for a lot weighed or a
plot read moves the others by a little.
"""

import dataclasses
from collections.abc import Collection, Mapping
from datetime import date

from sync.register.build import Register
from sync.report.sheet_ground import left_bags


@dataclasses.dataclass(frozen=True)
class CellSaid:
    """What a sheet says of a cell: its state, when its rest ends, and whole bags left."""

    state: str
    rest_ends: date | None
    left_bags: int | None


@dataclasses.dataclass(frozen=True)
class CellChange:
    """A cell of which two sheets say different things; None of a cell not on the sheet."""

    cell: str
    before: CellSaid | None
    after: CellSaid | None


@dataclasses.dataclass(frozen=True)
class PermitChange:
    """What a permit leaves, in its unit, this morning and tomorrow."""

    permit: str
    unit: str | None
    before: float | None
    after: float | None


@dataclasses.dataclass(frozen=True)
class SheetChanges:
    """What changes from this morning's sheet to tomorrow's.

    Attributes
    ----------
    states : tuple of CellChange
        Another state, or another end of rest.
    left : tuple of CellChange
        The same state and another number of bags left, of cells that the day picked in.
    others : int
        Cells of the same state that the day did not pick in and whose bags left move too.
    others_most : int
        By how many bags at most.
    """

    states: tuple[CellChange, ...]
    left: tuple[CellChange, ...]
    others: int
    others_most: int
    permits: tuple[PermitChange, ...]


def said_of_cells(register: Register) -> dict[str, CellSaid]:
    """Give what a sheet of the register's day says of each cell."""
    left = left_bags(register)
    found = {}
    for cell, today in register.cells.items():
        over = today.picks.last_over
        rest_ends = over.rest_ends if over is not None and today.state == "resting" else None
        found[cell] = CellSaid(today.state, rest_ends, left[cell])
    return found


def sheet_changes(
    morning: Register, tomorrow: Register, picked: Collection[str]
) -> SheetChanges:
    """Compare two sheets.

    Parameters
    ----------
    morning : Register
        Of the day, by what had come in as it began.
    tomorrow : Register
        Of the next day, by what is known now.
    picked : collection of str
        Cells that the day picked in.

    Returns
    -------
    SheetChanges
        Cells in the order of tomorrow's sheet.
    """
    before, after = said_of_cells(morning), said_of_cells(tomorrow)
    states, left, others = [], [], []
    for cell in dict.fromkeys((*after, *before)):
        change = CellChange(cell, before.get(cell), after.get(cell))
        if change.before == change.after:
            continue
        if _state(change.before) != _state(change.after):
            states.append(change)
        elif cell in picked:
            left.append(change)
        else:
            others.append(_moved(change))
    return SheetChanges(
        tuple(states), tuple(left), len(others), max(others, default=0),
        _permits(morning, tomorrow))


def _state(said: CellSaid | None) -> tuple[str, date | None] | None:
    return None if said is None else (said.state, said.rest_ends)


def _moved(change: CellChange) -> int:
    before, after = (0 if said is None else said.left_bags or 0
                     for said in (change.before, change.after))
    return abs(after - before)


def _permits(morning: Register, tomorrow: Register) -> tuple[PermitChange, ...]:
    before: Mapping[str, float | None] = {one.permit.name: one.left for one in morning.permits}
    return tuple(
        PermitChange(one.permit.name, one.permit.cap_unit, before.get(one.permit.name), one.left)
        for one in tomorrow.permits if one.left != before.get(one.permit.name))
