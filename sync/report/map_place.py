"""Where the words of a cell stand: inside its ground if they fit, else beside it in its square.

Rule 1: words never leave the square of their own cell, so no two cells' words meet.
Rule 2: the square of a piece cut off by the outline is empty beyond the outline: there is room for
the name of a sliver too small to hold it.
Rule 3: words keep off signs that are drawn in the same place.
"""

import dataclasses
from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from sync.geometry.ground import CellGround
from sync.geometry.shapes import Shape, bounds_of, covers
from sync.report.map_view import Bounds, View

Floats = npt.NDArray[np.float64]

#: Sizes tried, against the full one: inside the ground, then beside it.
_INSIDE, _BESIDE = (1.0, 0.8, 0.65), (0.75, 0.6)
#: Places tried to a side of the square.
_STEPS = 21
#: Kept from the square's border, and from ground the words stand beside. [units of drawing]
_INSET, _OFF = 1.0, 3.5


@dataclasses.dataclass(frozen=True)
class Spot:
    """A place for words: their middle [m], their size against the full one, and on what.

    `on_ground` is false where they stand beside the cell's ground, on the bare page.
    """

    e: float
    n: float
    scale: float
    on_ground: bool


def spot_for(
    view: View,
    ground: CellGround,
    square: Bounds,
    size: tuple[float, float],
    avoid: Sequence[Bounds],
) -> Spot:
    """Choose where words stand.

    Parameters
    ----------
    view : View
        The window: words stay in it.
    ground : CellGround
        The cell's; its open part is preferred.
    square : Bounds
        The cell's whole square. [m]
    size : tuple of float
        Width and height of the words at their full size. [units of drawing]
    avoid : sequence of Bounds
        Boxes of signs. [m]

    Returns
    -------
    Spot
        The first that fits, as near as can be to the middle of the ground; where none fits, the
        middle, at the smallest size.
    """
    shape = ground.shape if ground.open_shape.is_empty else ground.open_shape
    west, south, east, north = bounds_of(shape)
    middle = (west + east) / 2, (south + north) / 2
    wide, high = size[0] / view.unit_m, size[1] / view.unit_m
    for scale in _INSIDE:
        box = wide * scale, high * scale
        for e, n in _fitting(view, square, middle, box, avoid, shape, inside=True):
            return Spot(e, n, scale, True)
    for scale in _BESIDE:
        more = 2 * _OFF / view.unit_m
        box = wide * scale + more, high * scale + more
        for e, n in _fitting(view, square, middle, box, avoid, ground.shape, inside=False):
            return Spot(e, n, scale, False)
    return Spot(*middle, _BESIDE[-1], True)


def _fitting(
    view: View, square: Bounds, middle: tuple[float, float], box: tuple[float, float],
    avoid: Sequence[Bounds], shape: Shape, *, inside: bool,
) -> Iterator[tuple[float, float]]:
    """Give the places at which a box lies in a shape, or clear of it, nearest first."""
    places = _places(view, square, middle, box)
    if not len(places):
        return
    dx, dy = (part.ravel() / 2 for part in np.meshgrid(
        np.linspace(-box[0], box[0], 9), np.linspace(-box[1], box[1], 5)))
    e, n = places[:, :1] + dx, places[:, 1:] + dy
    held = covers(shape, e.ravel(), n.ravel()).reshape(e.shape)
    fits = held.all(axis=1) if inside else ~held.any(axis=1)
    for x, y in places[fits]:
        if not any(_meet(float(x), float(y), box, sign) for sign in avoid):
            yield float(x), float(y)


def _places(
    view: View, square: Bounds, middle: tuple[float, float], box: tuple[float, float]
) -> Floats:
    """Give middles of a box that keep it in square and window, by distance from a middle."""
    inset = _INSET / view.unit_m
    sides = (
        (max(square[0], view.west), min(square[2], view.east), box[0], middle[0]),
        (max(square[1], view.south), min(square[3], view.north), box[1], middle[1]),
    )
    axes = []
    for low, high, length, about in sides:
        least, most = low + length / 2 + inset, high - length / 2 - inset
        if least > most:
            return np.zeros((0, 2))
        axes.append(np.append(np.linspace(least, most, _STEPS), min(max(about, least), most)))
    e, n = (part.ravel() for part in np.meshgrid(*axes))
    order = np.lexsort((n, e, np.hypot(e - middle[0], n - middle[1]).round(3)))
    return np.column_stack((e, n))[order]


def _meet(e: float, n: float, box: tuple[float, float], sign: Bounds) -> bool:
    west, south, east, north = sign
    return (abs(e - (west + east) / 2) < (box[0] + east - west) / 2
            and abs(n - (south + north) / 2) < (box[1] + north - south) / 2)
