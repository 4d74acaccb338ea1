"""Where a thing noted at a fix was: the chance of every cell, of closed ground, and of outside.

Rule 1: chances of all cells and outside add up to 1, but for slivers and what lies beyond reach.
Rule 2: a chance on closed ground is part of its cell's chance, not beside it.
"""

import dataclasses
import math
from collections.abc import Mapping
from types import MappingProxyType

import shapely

from sync.errors import GeometryError
from sync.geometry.chance import chance_in_box, chance_in_polygon, chance_in_square, refuse_sigma
from sync.geometry.grid import MOST_COLUMNS, MOST_ROWS, cell_name, cell_square
from sync.geometry.ground import CellGround, Ground
from sync.geometry.shapes import Shape

#: A cell farther off than this many standard deviations has a chance under 1e-8.
REACH_SIGMAS = 6.0
#: Beyond this from any border a fix is inside or outside to rounding: exp(−32) = 1e-14.
_SURE_SIGMAS = 8.0


@dataclasses.dataclass(frozen=True)
class Chances:
    """The chances of one fix.

    Attributes
    ----------
    cells : mapping of str to float
        Chance of each cell within reach, by column and row; none is 0. [-]
    closed, held : mapping of str to float
        Of these, the chance of ground under the owner's closures, and under a hold from a record;
        only cells that have such ground in reach. [-]
    outside : float
        Chance of no ground of the block. [-]
    """

    cells: Mapping[str, float]
    closed: Mapping[str, float]
    held: Mapping[str, float]
    outside: float


def chances_of(ground: Ground, e: float, n: float, sigma: float) -> Chances:
    """Give the chances of a fix.

    Parameters
    ----------
    ground : Ground
        Of the day.
    e, n : float
        The fix. [m]
    sigma : float
        Standard deviation of each coordinate, ≥ 0. [m]

    Returns
    -------
    Chances
        Squares by the normal integral, clipped cells and closed ground by their edges.

    Raises
    ------
    GeometryError
        If the fix is not finite, or `sigma` negative or not finite.
    """
    refuse_sigma(sigma)
    if not (math.isfinite(e) and math.isfinite(n)):
        raise GeometryError(f"e={e!r}, n={n!r}: a fix must be finite")
    cells: dict[str, float] = {}
    closed: dict[str, float] = {}
    held: dict[str, float] = {}
    for cell in _within_reach(ground, e, n, REACH_SIGMAS * sigma):
        chance = _chance_of(ground, cell, e, n, sigma)
        if chance > 0.0:
            cells[cell.cell] = chance
        for found, shape in ((closed, cell.closed), (held, cell.held)):
            taken = 0.0 if shape.is_empty else chance_in_polygon(e, n, sigma, shape)
            if taken > 0.0:
                found[cell.cell] = taken
    outside = 0.0 if ground.clear_of_border_m(e, n) > _SURE_SIGMAS * sigma else (
        1.0 - _inside(ground.outline, e, n, sigma))
    return Chances(
        MappingProxyType(cells), MappingProxyType(closed), MappingProxyType(held), outside)


def _chance_of(ground: Ground, cell: CellGround, e: float, n: float, sigma: float) -> float:
    if cell.rectangular:
        square = cell_square(ground.grid, cell.cell)
        if sigma > 0.0:
            return chance_in_square(e, n, sigma, square)
        return float(chance_in_box(e, n, sigma, *square))
    return chance_in_polygon(e, n, sigma, cell.shape)


def _within_reach(ground: Ground, e: float, n: float, reach_m: float) -> list[CellGround]:
    grid = ground.grid
    # a fix on the border itself also meets the cell west or south of it
    west = max(0, math.ceil((e - reach_m - grid.origin_e) / grid.cell_m) - 1)
    south = max(0, math.ceil((n - reach_m - grid.origin_n) / grid.cell_m) - 1)
    east = min(MOST_COLUMNS - 1, math.floor((e + reach_m - grid.origin_e) / grid.cell_m))
    north = min(MOST_ROWS - 1, math.floor((n + reach_m - grid.origin_n) / grid.cell_m))
    if (east - west + 1) * (north - south + 1) > len(ground.cells):
        return list(ground.cells.values())
    names = (cell_name(col, row)
             for col in range(west, east + 1) for row in range(south, north + 1))
    return [ground.cells[name] for name in names if name in ground.cells]


def _inside(outline: Shape, e: float, n: float, sigma: float) -> float:
    if outline.is_empty:
        return 0.0
    reach_m = _SURE_SIGMAS * sigma
    west, south, east, north = outline.bounds
    if max(west - e, e - east, south - n, n - north) > reach_m:
        return 0.0
    point = shapely.Point(e, n)
    if shapely.distance(point, outline.boundary) > reach_m:
        return float(shapely.intersects(outline, point))
    return chance_in_polygon(e, n, sigma, outline)
