"""How much ground, and of each cell, lies under an outline that somebody walked."""

from collections.abc import Mapping
from typing import Any

import shapely

from sync.errors import GeometryError
from sync.geometry.ground import Ground
from sync.geometry.shapes import NOTHING, Shape, area_m2, polygonal, shape_of


def shares_under(ground: Ground, outline: Mapping[str, Any]) -> dict[str, float]:
    """Give the share of each cell's ground under an outline.

    Parameters
    ----------
    ground : Ground
        The block's, of any day.
    outline : mapping
        GeoJSON polygon, in degrees.

    Returns
    -------
    dict of str to float
        Of the cells it reaches. [-] Empty for an outline that cannot be read: a broken one in a
        record must stop nothing.
    """
    shape = _read(ground, outline)
    found = {}
    for name, cell in ground.cells.items():
        whole = float(shapely.area(cell.shape))
        part = float(shapely.area(shapely.intersection(cell.shape, shape)))
        if part > 0.0 and whole > 0.0:
            found[name] = part / whole
    return found


def area_under_m2(ground: Ground, outline: Mapping[str, Any]) -> float:
    """Give the block's ground under an outline, geodesic; 0 for one that cannot be read. [m²]."""
    under = polygonal(shapely.intersection(ground.outline, _read(ground, outline)))
    return area_m2(ground.projection, under) if not shapely.is_empty(under) else 0.0


def _read(ground: Ground, outline: Mapping[str, Any]) -> Shape:
    try:
        return shape_of(ground.projection, outline, "work")
    except GeometryError:
        return NOTHING
