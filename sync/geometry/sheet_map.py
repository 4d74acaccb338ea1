"""The phone's map: two polynomials that stand in for the projection over one block.

Rule 1: sheet metres count from the grid's origin, so that cells are whole multiples.
Rule 2: the fit says how far off it is at worst, measured at places it was not fitted to.
"""

import dataclasses

import numpy as np

from sync.block import Grid
from sync.geometry.crs import Floats, Projection
from sync.geometry.grid import Square

#: Nodes each way; five times the coefficients, so that the fit is close to the best possible.
_NODES = 15
_CHECKS = 41
#: A block narrower than this is fitted as if it were so wide, or the squares would vanish.
_LEAST_SPAN_M = 200.0

Six = tuple[float, ...]


@dataclasses.dataclass(frozen=True)
class SheetMap:
    """Second-degree polynomials over [1, u, v, u², u·v, v²].

    Attributes
    ----------
    at : tuple of float
        Latitude and longitude the degrees count from. [deg]
    to_m : tuple of two tuples of six float
        East and north of the grid's origin, of u = lat − at[0], v = lon − at[1]. [m]
    to_deg : tuple of two tuples of six float
        lat − at[0] and lon − at[1], of u, v = metres east and north of the origin. [deg]
    worst_m : float
        The greatest error over the bounds, both ways. [m]
    """

    at: tuple[float, float]
    to_m: tuple[Six, Six]
    to_deg: tuple[Six, Six]
    worst_m: float


def fit_map(projection: Projection, grid: Grid, bounds: Square) -> SheetMap:
    """Fit the polynomials of a ground sheet.

    Parameters
    ----------
    projection : Projection
        The block's.
    grid : Grid
        Its origin is 0, 0 of the sheet's metres.
    bounds : tuple of float
        West, south, east, north to be covered. [m]

    Returns
    -------
    SheetMap
        Under half a millimetre off over 4 km up to 60° of latitude, a millimetre up to 70°.

    Notes
    -----
    Least squares over Chebyshev nodes, which spreads the error nearly evenly (common practice, no
    source).
    """
    west, south, east, north = _widened(bounds)
    mid_lat, mid_lon = projection.to_deg((west + east) / 2.0, (south + north) / 2.0)
    at = (round(mid_lat, 6), round(mid_lon, 6))
    nodes = np.cos(np.pi * (np.arange(_NODES) + 0.5) / _NODES)
    sides = (west, south, east, north)
    x, y, u, v = _places(projection, grid, at, sides, nodes)
    to_m = _fitted(u, v, x), _fitted(u, v, y)
    to_deg = _fitted(x, y, u), _fitted(x, y, v)
    x, y, u, v = _places(projection, grid, at, sides, np.linspace(-1.0, 1.0, _CHECKS))
    off_m = np.hypot(apply(to_m[0], u, v) - x, apply(to_m[1], u, v) - y)
    off_deg = np.stack((apply(to_deg[0], x, y) - u, apply(to_deg[1], x, y) - v))
    # metres by the slopes at `at`: a datum shift there and back can itself be a millimetre off
    off_back_m = np.hypot(*(np.array([six[1:3] for six in to_m]) @ off_deg))
    return SheetMap(at, to_m, to_deg, float(max(off_m.max(), off_back_m.max())))


def apply(six: Six, u: Floats, v: Floats) -> Floats:
    """Give the value of one polynomial at u, v."""
    value: Floats = _terms(u, v) @ np.array(six)
    return value


def _widened(bounds: Square) -> Square:
    west, south, east, north = bounds
    across = max(0.0, _LEAST_SPAN_M - (east - west)) / 2.0
    along = max(0.0, _LEAST_SPAN_M - (north - south)) / 2.0
    return west - across, south - along, east + across, north + along


def _places(
    projection: Projection, grid: Grid, at: tuple[float, float], sides: Square, steps: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    west, south, east, north = sides
    e = (west + east) / 2.0 + (east - west) / 2.0 * steps
    n = (south + north) / 2.0 + (north - south) / 2.0 * steps
    all_e, all_n = (side.ravel() for side in np.meshgrid(e, n))
    lat, lon = projection.to_deg(all_e, all_n)
    east_deg = (lon - at[1] + 180.0) % 360.0 - 180.0
    return all_e - grid.origin_e, all_n - grid.origin_n, lat - at[0], east_deg


def _terms(u: Floats, v: Floats) -> Floats:
    return np.column_stack((np.ones_like(u), u, v, u * u, u * v, v * v))


def _fitted(u: Floats, v: Floats, value: Floats) -> Six:
    terms = _terms(u, v)
    # columns of like size, or the squares of hundredths of a degree would count as zero
    size = np.abs(terms).max(axis=0)
    solved = np.linalg.lstsq(terms / size, value, rcond=None)[0]
    return tuple((solved / size).tolist())
