"""Shapes as plain numbers, for maps, sheets and files.

Rule 1: coordinates come out as nested lists, polygon by polygon, outer ring first, rings closed.
Rule 2: rings are in one fixed order, so that the same ground gives the same bytes.
"""

from typing import Any

import numpy as np
import shapely

from sync.geometry.crs import Floats, Projection
from sync.geometry.shapes import Shape

Rings = list[list[list[list[float]]]]


def rings_m(shape: Shape, *, origin: tuple[float, float] = (0.0, 0.0), decimals: int = 2) -> Rings:
    """Give a shape's corners in metres.

    Parameters
    ----------
    shape : Shape
        [m]
    origin : tuple of float
        Easting and northing that become 0, 0: the grid's origin on a ground sheet. [m]
    decimals : int
        Kept of a metre.

    Returns
    -------
    list
        Polygons of rings of [x, y]; empty of an empty shape. [m]
    """
    return _nested(shape, np.array(origin), decimals)


def geojson_of(projection: Projection, shape: Shape, *, decimals: int = 7) -> dict[str, Any]:
    """Give a shape as a GeoJSON MultiPolygon.

    Parameters
    ----------
    projection : Projection
        The block's.
    shape : Shape
        [m]
    decimals : int
        Kept of a degree; 7 are a centimetre.

    Returns
    -------
    dict
        Geometry with longitude and latitude, WGS 84; outer rings run counter-clockwise. [deg]

    References
    ----------
    .. [1] RFC 7946, *The GeoJSON Format*, 2016, sections 3.1.6 and 3.1.7.
    """
    def to_lon_lat(e_n: Floats) -> Floats:
        lat, lon = projection.to_deg(e_n[:, 0], e_n[:, 1])
        return np.column_stack((lon, lat))

    turned = shapely.transform(shape, to_lon_lat)
    return {"type": "MultiPolygon", "coordinates": _nested(turned, np.zeros(2), decimals)}


def _nested(shape: Shape, origin: Floats, decimals: int) -> Rings:
    # normalize runs outer rings clockwise and holes the other way; reading backwards turns both
    return [
        [
            np.round(shapely.get_coordinates(ring)[::-1] - origin, decimals).tolist()
            for ring in shapely.get_rings(part)
        ]
        for part in shapely.get_parts(shapely.normalize(shape))
    ]
