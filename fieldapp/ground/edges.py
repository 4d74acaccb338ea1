"""How far it is to ground of another state, and which way.

Rule 1: an edge is where the *state* changes, so that the line between two ready cells troubles
nobody; a closure's border and the block's outline are edges too.
Rule 2: where several things close the ground, a distance may be short of the truth, never beyond.
"""

import dataclasses
import math
from collections.abc import Iterator
from datetime import date

from fieldapp.ground.shapes import Point, bearing_deg, box_distance_m, nearest_on, wind_of
from fieldapp.ground.sheet import Cell, Sheet, State
from fieldapp.ground.states import (
    bare_state,
    cell_at,
    closure_at,
    covering,
    in_force,
    nearest_cell,
    state_at,
)

#: How far past an edge the ground beyond it is looked at. [m]
_PAST_M = 0.05
_ON_THE_EDGE_M = 1e-3
#: Distance [m], nearest point [m], cell and state beyond.
_Way = tuple[float, Point, str | None, State | None]


@dataclasses.dataclass(frozen=True)
class Edge:
    """The nearest place where the state changes.

    Attributes
    ----------
    edge_m : float
        How far it is. [m]
    cell : str or None
        The cell beyond it; None for the ground outside the block.
    state : State or None
        What lies beyond it; None outside.
    direction : str or None
        One of the eight winds; None for a point on the edge itself.
    """

    edge_m: float
    cell: str | None
    state: State | None
    direction: str | None


def edge(sheet: Sheet, x: float, y: float, day: date) -> Edge:
    """Find the nearest place where the state changes.

    Parameters
    ----------
    sheet : Sheet
        The ground.
    x, y : float
        The point asked from. [m]
    day : date
        Local day.

    Returns
    -------
    Edge
        From outside the block: the nearest cell and the way back. Where closures overlap, or
        closed ground adjoins a closure, the distance may be short of the truth, never beyond it.
    """
    here = cell_at(sheet, x, y)
    offers = _ways_back if here is None else _ways_out
    distance, at, cell, state = min(offers(sheet, here, (x, y), day), key=lambda way: way[0])
    wind = None if distance < _ON_THE_EDGE_M else wind_of(bearing_deg((x, y), at))
    return Edge(distance, cell, state, wind)


def _ways_back(sheet: Sheet, _: Cell | None, point: Point, day: date) -> Iterator[_Way]:
    """Offer the ways from outside to the block's cells."""
    cell, distance, at = nearest_cell(sheet, *point)
    if cell is None:
        yield (*nearest_on(sheet.outline, *point), None, None)
    else:
        yield distance, at, cell.name, _state_past(sheet, cell, point, at, day)


def _ways_out(sheet: Sheet, here: Cell | None, point: Point, day: date) -> Iterator[_Way]:
    """Offer every way from a cell to ground of another state."""
    yield (*nearest_on(sheet.outline, *point), None, None)
    bare = None if here is None else bare_state(here, day)
    over = list(covering(sheet, *point, day))
    if over and bare != "closed":
        # One leaves closed ground only past the last of the closures that lie over it.
        distance, at = max((nearest_on(one.shape, *point) for one in over), key=lambda way: way[0])
        cell = cell_at(sheet, *_past(point, at))
        yield (distance, at, cell.name if cell else None,
               state_at(sheet, *_past(point, at), day))
        return
    best = math.inf
    for cell in sheet.cells:
        if box_distance_m(cell.box, *point) < best and bare_state(cell, day) != bare:
            distance, at = nearest_on(cell.shape, *point)
            best = min(best, distance)
            yield distance, at, cell.name, _state_past(sheet, cell, point, at, day)
    for one in sheet.closures:
        if bare != "closed" and in_force(one, day):
            distance, at = nearest_on(one.shape, *point)
            cell = cell_at(sheet, *_past(point, at))
            yield distance, at, cell.name if cell else None, "closed"


def _past(point: Point, at: Point) -> Point:
    """Step just past an edge."""
    length = math.hypot(at[0] - point[0], at[1] - point[1])
    step = 0.0 if length == 0.0 else _PAST_M / length
    return at[0] + (at[0] - point[0]) * step, at[1] + (at[1] - point[1]) * step


def _state_past(sheet: Sheet, cell: Cell, point: Point, at: Point, day: date) -> State:
    """Give the state of a cell just past an edge."""
    closed = closure_at(sheet, *_past(point, at), day) is not None
    return "closed" if closed else bare_state(cell, day)
