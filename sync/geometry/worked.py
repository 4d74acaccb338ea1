"""How much of each cell lies under an outline that somebody walked."""

from collections.abc import Mapping
from typing import Any

import shapely

from sync.errors import GeometryError
from sync.geometry.ground import Ground
from sync.geometry.shapes import shape_of


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
    try:
        shape = shape_of(ground.projection, outline, "work")
    except GeometryError:
        return {}
    found = {}
    for name, cell in ground.cells.items():
        whole = float(shapely.area(cell.shape))
        part = float(shapely.area(shapely.intersection(cell.shape, shape)))
        if part > 0.0 and whole > 0.0:
            found[name] = part / whole
    return found
