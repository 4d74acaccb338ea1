"""The ground of a block on one day: every cell's shape, what of it is open, its class and parcel.

Rule 1: it is built once per block and day and never changes; nothing is kept between days.
Rule 2: a cell is its square within the outline of that day; open is what no closure and no hold of
that day takes away.
Rule 3: less than a sliver is no cell, and less than a sliver of open ground is none.
"""

import dataclasses
from collections.abc import Mapping, Sequence
from datetime import date
from types import MappingProxyType
from typing import Any

import numpy as np
import shapely

from sync.block import Block, Grid, holds_on
from sync.errors import GeometryError
from sync.geometry.carve import TIE_M2, most_of, opened_of, shapes_by, squares_of
from sync.geometry.crs import Projection
from sync.geometry.grid import cell_of, cell_square, refuse_small_cells
from sync.geometry.shapes import (
    NOTHING,
    Shape,
    Shapes,
    all_polygonal,
    area_m2,
    areas_m2,
    polygonal,
    shape_of,
    union_of,
)
from sync.settings import Tunables

#: The ground class of a block without a class map, and of ground that its map leaves out.
WITHOUT_CLASS = "all"
_DEFAULTS = Tunables()


@dataclasses.dataclass(frozen=True)
class Hold:
    """A closing that comes from a record, such as a spraying: of cells or of an outline.

    Attributes
    ----------
    why : str
        One or a few words.
    since, until : date or None
        First and last day; None is open.
    cells : tuple of str
        Whole squares closed.
    outline : mapping or None
        GeoJSON polygon closed, in degrees.
    """

    why: str
    since: date | None
    until: date | None
    cells: tuple[str, ...] = ()
    outline: Mapping[str, Any] | None = None


@dataclasses.dataclass(frozen=True)
class Closing:
    """One closing in force: `why`, its first and last day (None is open), where, and from what.

    `hold` is true of a closing that comes from a record, false of one on the owner's map.
    """

    why: str
    since: date | None
    until: date | None
    hold: bool
    shape: Shape = dataclasses.field(repr=False)


@dataclasses.dataclass(frozen=True)
class CellGround:
    """One cell's ground on the day.

    Attributes
    ----------
    cell : str
        Its name.
    shape, open_shape : Shape
        All of it, and what is open. [m]
    area_m2, open_m2 : float
        Geodesic areas of the two. [m²]
    ground_class : str
        That of most of its open ground, of all its ground where none is open.
    parcel : str or None
        That of most of its ground; None where the outline names none.
    rectangular : bool
        Whether it is the whole square.
    closings : tuple of Closing
        Those that take some of it away.
    closed, held : Shape
        What the owner's closures take of it, and what holds from records do. [m]
    clear_m : float
        How far its square is from the outline's border; 0 where that crosses or touches it. [m]
    """

    cell: str
    shape: Shape = dataclasses.field(repr=False)
    open_shape: Shape = dataclasses.field(repr=False)
    area_m2: float
    open_m2: float
    ground_class: str
    parcel: str | None
    rectangular: bool
    closings: tuple[Closing, ...] = ()
    closed: Shape = dataclasses.field(repr=False, default=NOTHING)
    held: Shape = dataclasses.field(repr=False, default=NOTHING)
    clear_m: float = 0.0


@dataclasses.dataclass(frozen=True)
class Ground:
    """A block's ground on one day.

    Attributes
    ----------
    day : date
        Local day.
    grid : Grid
        The block's.
    projection : Projection
        The block's.
    outline : Shape
        All of the block. [m]
    outline_area_m2 : float
        Geodesic. [m²]
    cells : mapping of str to CellGround
        By name, in the order of column and row.
    closings : tuple of Closing
        All in force, also those that lie outside the outline.
    maps : str
        A sum of the maps and holds in force; empty where nobody summed them up.
    """

    day: date
    grid: Grid
    projection: Projection = dataclasses.field(repr=False)
    outline: Shape = dataclasses.field(repr=False)
    outline_area_m2: float
    cells: Mapping[str, CellGround] = dataclasses.field(repr=False)
    closings: tuple[Closing, ...] = dataclasses.field(repr=False)
    maps: str = ""

    def clear_of_border_m(self, e: float, n: float) -> float:
        """Give how far off the border is at least, by a place's cell; 0 if it cannot tell [m]."""
        cell = self.cells.get(cell_of(self.grid, e, n) or "")
        return 0.0 if cell is None else cell.clear_m

    def closures_of(self, cell: str) -> tuple[Closing, ...]:
        """Give what closes some of a cell on the day; empty of a place that is no cell."""
        return self.cells[cell].closings if cell in self.cells else ()

    def closed_shape(self, cell: str) -> Shape:
        """Give the part of a cell that is closed, by closures and holds; empty if none is [m]."""
        if cell not in self.cells:
            return NOTHING
        return union_of([self.cells[cell].closed, self.cells[cell].held])


def ground_on(
    block: Block,
    projection: Projection,
    day: date,
    *,
    holds: Sequence[Hold] = (),
    settings: Tunables = _DEFAULTS,
) -> Ground:
    """Work out a block's ground on a day.

    Parameters
    ----------
    block : Block
        Its grid, outline, class map and closures.
    projection : Projection
        Of `block.epsg`.
    day : date
        Local day.
    holds : sequence of Hold
        Closings from records; those not in force that day are passed over.
    settings : Tunables
        For the least area of a cell.

    Returns
    -------
    Ground
        Of that day. A block may have no cell on a day before its first outline holds.

    Raises
    ------
    GeometryError
        If a map is broken beyond mending, the outline leaves the grid, or the coordinate system is
        meant for another place.
    """
    refuse_small_cells(block.grid.cell_m)
    if not block.outline:
        raise GeometryError("outline.geojson: holds no polygon; draw the block's outline")
    outlines = shapes_by(block.outline, projection, day, "parcel", "outline.geojson")
    outline = union_of([shape for _, shape in outlines])
    names, squares = squares_of(block.grid, outline, projection)
    shapes = all_polygonal(shapely.intersection(squares, outline))
    areas = areas_m2(projection, shapes)
    kept = areas >= settings.sliver_m2
    names, squares, shapes, areas = names[kept], squares[kept], shapes[kept], areas[kept]
    closings = _closings(block, projection, day, holds)
    opened, open_m2 = opened_of(
        projection, shapes, areas, union_of([c.shape for c in closings]), settings.sliver_m2)
    classes = shapes_by(block.classes, projection, day, "ground_class", "classes.geojson")
    class_of = most_of(np.where(open_m2 > 0.0, opened, shapes), classes, WITHOUT_CLASS)
    parcel_of = most_of(shapes, outlines, None)
    whole = shapely.area(shapes) >= shapely.area(squares) * (1.0 - 1e-9)
    touched = _touching(shapes, closings)
    clear_m = shapely.distance(squares, outline.boundary)
    cells = {
        str(name): CellGround(
            str(name), shapes[i], opened[i], float(areas[i]), float(open_m2[i]),
            class_of[i] or WITHOUT_CLASS, parcel_of[i], bool(whole[i]), touched[i],
            _taken(shapes[i], touched[i], hold=False), _taken(shapes[i], touched[i], hold=True),
            float(clear_m[i]))
        for i, name in enumerate(names)
    }
    return Ground(day, block.grid, projection, outline, area_m2(projection, outline),
                  MappingProxyType(cells), closings)


def _closings(
    block: Block, projection: Projection, day: date, holds: Sequence[Hold]
) -> tuple[Closing, ...]:
    closures = [
        Closing(str(f.properties.get("why") or "closed"), f.since, f.until, False,
                shape_of(projection, f.geometry, f"closures.geojson feature {number}"))
        for number, f in enumerate(block.closures, start=1) if holds_on(day, f.since, f.until)
    ]
    held = [
        Closing(hold.why, hold.since, hold.until, True, _held(block.grid, projection, hold))
        for hold in holds if holds_on(day, hold.since, hold.until)
    ]
    return tuple(closures + held)


def _held(grid: Grid, projection: Projection, hold: Hold) -> Shape:
    squares = [shapely.box(*cell_square(grid, cell)) for cell in hold.cells]
    drawn = [] if hold.outline is None else [shape_of(projection, hold.outline, hold.why)]
    return union_of(squares + drawn)


def _touching(shapes: Shapes, closings: Sequence[Closing]) -> list[tuple[Closing, ...]]:
    if not closings:
        return [() for _ in shapes]
    grounds = np.array([closing.shape for closing in closings], dtype=object)
    shared = shapely.area(shapely.intersection(shapes[:, None], grounds[None, :]))
    return [tuple(c for c, m2 in zip(closings, row, strict=True) if m2 > TIE_M2)
            for row in shared]


def _taken(shape: Shape, touched: Sequence[Closing], *, hold: bool) -> Shape:
    grounds = [closing.shape for closing in touched if closing.hold == hold]
    return polygonal(shapely.intersection(shape, union_of(grounds))) if grounds else NOTHING
