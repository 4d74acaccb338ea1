"""The grid of cells: names and squares, and nothing of the ground inside them.

Rule 1: columns are lettered from the west (A…Z, AA…ZZ), rows numbered from the south, two digits
at least.
Rule 2: a border belongs to the cell east or north of it.
Rule 3: every cell has one name, so a name of another form is refused.
"""

import math
import re

from sync.block import Grid
from sync.errors import GeometryError

#: Smaller squares cannot be told apart by a receiver under open sky.
LEAST_CELL_M = 25.0
#: A…ZZ and 01…999: more would not be read out over a radio.
MOST_COLUMNS = 26 + 26 * 26
MOST_ROWS = 999
_NAME = re.compile(r"([A-Z]{1,2})(0[1-9]|[1-9][0-9]{1,2})")

Square = tuple[float, float, float, float]


def cell_name(col: int, row: int) -> str:
    """Name a cell.

    Parameters
    ----------
    col, row : int
        Columns east and rows north of the grid's first, from 0.

    Returns
    -------
    str
        For example ``"C07"`` for column 2, row 6.

    Raises
    ------
    GeometryError
        If it lies before A01 or beyond ZZ999.
    """
    if not (0 <= col < MOST_COLUMNS and 0 <= row < MOST_ROWS):
        raise GeometryError(f"col={col!r}, row={row!r}: a grid runs from A01 to ZZ999")
    if col < 26:
        return f"{chr(65 + col)}{row + 1:02d}"
    first, second = divmod(col - 26, 26)
    return f"{chr(65 + first)}{chr(65 + second)}{row + 1:02d}"


def cell_index(name: str) -> tuple[int, int]:
    """Give column and row, from 0, of a cell's name.

    Raises
    ------
    GeometryError
        If it is no name of a cell.
    """
    match = _NAME.fullmatch(name)
    if match is None:
        raise GeometryError(f"cell={name!r}: no name of a cell; write it as C07")
    col = 0
    for letter in match[1]:
        col = col * 26 + ord(letter) - 64
    return col - 1, int(match[2]) - 1


def cell_of(grid: Grid, e: float, n: float) -> str | None:
    """Say in which square of the grid a place lies.

    Parameters
    ----------
    grid : Grid
        The block's.
    e, n : float
        [m]

    Returns
    -------
    str or None
        None west or south of the origin, beyond ZZ999, or where the place is not finite.
    """
    if not (math.isfinite(e) and math.isfinite(n)):
        return None
    col = math.floor((e - grid.origin_e) / grid.cell_m)
    row = math.floor((n - grid.origin_n) / grid.cell_m)
    if not (0 <= col < MOST_COLUMNS and 0 <= row < MOST_ROWS):
        return None
    return cell_name(col, row)


def cell_square(grid: Grid, name: str) -> Square:
    """Give west, south, east and north [m] of a cell's square."""
    col, row = cell_index(name)
    return (
        grid.origin_e + col * grid.cell_m,
        grid.origin_n + row * grid.cell_m,
        grid.origin_e + (col + 1) * grid.cell_m,
        grid.origin_n + (row + 1) * grid.cell_m,
    )


def origin_for(bounds: Square, cell_m: float, margin_cells: int) -> tuple[float, float]:
    """Choose the south-west corner of A01, on whole multiples of the cell's side.

    Parameters
    ----------
    bounds : tuple of float
        West, south, east, north of the outline. [m]
    cell_m : float
        Side of a cell. [m]
    margin_cells : int
        Empty cells to leave to the west and south, for a strip bought later.

    Returns
    -------
    tuple of float
        Easting and northing. [m]

    Raises
    ------
    GeometryError
        If the cell is smaller than 25 m, or the block is too wide for the names there are.
    """
    refuse_small_cells(cell_m)
    west, south, east, north = bounds
    origin_e = (math.floor(west / cell_m) - margin_cells) * cell_m
    origin_n = (math.floor(south / cell_m) - margin_cells) * cell_m
    if east - origin_e > MOST_COLUMNS * cell_m or north - origin_n > MOST_ROWS * cell_m:
        raise GeometryError(f"cell_m={cell_m!r}: the block needs more cells than A01 to ZZ999")
    return origin_e, origin_n


def refuse_small_cells(cell_m: float) -> None:
    """Refuse a side that a receiver cannot resolve.

    Raises
    ------
    GeometryError
        If `cell_m` is under 25 m or no number.
    """
    if not (math.isfinite(cell_m) and cell_m >= LEAST_CELL_M):
        raise GeometryError(f"cell_m={cell_m!r}: at least 25 m; 100 is usual, 50 under open sky")
