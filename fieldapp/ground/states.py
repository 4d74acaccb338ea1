"""What state the ground is in on a day, however old the sheet.

Rule 1: a state is computed from `rest_ends`, `then` and the closures; what the shed did not say is
never guessed to be ready.
Rule 2: picking is allowed on `rest_ends` itself; a closure's last day is still closed.
"""

import math
from collections.abc import Iterator
from datetime import date

from fieldapp.ground.shapes import Point, box_distance_m, holds, nearest_on
from fieldapp.ground.sheet import Cell, Closure, Sheet, State

#: Points a side at which a cell is asked whether it is closed.
_ASKED = 12


def cell_at(sheet: Sheet, x: float, y: float) -> Cell | None:
    """Find the cell under a point.

    Parameters
    ----------
    sheet : Sheet
        The ground.
    x, y : float
        The point on the sheet's plane. [m]

    Returns
    -------
    Cell or None
        A sliver of the block that is in no cell counts to the nearest one; None outside.
    """
    for cell in sheet.cells:
        if box_distance_m(cell.box, x, y) == 0.0 and holds(cell.shape, x, y):
            return cell
    return nearest_cell(sheet, x, y)[0] if holds(sheet.outline, x, y) else None


def closure_at(sheet: Sheet, x: float, y: float, day: date) -> Closure | None:
    """Find a closure that covers a point on a day; its last day is its own."""
    return next(covering(sheet, x, y, day), None)


def state_at(sheet: Sheet, x: float, y: float, day: date) -> State | None:
    """Give the state of the ground under a point on a day.

    Parameters
    ----------
    sheet : Sheet
        However old.
    x, y : float
        The point. [m]
    day : date
        Local day.

    Returns
    -------
    State or None
        That of its cell, but `closed` where a closure covers the point; None outside.
    """
    cell = cell_at(sheet, x, y)
    if cell is None:
        return None
    return "closed" if closure_at(sheet, x, y, day) is not None else bare_state(cell, day)


def state_on(sheet: Sheet, cell: Cell, day: date) -> State:
    """Give the state of a whole cell on a day.

    Parameters
    ----------
    sheet : Sheet
        However old.
    cell : Cell
        One of its cells.
    day : date
        Local day.

    Returns
    -------
    State
        `closed` if no open ground is left at the points of a fine grid over the cell; else that
        of its open ground: picking is allowed on `rest_ends` itself.
    """
    bare = bare_state(cell, day)
    near = [one for one in sheet.closures if in_force(one, day) and _boxes_meet(one, cell)]
    if bare == "closed" or not near:
        return bare
    points = list(_points_in(cell))
    covered = points and all(any(holds(one.shape, x, y) for one in near) for x, y in points)
    return "closed" if covered else bare


def nearest_cell(sheet: Sheet, x: float, y: float) -> tuple[Cell | None, float, Point]:
    """Find the cell nearest to a point outside all of them.

    Parameters
    ----------
    sheet : Sheet
        The ground.
    x, y : float
        The point. [m]

    Returns
    -------
    cell : Cell or None
        None on a sheet without cells.
    distance_m : float
        How far its border is; infinite without a cell. [m]
    nearest : Point
        Where that is. [m]
    """
    best: tuple[Cell | None, float, Point] = (None, math.inf, (x, y))
    for cell in sheet.cells:
        if box_distance_m(cell.box, x, y) < best[1]:
            distance, at = nearest_on(cell.shape, x, y)
            if distance < best[1]:
                best = (cell, distance, at)
    return best


def bare_state(cell: Cell, day: date) -> State:
    """Give a cell's state on a day with all closures lifted.

    Parameters
    ----------
    cell : Cell
        As the sheet tells it.
    day : date
        Local day.

    Returns
    -------
    State
        A closed cell that names no `then` stays closed, a rested one that names none is
        `unsurveyed`: what lies beneath is the shed's to say.
    """
    rests = cell.rest_ends is not None and day < cell.rest_ends
    if cell.state == "resting":
        return "resting" if rests or cell.rest_ends is None else cell.then or "unsurveyed"
    if cell.state == "closed" and cell.then is not None:
        return "resting" if rests else cell.then
    return cell.state


def covering(sheet: Sheet, x: float, y: float, day: date) -> Iterator[Closure]:
    """Go through the closures in force on a day that lie over a point [m]."""
    for one in sheet.closures:
        if (in_force(one, day) and box_distance_m(one.box, x, y) == 0.0
                and holds(one.shape, x, y)):
            yield one


def in_force(closure: Closure, day: date) -> bool:
    """Say whether a closure closes on a day; both its ends are its own days, None is open."""
    begun = closure.since is None or closure.since <= day
    return begun and (closure.until is None or day <= closure.until)


def _boxes_meet(closure: Closure, cell: Cell) -> bool:
    a, b = closure.box, cell.box
    return a[0] <= b[2] and b[0] <= a[2] and a[1] <= b[3] and b[1] <= a[3]


def _points_in(cell: Cell) -> Iterator[Point]:
    west, south, east, north = cell.box
    for row in range(_ASKED):
        for column in range(_ASKED):
            x = west + (column + 0.5) / _ASKED * (east - west)
            y = south + (row + 0.5) / _ASKED * (north - south)
            if holds(cell.shape, x, y):
                yield x, y
