"""Distances and bearings between places as the phone knows them.

Rule 1: bearings are clockwise from true north unless they say compass.
Rule 2: a sheet's plane is used where there is a sheet; without one, a flat earth about the place.
"""

import math

from fieldapp.ground import Sheet
from fieldapp.ground.shapes import Point, bearing_deg, holds, nearest_on
from fieldapp.record import Where

#: Beyond this from the block no place is kept. [m]
KEPT_BEYOND_M = 100.0
#: Equatorial radius and first eccentricity squared of WGS 84 (NIMA TR8350.2, table 3.3).
_RADIUS_M = 6_378_137.0
_E2 = 0.006_694_379_990_14
#: Over this step true north is looked up on the plane. [deg]
_STEP_DEG = 1e-3


def distance_m(a: Where, b: Where) -> float:
    """Give the distance between two places some hundred metres apart.

    Parameters
    ----------
    a, b : Where
        WGS 84.

    Returns
    -------
    float
        Right to a millionth part over a kilometre. [m]

    Notes
    -----
    Flat earth with the ellipsoid's two radii of curvature at the middle latitude; common practice.
    """
    middle = math.radians((a.lat + b.lat) / 2.0)
    w = 1.0 - _E2 * math.sin(middle) ** 2
    north = math.radians(b.lat - a.lat) * _RADIUS_M * (1.0 - _E2) / w**1.5
    turn = (b.lon - a.lon + 180.0) % 360.0 - 180.0
    east = math.radians(turn) * _RADIUS_M / math.sqrt(w) * math.cos(middle)
    return math.hypot(north, east)


def flat_m(origin: tuple[float, float], lat: float, lon: float) -> Point:
    """Place a point on a flat earth about an origin, for ground that no sheet maps.

    Parameters
    ----------
    origin : tuple of float
        Latitude and longitude (WGS 84) where x and y are 0. [deg]
    lat, lon : float
        The place, within some kilometres of it. [deg]

    Returns
    -------
    Point
        x east and y north. [m]

    Notes
    -----
    The ellipsoid's two radii of curvature at the origin; common practice.
    """
    across = math.radians(origin[0])
    w = 1.0 - _E2 * math.sin(across) ** 2
    north = math.radians(lat - origin[0]) * _RADIUS_M * (1.0 - _E2) / w**1.5
    turn = (lon - origin[1] + 180.0) % 360.0 - 180.0
    return math.radians(turn) * _RADIUS_M / math.sqrt(w) * math.cos(across), north


def way_to(sheet: Sheet, where: Where, end: Point) -> tuple[float, float]:
    """Give the way from a fix to a point of the sheet.

    Parameters
    ----------
    sheet : Sheet
        The ground.
    where : Where
        Where from.
    end : Point
        Where to, on the sheet's plane. [m]

    Returns
    -------
    distance_m : float
        How far. [m]
    bearing_deg : float
        Which way, from true north: the plane's own north turns away from it. [deg]
    """
    start = sheet.map.to_m(where.lat, where.lon)
    north = bearing_deg(start, sheet.map.to_m(where.lat + _STEP_DEG, where.lon))
    away = math.hypot(end[0] - start[0], end[1] - start[1])
    return away, (bearing_deg(start, end) - north) % 360.0


def beyond_block(sheet: Sheet, where: Where) -> bool:
    """Say whether a place is so far out of the block that it is not kept."""
    point = sheet.map.to_m(where.lat, where.lon)
    if holds(sheet.outline, *point):
        return False
    return nearest_on(sheet.outline, *point)[0] > KEPT_BEYOND_M
