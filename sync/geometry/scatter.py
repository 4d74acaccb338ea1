"""Places by chance within a shape.

Rule 1: every place of the ground has the same chance; nothing is pulled to an edge or a middle.
Rule 2: chance comes in as an argument; the same stream gives the same places.
"""

from collections.abc import Callable

import shapely

from sync.errors import GeometryError
from sync.geometry.shapes import NOTHING, Shape, bounds_of, polygonal

#: So often a place may miss a shape within its bounds before the shape counts as too thin.
_MOST_MISSES = 200_000
_HALVINGS = 50


def inside_of(shape: Shape, border_m: float, within: Shape | None = None) -> Shape:
    """Give what of a shape lies at least so far inside its border.

    Parameters
    ----------
    shape : Shape
        [m]
    border_m : float
        Kept clear along every border, holes too. [m]
    within : Shape, optional
        Only what lies in it as well.

    Returns
    -------
    Shape
        Empty where nothing is left.
    """
    inner = polygonal(shapely.buffer(shape, -border_m, join_style="mitre"))
    if within is not None and not inner.is_empty and not shapely.covers(within, inner):
        inner = polygonal(shapely.intersection(inner, within))
    return inner


def equal_parts(shape: Shape, count: int) -> list[Shape]:
    """Cut a shape into compact parts of one area.

    Parameters
    ----------
    shape : Shape
        Not empty. [m]
    count : int
        1 or more.

    Returns
    -------
    list of Shape
        Cut across the longer side, half and half as far as the number goes. A place by chance in
        each is a stratified sample in which all ground has one chance: Brus 2022, *Spatial
        Sampling with R*, chapter 4; this way of cutting is our own.
    """
    if count == 1:
        return [shape]
    first = count // 2
    west, south, east, north = bounds_of(shape)
    low, high = (west, east) if east - west >= north - south else (south, north)
    upright = east - west >= north - south
    wanted = shapely.area(shape) * first / count
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if shapely.area(_side(shape, middle, upright, lower=True)) < wanted:
            low = middle
        else:
            high = middle
    return [
        *equal_parts(polygonal(_side(shape, high, upright, lower=True)), first),
        *equal_parts(polygonal(_side(shape, high, upright, lower=False)), count - first),
    ]


def _side(shape: Shape, at: float, upright: bool, *, lower: bool) -> Shape:
    west, south, east, north = bounds_of(shape)
    if upright:
        box = (west - 1, south - 1, at, north + 1) if lower else (at, south - 1, east + 1,
                                                                   north + 1)
    else:
        box = (west - 1, south - 1, east + 1, at) if lower else (west - 1, at, east + 1,
                                                                  north + 1)
    return shapely.intersection(shape, shapely.box(*box))


def place_by_chance(shape: Shape, uniform: Callable[[], float]) -> tuple[float, float]:
    """Draw a place of a shape.

    Parameters
    ----------
    shape : Shape
        [m]
    uniform : callable
        Gives a number of [0, 1) by chance.

    Returns
    -------
    tuple of float
        Easting and northing. [m]

    Raises
    ------
    GeometryError
        If the shape is empty, or too thin to be hit.
    """
    if shape.is_empty:
        raise GeometryError("no place can be drawn: the shape is empty")
    shapely.prepare(shape)
    west, south, east, north = bounds_of(shape)
    for _ in range(_MOST_MISSES):
        e, n = west + uniform() * (east - west), south + uniform() * (north - south)
        if shapely.intersects_xy(shape, e, n):
            return e, n
    raise GeometryError(f"no place can be drawn within {bounds_of(shape)}: the shape is too thin")


def reached_from_outside(ground: Shape, closed: Shape) -> Shape:
    """Give what of some ground can be walked to without crossing closed ground.

    Parameters
    ----------
    ground, closed : Shape
        Open and closed ground. [m]

    Returns
    -------
    Shape
        Ground, less what closed ground shuts in on all sides.
    """
    if ground.is_empty or closed.is_empty:
        return ground
    west, south, east, north = bounds_of(ground)
    cw, cs, ce, cn = bounds_of(closed)
    box = shapely.box(min(west, cw) - 10, min(south, cs) - 10, max(east, ce) + 10,
                      max(north, cn) + 10)
    corner = shapely.Point(min(west, cw) - 9, min(south, cs) - 9)
    free = [part for part in shapely.get_parts(shapely.difference(box, closed))
            if shapely.intersects(part, corner)]
    if not free:
        return NOTHING
    return polygonal(shapely.intersection(ground, free[0]))
