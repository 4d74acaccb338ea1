"""Degrees to metres and back, by one coordinate system per block.

Rule 1: degrees are WGS 84; latitude comes first here, whatever order a coordinate system declares.
Rule 2: a system that cannot carry areas (degrees, web-mercator, feet) is refused, never mended.
"""

import dataclasses
import math
from typing import overload

import numpy as np
import numpy.typing as npt
import pyproj
from pyproj.exceptions import CRSError

from sync.errors import GeometryError

Floats = npt.NDArray[np.float64]

#: Spherical "web" Mercators, by code; they stretch ground by 1/cos(latitude).
WEB_MERCATOR = (3857, 3785, 900913, 102100, 102113)
#: A system whose metre is farther off than this is meant for another place; common practice, no
#: source (UTM is off by at most 0.1 % inside its zone).
WORST_SCALE = 0.01
#: So far beyond its area of use a system may still serve: half a UTM zone. [deg]
_BEYOND_DEG = 3.0
_INSTEAD = "take the UTM zone of the block or the national grid in metres"


@dataclasses.dataclass(frozen=True)
class Projection:
    """A coordinate system in metres; made by `projection`, which refuses those that cannot serve.

    Attributes
    ----------
    epsg : int
        Its EPSG code.
    geod : pyproj.Geod
        Geodesics on its own ellipsoid.
    """

    epsg: int
    _forward: pyproj.Transformer = dataclasses.field(repr=False, compare=False)
    _back: pyproj.Transformer = dataclasses.field(repr=False, compare=False)
    _own: pyproj.Transformer = dataclasses.field(repr=False, compare=False)
    geod: pyproj.Geod = dataclasses.field(repr=False, compare=False)

    @overload
    def to_m(self, lat: float, lon: float) -> tuple[float, float]: ...
    @overload
    def to_m(self, lat: Floats, lon: Floats) -> tuple[Floats, Floats]: ...
    def to_m(self, lat: float | Floats, lon: float | Floats) -> object:
        """Give metres east and north of places in degrees.

        Parameters
        ----------
        lat, lon : float or array, shape (n,)
            WGS 84. [deg]

        Returns
        -------
        tuple of float or array, shape (n,)
            Easting and northing; infinite where the system does not reach. [m]
        """
        return self._forward.transform(lon, lat)

    @overload
    def to_deg(self, e: float, n: float) -> tuple[float, float]: ...
    @overload
    def to_deg(self, e: Floats, n: Floats) -> tuple[Floats, Floats]: ...
    def to_deg(self, e: float | Floats, n: float | Floats) -> object:
        """Give latitude and longitude, WGS 84 [deg], of eastings and northings [m]."""
        lon, lat = self._back.transform(e, n)
        return lat, lon

    def own_deg(self, e: Floats, n: Floats) -> tuple[Floats, Floats]:
        """Give latitude and longitude on the system's own datum [deg], for geodesics on `geod`."""
        lon, lat = self._own.transform(e, n)
        return lat, lon

    def point_scale(self, lat: float, lon: float) -> float:
        """Give metres of the system per metre of ground at a place.

        Parameters
        ----------
        lat, lon : float
            [deg]

        Returns
        -------
        float
            The square root of the areal scale: the point scale itself where the system is
            conformal; not finite where the system does not reach. [m/m]
        """
        factors = pyproj.Proj(f"EPSG:{self.epsg}").get_factors(lon, lat)
        return math.sqrt(factors.areal_scale)


def projection(epsg: int) -> Projection:
    """Open a coordinate system by its EPSG code.

    Parameters
    ----------
    epsg : int
        Code of a projected system in metres whose axes run east and north.

    Returns
    -------
    Projection
        Transformations both ways.

    Raises
    ------
    GeometryError
        If the code is unknown, or the system is in degrees, a web-mercator, not in metres, or
        turned; the message says what to take instead.
    """
    try:
        crs = pyproj.CRS.from_epsg(epsg)
    except CRSError as error:
        if epsg in WEB_MERCATOR:
            raise GeometryError(_refusal(epsg, "web-mercator stretches ground")) from error
        raise GeometryError(_refusal(epsg, "no such code is known here")) from error
    fault = _fault(crs, epsg)
    if fault:
        raise GeometryError(_refusal(epsg, fault))
    geod, own = crs.get_geod(), crs.geodetic_crs
    if geod is None or own is None:
        raise GeometryError(_refusal(epsg, "it names no ellipsoid"))
    return Projection(
        epsg,
        pyproj.Transformer.from_crs(4326, crs, always_xy=True),
        pyproj.Transformer.from_crs(crs, 4326, always_xy=True),
        pyproj.Transformer.from_crs(crs, own, always_xy=True),
        geod,
    )


def _refusal(epsg: int, why: str) -> str:
    return f"epsg={epsg!r}: {why}; {_INSTEAD}"


def _fault(crs: pyproj.CRS, epsg: int) -> str | None:
    method = crs.coordinate_operation.method_name if crs.coordinate_operation else ""
    if crs.is_geographic:
        return f"{crs.name} is in degrees and cannot carry areas"
    if epsg in WEB_MERCATOR or method.startswith(("Popular Visualisation", "Mercator (1SP) (Sph")):
        return f"{crs.name} is a web-mercator, which stretches ground by 1/cos(latitude)"
    if not crs.is_projected or crs.is_compound or len(crs.axis_info) != 2:
        return f"{crs.name} is no flat map"
    units = {axis.unit_name for axis in crs.axis_info}
    if units != {"metre"}:
        return f"{crs.name} is in {', '.join(sorted(units))}, not in metres"
    if {axis.direction for axis in crs.axis_info} != {"east", "north"}:
        return f"the axes of {crs.name} do not run east and north"
    return None


def refuse_elsewhere(projection: Projection, lat: float, lon: float) -> None:
    """Refuse a system that does not fit the place, such as another country's grid.

    Parameters
    ----------
    projection : Projection
        The block's.
    lat, lon : float
        Middle of the block. [deg]

    Raises
    ------
    GeometryError
        If the place is far from the system's area of use, or a metre of it is more than 1 % off a
        metre of ground there. (The scale alone would let New Zealand's grid pass in Britain: the
        far side of the earth mirrors it.)
    """
    area = pyproj.CRS.from_epsg(projection.epsg).area_of_use
    if area is not None:
        wide = (area.east - area.west) % 360.0
        along = (lon - area.west + _BEYOND_DEG) % 360.0
        near = area.south - _BEYOND_DEG <= lat <= area.north + _BEYOND_DEG
        if not near or (wide > 0.0 and along > wide + 2.0 * _BEYOND_DEG):
            raise GeometryError(_refusal(
                projection.epsg, f"{lat:.4f}, {lon:.4f} is not in {area.name}"))
    scale = projection.point_scale(lat, lon)
    if not abs(scale - 1.0) <= WORST_SCALE:
        raise GeometryError(_refusal(
            projection.epsg,
            f"at {lat:.4f}, {lon:.4f} its metre is {scale:.4g} m of ground",
        ))


def utm_epsg(lat: float, lon: float) -> int:
    """Give the EPSG code of the UTM zone of a place, with the exceptions of Norway and Svalbard.

    Parameters
    ----------
    lat, lon : float
        WGS 84. [deg]

    Returns
    -------
    int
        326zz north of the equator and on it, 327zz south of it.

    Raises
    ------
    GeometryError
        If the place is no place, or nearer a pole than UTM reaches (80° S, 84° N).

    References
    ----------
    .. [1] NGA, *The Universal Grids and the Transverse Mercator and Polar Stereographic Map
       Projections*, NGA.SIG.0012, 2014, zones and their exceptions (numbers from memory).
    """
    if not (math.isfinite(lat) and math.isfinite(lon)):
        raise GeometryError(f"lat={lat!r}, lon={lon!r}: no place; give degrees")
    if not -80.0 <= lat <= 84.0:
        raise GeometryError(f"lat={lat!r}: UTM ends at 80° S and 84° N; name a polar --epsg")
    east = (lon + 180.0) % 360.0 - 180.0
    zone = int((east + 180.0) // 6.0) + 1
    if 56.0 <= lat < 64.0 and 3.0 <= east < 12.0:
        zone = 32
    elif lat >= 72.0 and 0.0 <= east < 42.0:
        zone = 31 + 2 * int((east + 3.0) // 12.0)
    return (32600 if lat >= 0.0 else 32700) + zone
