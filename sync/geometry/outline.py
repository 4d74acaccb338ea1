"""Reading the block's maps: GeoJSON as others export it, or the boundary walked with a receiver.

Rule 1: what comes in is WGS 84 degrees, longitude first, and nothing but polygons.
Rule 2: a map is taken whole or refused with the reason and the place.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

import pyproj
import shapely

from sync.block import Feature
from sync.errors import GeometryError
from sync.geometry.gpx import read_line
from sync.geometry.shapes import MENDED_SHARE, polygonal, shape_in_deg, sound

#: A walk counts as closed if its ends meet within this; a receiver under trees is that far off.
CLOSING_M = 50.0
_WGS84_NAMES = ("CRS84", "4326")
_GROUND = ("Polygon", "MultiPolygon")


def features_of(found: object, *, what: str = "outline.geojson") -> tuple[Feature, ...]:
    """Read a GeoJSON object: one of the block's maps.

    Parameters
    ----------
    found : object
        A decoded FeatureCollection, Feature or geometry (a GeometryCollection of polygons too).
    what : str
        Named in a refusal.

    Returns
    -------
    tuple of Feature
        Polygons and multipolygons in degrees, with their properties and the days `from` and
        `until` between which they hold.

    Raises
    ------
    GeometryError
        If it is no GeoJSON, holds no polygon, other than polygons, coordinates that are no
        degrees, or rings that cross themselves beyond mending.

    References
    ----------
    .. [1] RFC 7946, *The GeoJSON Format*, 2016.
    """
    if not isinstance(found, Mapping):
        raise GeometryError(f"{what}: no GeoJSON object; export the polygon as GeoJSON")
    _refuse_other_crs(found, what)
    features = tuple(_features(found, what))
    if not features:
        raise GeometryError(f"{what}: holds no polygon; draw the block's outline and export it")
    return features


def outline_of(found: object, *, what: str = "outline.geojson") -> tuple[Feature, ...]:
    """Read the block's outline: as `features_of`, under the name `fallow new` uses for it."""
    return features_of(found, what=what)


def _refuse_other_crs(found: Mapping[str, Any], what: str) -> None:
    if found.get("crs") is None:
        return
    said = str(found["crs"])
    if not any(name in said for name in _WGS84_NAMES):
        raise GeometryError(f"{what}: crs={said}; export it again as WGS 84 (EPSG:4326)")


def _features(found: Mapping[str, Any], what: str) -> Iterator[Feature]:
    kind = found.get("type")
    if kind == "FeatureCollection":
        for number, feature in enumerate(_list_of(found, "features", what), start=1):
            where = f"{what} feature {number}"
            if not isinstance(feature, Mapping) or feature.get("type") != "Feature":
                raise GeometryError(f"{where}: no GeoJSON feature")
            yield from _features(feature, where)
    elif kind == "Feature":
        properties = found.get("properties") or {}
        geometry = found.get("geometry")
        if not isinstance(geometry, Mapping) or not isinstance(properties, Mapping):
            raise GeometryError(f"{what}: has no geometry; draw it again or take it out")
        for polygon in _polygons(geometry, what):
            yield _feature(polygon, properties, what)
    else:
        for polygon in _polygons(found, what):
            yield _feature(polygon, {}, what)


def _list_of(found: Mapping[str, Any], key: str, what: str) -> Sequence[Any]:
    value = found.get(key)
    if not isinstance(value, list):
        raise GeometryError(f"{what}: {key}={value!r} is no list")
    return value


def _polygons(geometry: Mapping[str, Any], what: str) -> Iterator[Mapping[str, Any]]:
    kind = geometry.get("type")
    if kind == "GeometryCollection":
        for part in _list_of(geometry, "geometries", what):
            if not isinstance(part, Mapping) or part.get("type") not in _GROUND:
                raise GeometryError(f"{what}: a collection may hold polygons only")
            yield part
    elif kind in _GROUND:
        yield geometry
    else:
        raise GeometryError(f"{what}: type={kind!r}; only Polygon and MultiPolygon are ground")


def _feature(geometry: Mapping[str, Any], properties: Mapping[str, Any], what: str) -> Feature:
    polygons = _list_of(geometry, "coordinates", what)
    for polygon in polygons if geometry["type"] == "MultiPolygon" else [polygons]:
        _check_polygon(polygon, what)
    if shape_in_deg(geometry, what).is_empty:
        raise GeometryError(f"{what}: the polygon is empty")
    since, until = _day(properties, "from", what), _day(properties, "until", what)
    if since is not None and until is not None and until < since:
        raise GeometryError(f"{what}: until={until} is before from={since}")
    return Feature(dict(geometry), dict(properties), since, until)


def _check_polygon(polygon: object, what: str) -> None:
    if not isinstance(polygon, list) or not polygon:
        raise GeometryError(f"{what}: an empty polygon")
    for ring in polygon:
        if not isinstance(ring, list) or len(ring) < 4:
            raise GeometryError(f"{what}: a ring of fewer than 4 positions is no ground")
        for position in ring:
            _check_position(position, what)
        if ring[0][:2] != ring[-1][:2]:
            raise GeometryError(f"{what}: the ring at {ring[0][:2]} is not closed")


def _check_position(position: object, what: str) -> None:
    if not isinstance(position, list) or len(position) < 2:
        raise GeometryError(f"{what}: {position!r} is no position")
    if not all(type(number) in (int, float) and math.isfinite(number) for number in position[:2]):
        raise GeometryError(f"{what}: {position!r} is no position")
    lon, lat = position[:2]
    if abs(lon) <= 180.0 and abs(lat) <= 90.0:
        return
    if abs(lon) <= 90.0 and abs(lat) <= 180.0:
        raise GeometryError(f"{what}: {position[:2]}: longitude comes first; swap the two")
    raise GeometryError(f"{what}: {position[:2]} are metres, not degrees; export it as WGS 84")


def _day(properties: Mapping[str, Any], key: str, what: str) -> date | None:
    value = properties.get(key)
    if value is None or value == "":
        return None
    try:
        return date.fromisoformat(value)
    except (TypeError, ValueError) as error:
        raise GeometryError(f"{what}: {key}={value!r}: write a day as 2026-07-01") from error


def outline_from_gpx(text: str | bytes) -> tuple[Feature, ...]:
    """Read an outline that was walked with a receiver.

    Parameters
    ----------
    text : str or bytes
        GPX; its track points in their order are the boundary, whatever their times; its route
        points if it holds no track.

    Returns
    -------
    tuple of Feature
        One polygon in degrees. Little loops, as a receiver draws at a stop, are cut off.

    Raises
    ------
    IntakeError
        If the file cannot be read as GPX.
    GeometryError
        If it has fewer than 4 places, its ends are more than 50 m apart, or the line crosses
        itself so that it encloses no one piece of ground.
    """
    what = "the walked outline"
    line = read_line(text)
    if len(line) < 4:
        raise GeometryError(f"{what}: {len(line)} places; walk all the way round")
    (lat0, lon0), (lat1, lon1) = line[0], line[-1]
    apart_m = pyproj.Geod(ellps="WGS84").inv(lon0, lat0, lon1, lat1)[2]
    if apart_m > CLOSING_M:
        raise GeometryError(f"{what}: its ends are {apart_m:.0f} m apart; walk on to the start "
                            f"(within {CLOSING_M:.0f} m)")
    drawn = shapely.Polygon([(lon, lat) for lat, lon in line])
    parts = shapely.get_parts(polygonal(sound(drawn, what)))
    largest = shapely.Polygon(max((part.exterior for part in parts),
                                  key=lambda ring: shapely.Polygon(ring).area, default=None))
    if not largest.area >= (1.0 - MENDED_SHARE) * drawn.area > 0.0:
        raise GeometryError(f"{what}: the line crosses itself and encloses several pieces")
    ring = [[float(lon), float(lat)] for lon, lat in largest.exterior.coords]
    return (Feature({"type": "Polygon", "coordinates": [ring]}, {}),)
