"""The ground that hands went over: the union of the swaths of passes along a track.

Rule 1: ends are flat; a pass reaches to its sides, not beyond where it began and ended.
Rule 2: ground passed twice counts once.
Rule 3: swaths are joined on a grid; joined in bare floating point, a hole may be lost.
"""

from collections.abc import Iterable, Sequence

import numpy as np
import shapely

from sync.errors import GeometryError
from sync.geometry.crs import Floats, Projection
from sync.geometry.shapes import NOTHING, Shape, area_m2, polygonal

#: Far under what a receiver knows, far over what floating point keeps of an easting. [m]
GRID_M = 1e-5
#: Steps shorter than a millimetre have no direction.
_STEP_DECIMALS = 3
#: A long line crosses itself so often that its swath is slow to draw; so many places at a time,
#: each part beginning with the step before it, so that no bend is left out.
_PART = 16
#: Corners of a quarter of a bend; fewer lose some of its ground.
_BEND = 12


def swath_of(passes: Iterable[Sequence[tuple[float, float]] | Floats], *, reach_m: float) -> Shape:
    """Give the ground within reach of some passes.

    Parameters
    ----------
    passes : iterable of sequence of (float, float), or array, shape (m, 2)
        Easting and northing of the places of each pass, in order. [m]
    reach_m : float
        How far a picker reaches to each side, above 0. [m]

    Returns
    -------
    Shape
        [m]; empty without passes. A pass that never leaves its place has no sides, so no swath.

    Raises
    ------
    GeometryError
        If `reach_m` is not above 0 or a place is not finite.

    Notes
    -----
    Flat ends, round bends; corners of the joined ground lie on a grid of a hundredth of a
    millimetre. Common practice, no source.
    """
    if not 0.0 < reach_m < float("inf"):
        raise GeometryError(f"reach_m={reach_m!r}: must be above 0")
    parts = [part for places in passes for part in _parts(_told_apart(places))]
    if not parts:
        return NOTHING
    lines = shapely.linestrings(
        np.concatenate(parts), indices=np.repeat(np.arange(len(parts)), list(map(len, parts))))
    swaths = shapely.buffer(lines, reach_m, quad_segs=_BEND, cap_style="flat", join_style="round")
    return polygonal(shapely.union_all(swaths, grid_size=GRID_M))


def _parts(line: Floats) -> list[Floats]:
    if len(line) < 2:
        return []
    return [line[max(0, i - 1):i + _PART + 1] for i in range(0, len(line) - 1, _PART)]


def _told_apart(places: Sequence[tuple[float, float]] | Floats) -> Floats:
    """Bring places onto whole parts of the grid and leave out steps too short to have sides."""
    line = np.asarray(places, dtype=np.float64).reshape(-1, 2)
    if not np.isfinite(line).all():
        raise GeometryError("a place of a pass is not finite")
    line = np.round(line, _STEP_DECIMALS)
    kept: Floats = line[np.append(True, (line[1:] != line[:-1]).any(axis=1))[:len(line)]]
    return kept


def swept_m2(
    projection: Projection,
    passes: Iterable[Sequence[tuple[float, float]] | Floats],
    *,
    reach_m: float,
    ground: Shape | None = None,
) -> float:
    """Measure the ground that some passes swept.

    Parameters
    ----------
    projection : Projection
        The block's.
    passes : iterable of sequence of (float, float), or array, shape (m, 2)
        Easting and northing of the places of each pass, in order. [m]
    reach_m : float
        To each side. [m]
    ground : Shape or None
        What counts, the open ground of a cell for example; None for all. [m]

    Returns
    -------
    float
        Geodesic area. [m²]

    Raises
    ------
    GeometryError
        As `swath_of`.
    """
    swath = swath_of(passes, reach_m=reach_m)
    within = swath if ground is None else polygonal(shapely.intersection(swath, ground))
    return area_m2(projection, within)
