"""Cutting the squares of a grid to the ground: which are met, what stays open, what covers most.

Rule 1: arrays of shapes in, arrays of the same length out; all in the block's metres.
Rule 2: ground drawn twice counts once.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

import numpy as np
import shapely

from sync.block import Feature, Grid, holds_on
from sync.errors import GeometryError
from sync.geometry.crs import Floats, Projection, refuse_elsewhere
from sync.geometry.grid import cell_name, cell_square
from sync.geometry.shapes import (
    NOTHING,
    Shape,
    Shapes,
    all_polygonal,
    areas_m2,
    bounds_of,
    shape_of,
    union_of,
)

#: Areas closer than this are equal, and a closing that takes no more takes nothing. [m²]
TIE_M2 = 0.01
#: Degrees of six decimals, as many programs write, are a tenth of a metre.
ROUNDING_M = 0.1


def shapes_by(
    features: Iterable[Feature], projection: Projection, day: date, key: str, what: str
) -> list[tuple[str | None, Shape]]:
    """Join the features in force on a day by one property.

    Parameters
    ----------
    features : iterable of Feature
        Of one map, in degrees.
    projection : Projection
        The block's.
    day : date
        Local day.
    key : str
        The property.
    what : str
        The map, named in a refusal.

    Returns
    -------
    list of (str or None, Shape)
        The property's values and the ground of each; None is of features without it. [m]
    """
    found: dict[str | None, list[Shape]] = {}
    for number, feature in enumerate(features, start=1):
        if holds_on(day, feature.since, feature.until):
            said = feature.properties.get(key)
            shape = shape_of(projection, feature.geometry, f"{what} feature {number}")
            found.setdefault(None if said is None else str(said), []).append(shape)
    return [(name, union_of(shapes)) for name, shapes in found.items()]


def squares_of(grid: Grid, outline: Shape, projection: Projection) -> tuple[Any, Shapes]:
    """Give the squares of the grid that an outline meets.

    Parameters
    ----------
    grid : Grid
        The block's.
    outline : Shape
        [m]
    projection : Projection
        The block's.

    Returns
    -------
    names : array of str, shape (n,)
        By column and row.
    squares : array of Shape, shape (n,)
        [m]

    Raises
    ------
    GeometryError
        If the outline leaves the grid, or the coordinate system is meant for another place.
    """
    if outline.is_empty:
        return np.array([], dtype=str), np.array([], dtype=object)
    west, south, east, north = bounds_of(outline)
    refuse_elsewhere(projection, *projection.to_deg((west + east) / 2.0, (south + north) / 2.0))
    before = max(grid.origin_e - west, grid.origin_n - south)
    if before > ROUNDING_M:
        raise GeometryError(f"outline.geojson: reaches {before:.0f} m before the grid's origin; "
                            "ground beyond the margin is another block")
    size = grid.cell_m
    cols, rows = (
        range(max(0, int(low // size)), int(high // size) + 1)
        for low, high in ((west - grid.origin_e, east - grid.origin_e),
                          (south - grid.origin_n, north - grid.origin_n)))
    names = np.array([cell_name(col, row) for col in cols for row in rows])
    sides = np.array([cell_square(grid, str(name)) for name in names])
    boxes: Shapes = shapely.box(*sides.T)
    shapely.prepare(outline)
    met = shapely.intersects(outline, boxes)
    return names[met], boxes[met]


def opened_of(
    projection: Projection, shapes: Shapes, areas: Floats, closed: Shape, sliver_m2: float
) -> tuple[Shapes, Floats]:
    """Take the closed ground off each shape.

    Parameters
    ----------
    projection : Projection
        The block's.
    shapes : array of Shape, shape (n,)
        [m]
    areas : array, shape (n,)
        Their geodesic areas. [m²]
    closed : Shape
        All closed ground. [m]
    sliver_m2 : float
        Less open ground than this is none. [m²]

    Returns
    -------
    opened : array of Shape, shape (n,)
        What is open of each; empty where nothing is. [m]
    open_m2 : array, shape (n,)
        [m²]
    """
    shapely.prepare(closed)
    opened, open_m2 = shapes.copy(), areas.copy()
    met = shapely.area(shapely.intersection(closed, shapes)) > TIE_M2
    opened[met] = all_polygonal(shapely.difference(shapes[met], closed))
    open_m2[met] = areas_m2(projection, opened[met])
    gone = open_m2 < sliver_m2
    opened[gone], open_m2[gone] = NOTHING, 0.0
    return opened, open_m2


def most_of(
    shapes: Shapes, named: Sequence[tuple[str | None, Shape]], otherwise: str | None
) -> list[str | None]:
    """Give for each shape the name that covers most of it.

    Parameters
    ----------
    shapes : array of Shape, shape (n,)
        [m]
    named : sequence of (str or None, Shape)
        Names and their ground; None stands for `otherwise`. [m]
    otherwise : str or None
        The name of ground that nothing covers.

    Returns
    -------
    list of (str or None), length n
        Of equals (to 0.01 m²) the first by name, None last.
    """
    merged: dict[str | None, Floats] = {}
    for name, ground in named:
        shapely.prepare(ground)
        shared = np.where(shapely.intersects(ground, shapes),
                          shapely.area(shapely.intersection(shapes, ground)), 0.0)
        key = otherwise if name is None else name
        merged[key] = merged.get(key, 0.0) + shared
    bare = shapely.area(shapes) - shapely.area(
        shapely.intersection(shapes, union_of([ground for _, ground in named])))
    merged[otherwise] = merged.get(otherwise, np.zeros(len(shapes))) + bare
    names = sorted(merged, key=lambda name: (name is None, name or ""))
    table = np.array([merged[name] for name in names])
    first = np.argmax(table >= table.max(axis=0) - TIE_M2, axis=0) if len(shapes) else []
    return [names[i] for i in first]
