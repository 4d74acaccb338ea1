"""Shapes of ground: GeoJSON in, areas and coordinates out.

Rule 1: a shape is a shapely polygon or multipolygon in the block's metres; others pass it on
unseen and ask here.
Rule 2: a broken ring is mended only if the mending keeps the area within 0.1 %.
Rule 3: areas are geodesic, on the ellipsoid of the block's own coordinate system.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import shape as read_shape

from sync.errors import GeometryError
from sync.geometry.crs import Floats, Projection

#: A polygon or multipolygon, in metres unless a name says degrees.
Shape = Any
Shapes = npt.NDArray[Any]
#: Mending that moves more area than this changes what the owner drew.
MENDED_SHARE = 0.001
_CORNER_DECIMALS = 4
_POLYGON, _MULTIPOLYGON = 3, 6
NOTHING = shapely.MultiPolygon()


def polygonal(shape: Shape) -> Shape:
    """Keep the polygons of a shape: borders that only touch leave lines and points behind."""
    if shapely.get_type_id(shape) in (_POLYGON, _MULTIPOLYGON):
        return shape
    parts = shapely.get_parts(shape)
    kinds = shapely.get_type_id(parts)
    kept = parts[(kinds == _POLYGON) | (kinds == _MULTIPOLYGON)]
    return shapely.union_all(kept) if len(kept) else NOTHING


def all_polygonal(shapes: Shapes) -> Shapes:
    """Do as `polygonal` for an array of shapes, touching only those that need it."""
    kinds = shapely.get_type_id(shapes)
    kept = shapes.copy()
    for i in np.flatnonzero((kinds != _POLYGON) & (kinds != _MULTIPOLYGON)):
        kept[i] = polygonal(shapes[i])
    return kept


def sound(shape: Shape, what: str) -> Shape:
    """Mend rings that cross themselves, if that hardly moves the area.

    Parameters
    ----------
    shape : Shape
        In any unit.
    what : str
        Named in the refusal.

    Returns
    -------
    Shape
        The same ground, valid.

    Raises
    ------
    GeometryError
        If mending would move more than 0.1 % of the area; says where it crosses.
    """
    if shapely.is_valid(shape):
        return shape
    mended = polygonal(shapely.make_valid(shape))
    drawn, kept = shapely.area(shape), shapely.area(mended)
    if not abs(kept - drawn) <= MENDED_SHARE * drawn:
        reason = shapely.is_valid_reason(shape)
        raise GeometryError(f"{what}: {reason}; draw it again without crossing lines")
    return mended


def shape_in_deg(geometry: Mapping[str, Any], what: str) -> Shape:
    """Read a GeoJSON polygon or multipolygon that has been checked, in degrees and still."""
    try:
        shape = read_shape(geometry)
    except (shapely.errors.ShapelyError, ValueError, TypeError, KeyError, IndexError,
            AttributeError) as error:
        raise GeometryError(f"{what}: no polygon can be read ({error})") from error
    if shapely.get_type_id(shape) not in (_POLYGON, _MULTIPOLYGON):
        raise GeometryError(f"{what}: a {shape.geom_type}; only (Multi)Polygon is ground")
    return sound(shapely.force_2d(shape), what)


def shape_of(projection: Projection, geometry: Mapping[str, Any], what: str = "shape") -> Shape:
    """Bring a GeoJSON polygon or multipolygon into the block's metres.

    Parameters
    ----------
    projection : Projection
        The block's.
    geometry : mapping
        GeoJSON geometry, longitude and latitude. [deg]
    what : str
        Named in a refusal.

    Returns
    -------
    Shape
        Valid, its corners rounded to a tenth of a millimetre, so that ground drawn along a line of
        the grid lies on it. [m]

    Raises
    ------
    GeometryError
        If it is no polygon, crosses itself beyond mending, or lies out of the system's reach.
    """
    def to_m(lon_lat: Floats) -> Floats:
        e, n = projection.to_m(lon_lat[:, 1], lon_lat[:, 0])
        e_n: Floats = np.column_stack((e, n))
        return e_n.round(_CORNER_DECIMALS)

    moved = shapely.transform(shape_in_deg(geometry, what), to_m)
    if not np.isfinite(shapely.get_coordinates(moved)).all():
        raise GeometryError(f"{what}: epsg={projection.epsg!r} does not reach it; name another")
    return sound(moved, what)


def union_of(shapes: Sequence[Shape]) -> Shape:
    """Join shapes into one; none make an empty one."""
    return polygonal(shapely.union_all(list(shapes))) if len(shapes) else NOTHING


def areas_m2(projection: Projection, shapes: Shapes) -> Floats:
    """Measure the ground of shapes.

    Parameters
    ----------
    projection : Projection
        The block's.
    shapes : array of Shape, shape (n,)
        [m]

    Returns
    -------
    array, shape (n,)
        Geodesic area, holes taken off; 0 of an empty shape. [m²]

    Notes
    -----
    Edges are taken as geodesics between the corners; over a cell they leave the straight line of
    the map by well under a millimetre. Normalised rings run one way and their holes the other, so
    that the signed areas add up.

    References
    ----------
    .. [1] C. F. F. Karney, Algorithms for geodesics, *J. Geodesy* 87, 2013, section 6.
    """
    def to_own_deg(e_n: Floats) -> Floats:
        lat, lon = projection.own_deg(e_n[:, 0], e_n[:, 1])
        return np.column_stack((lon, lat))

    if len(shapes) == 0:
        return np.zeros(0)
    turned = shapely.transform(shapely.normalize(shapes), to_own_deg)
    return np.array([
        0.0 if shape.is_empty else abs(projection.geod.geometry_area_perimeter(shape)[0])
        for shape in turned
    ])


def area_m2(projection: Projection, shape: Shape) -> float:
    """Measure the ground of one shape [m²]."""
    return float(areas_m2(projection, np.array([shape], dtype=object))[0])


def covers(shape: Shape, e: Floats, n: Floats) -> npt.NDArray[np.bool_]:
    """Say which places lie in a shape or on its border.

    Parameters
    ----------
    shape : Shape
        [m]
    e, n : array, shape (n,)
        [m]

    Returns
    -------
    array of bool, shape (n,)
        False of a place that is not finite.
    """
    inside: npt.NDArray[np.bool_] = shapely.intersects_xy(shape, e, n)
    return inside


def distance_m(shape: Shape, e: float, n: float) -> float:
    """Give how far a place lies from a shape: 0 inside, infinite of an empty shape [m]."""
    if shape.is_empty:
        return float("inf")
    return float(shapely.distance(shape, shapely.Point(e, n)))


def bounds_of(shape: Shape) -> tuple[float, float, float, float]:
    """Give west, south, east and north of a shape; NaN of an empty one [m]."""
    west, south, east, north = shapely.bounds(shape)
    return float(west), float(south), float(east), float(north)


def label_point(shape: Shape) -> tuple[float, float] | None:
    """Give a place surely inside a shape, for its label; None of an empty one [m]."""
    if shape.is_empty:
        return None
    point = shapely.point_on_surface(shape)
    return float(point.x), float(point.y)
