"""The paper a map is drawn on: which metres of ground, and how many units of drawing a metre is.

Rule 1: x runs east and y runs down, in units of drawing, of which a screen shows one a pixel.
Rule 2: coordinates are rounded to a tenth of a unit, so that a map is small and its bytes are the
same each time.
"""

import dataclasses
import math
from typing import Any

from fieldapp.ground.shapes import Shape as PlaneShape
from sync.geometry.coords import rings_m
from sync.geometry.ground import Ground
from sync.geometry.shapes import Shape, bounds_of

Bounds = tuple[float, float, float, float]


@dataclasses.dataclass(frozen=True)
class View:
    """A window on the ground.

    Attributes
    ----------
    west, south, east, north : float
        Its sides. [m]
    unit_m : float
        Units of drawing a metre.
    """

    west: float
    south: float
    east: float
    north: float
    unit_m: float

    @property
    def width(self) -> float:
        """Its width in units of drawing."""
        return (self.east - self.west) * self.unit_m

    @property
    def height(self) -> float:
        """Its height in units of drawing."""
        return (self.north - self.south) * self.unit_m

    def at(self, e: float, n: float) -> tuple[float, float]:
        """Give where a place [m] lies on the drawing, y down."""
        return (e - self.west) * self.unit_m, (self.north - n) * self.unit_m


def figure(value: float) -> str:
    """Write a coordinate to a tenth, without a needless nought; never −0."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def path_of(view: View, shape: Shape) -> str:
    """Write a shape as the data of an SVG path.

    Parameters
    ----------
    view : View
        The window.
    shape : Shape
        [m]

    Returns
    -------
    str
        Rings of polygons, each closed; empty of an empty shape. Holes are left out by the even-odd
        rule.
    """
    origin = (view.west, view.north)
    return "".join(_ring(view, ring) for part in rings_m(shape, origin=origin) for ring in part)


def _ring(view: View, ring: list[list[float]]) -> str:
    corners = (f"{figure(x * view.unit_m)} {figure(-y * view.unit_m)}" for x, y in ring[:-1])
    return f"M{'L'.join(corners)}Z"


def plane_shape(view: View, shape: Shape) -> PlaneShape:
    """Give a shape in units of drawing with y upwards, as `fieldapp.ground.patterns` takes it."""
    nested: Any = rings_m(shape, origin=(view.west, view.north))
    return tuple(
        tuple(tuple((x * view.unit_m, y * view.unit_m) for x, y in ring) for ring in part)
        for part in nested)


def bounds_on(ground: Ground) -> Bounds:
    """Give the sides [m] of a block; of one without ground that day, those of its first cell."""
    sides = bounds_of(ground.outline)
    if not any(math.isnan(side) for side in sides):
        return sides
    grid = ground.grid
    return (grid.origin_e, grid.origin_n, grid.origin_e + grid.cell_m, grid.origin_n + grid.cell_m)


def view_of(bounds: Bounds, *, width: float, height: float, most_unit_m: float) -> View:
    """Choose a window so that it fits.

    Parameters
    ----------
    bounds : Bounds
        What it shows. [m]
    width, height : float
        Room there is. [units of drawing]
    most_unit_m : float
        No larger than this, however small the ground. [units a metre]

    Returns
    -------
    View
        Exactly about the bounds.
    """
    west, south, east, north = bounds
    return View(west, south, east, north,
                min(width / (east - west), height / (north - south), most_unit_m))


def meets(view: View, shape: Shape) -> bool:
    """Say whether a window shows some of the box about a shape."""
    west, south, east, north = bounds_of(shape)
    return (west < view.east and east > view.west and south < view.north
            and north > view.south)
