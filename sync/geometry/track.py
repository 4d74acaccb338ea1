"""A person's track: where they were at an instant, how far they went, in which squares.

Rule 1: fixes are in the order of their instants, all aware and different.
Rule 2: nothing is guessed over a gap that is too long, nor before the first fix or after the last.
"""

import dataclasses
import math
from collections import Counter
from collections.abc import Sequence
from datetime import datetime

import numpy as np
import pyproj

from sync.block import Grid
from sync.geometry.crs import Projection
from sync.geometry.grid import cell_of
from sync.intake.seen import Track

_MS_A_S = 1000.0


@dataclasses.dataclass(frozen=True)
class Fix:
    """Where a receiver said it was.

    Attributes
    ----------
    at : datetime
        UTC.
    lat, lon : float
        WGS 84. [deg]
    acc_m : float or None
        68 % horizontal radius; None where the receiver does not say. [m]
    """

    at: datetime
    lat: float
    lon: float
    acc_m: float | None = None


def position_at(
    track: Track, at_ms: float, *, worst_gap_s: float
) -> tuple[float, float, float | None] | None:
    """Say where a person was at an instant, on the straight line between the fixes about it.

    Parameters
    ----------
    track : Track
        One person's, by instant.
    at_ms : float
        [ms since 1970, UTC]
    worst_gap_s : float
        Both fixes about the instant must lie within this of it. [s]

    Returns
    -------
    tuple of float, or None
        Latitude and longitude [deg] and the worse of the two accuracies [m], None if either is
        unknown; None altogether where the track does not reach. The instant of a fix gives that
        fix.
    """
    after = int(np.searchsorted(track.at_ms, at_ms))
    if after < len(track) and track.at_ms[after] == at_ms:
        acc_m = float(track.acc_m[after])
        return (float(track.lat[after]), float(track.lon[after]),
                None if math.isnan(acc_m) else acc_m)
    if after in (0, len(track)):
        return None
    since_ms, until_ms = at_ms - track.at_ms[after - 1], track.at_ms[after] - at_ms
    if max(since_ms, until_ms) > _MS_A_S * worst_gap_s:
        return None
    share = float(since_ms / (since_ms + until_ms))
    (lat, lat_2), (lon, lon_2) = (
        map(float, values[after - 1:after + 1]) for values in (track.lat, track.lon))
    east = (lon_2 - lon + 180.0) % 360.0 - 180.0
    worse_m = float(max(track.acc_m[after - 1], track.acc_m[after]))
    known = not np.isnan(track.acc_m[after - 1:after + 1]).any()
    return (lat + share * (lat_2 - lat), (lon + share * east + 180.0) % 360.0 - 180.0,
            worse_m if known else None)


def length_m(fixes: Sequence[Fix]) -> float:
    """Give the length of the line through some fixes.

    Parameters
    ----------
    fixes : sequence of Fix
        One unbroken segment.

    Returns
    -------
    float
        Sum of geodesics on the ellipsoid of WGS 84; 0 of fewer than two fixes. [m]

    References
    ----------
    .. [1] C. F. F. Karney, Algorithms for geodesics, *J. Geodesy* 87, 2013.
    """
    if len(fixes) < 2:
        return 0.0
    geod = pyproj.Geod(ellps="WGS84")
    return float(geod.line_length([fix.lon for fix in fixes], [fix.lat for fix in fixes]))


def fixes_by_cell(grid: Grid, projection: Projection, fixes: Sequence[Fix]) -> dict[str, int]:
    """Count the fixes in each square of the grid.

    Parameters
    ----------
    grid : Grid
        The block's.
    projection : Projection
        The block's.
    fixes : sequence of Fix
        In any order.

    Returns
    -------
    dict of str to int
        By name of cell, in the order of first visit; fixes off the grid are left out.
    """
    lat = np.array([fix.lat for fix in fixes], dtype=np.float64)
    lon = np.array([fix.lon for fix in fixes], dtype=np.float64)
    e, n = projection.to_m(lat, lon)
    names = (cell_of(grid, *place) for place in zip(e.tolist(), n.tolist(), strict=True))
    return dict(Counter(name for name in names if name is not None))
