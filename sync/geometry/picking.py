"""Where a person picked between two presses: seconds by cell along the track.

Rule 1: walking is not picking; a fix counts while its bearer hardly moves on.
Rule 2: a fix speaks for the time until the next, but not for long; a gap is nobody's time.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime

import numpy as np

from sync.block import Grid
from sync.geometry.crs import Projection
from sync.geometry.grid import cell_of
from sync.geometry.track import Fix


def picking_seconds(
    grid: Grid,
    projection: Projection,
    fixes: Sequence[Fix],
    *,
    until: datetime,
    worst_m: float,
    fastest_m_s: float,
    longest_s: float,
) -> dict[str | None, float]:
    """Share out the time since the bag before among the squares of the grid.

    Parameters
    ----------
    grid : Grid
        The block's.
    projection : Projection
        The block's.
    fixes : sequence of Fix
        One person's since the press before (or start, or resume), by instant.
    until : datetime
        Instant of the press; the last fix lasts until then at most.
    worst_m : float
        A fix with a larger 68 % radius is left out; one that states none is not. [m]
    fastest_m_s : float
        From this speed to the next fix on, it is walking. [m/s]
    longest_s : float
        No fix counts for longer. [s]

    Returns
    -------
    dict of str or None to float
        Seconds picked by square, in the order of first visit; under None those off the grid.
        Empty where no fix is good enough: there is no track to go by.

    Notes
    -----
    Speed is that over the time the fix speaks for, to the next good fix; the last has none and
    counts. Common practice, no source.
    """
    good = [fix for fix in fixes if fix.at < until and (fix.acc_m is None or fix.acc_m <= worst_m)]
    if not good:
        return {}
    lat = np.array([fix.lat for fix in good], dtype=np.float64)
    lon = np.array([fix.lon for fix in good], dtype=np.float64)
    e, n = projection.to_m(lat, lon)
    moved = np.hypot(np.diff(e), np.diff(n))
    ends = [*(fix.at for fix in good[1:]), until]
    lasts = np.array([(end - fix.at).total_seconds()
                      for fix, end in zip(good, ends, strict=True)])
    walks = np.append(moved >= fastest_m_s * lasts[:-1], False)
    seconds: dict[str | None, float] = {}
    for i in np.flatnonzero(~walks):
        cell = cell_of(grid, float(e[i]), float(n[i]))
        seconds[cell] = seconds.get(cell, 0.0) + min(longest_s, float(lasts[i]))
    return seconds


def shares_of_time(seconds: Mapping[str | None, float]) -> dict[str, float]:
    """Give the part of the picking time that was spent in each square.

    Parameters
    ----------
    seconds : mapping of str or None to float
        As `picking_seconds` gives them. [s]

    Returns
    -------
    dict of str to float
        0 to 1; they fall short of 1 by what was off the grid. Empty without any time. [-]
    """
    whole = sum(seconds.values())
    return {} if whole <= 0.0 else {
        cell: spent / whole for cell, spent in seconds.items() if cell is not None}
