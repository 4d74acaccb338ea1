"""How each state of the ground looks: fill, pattern and ink, told apart in grey as in colour.

Rule 1: these numbers are the only ones; a screen and a printed map draw from them.
Rule 2: patterns hang on the plane's origin, not on a shape: neighbours' patterns line up, and one
that moves with its ground does not crawl.
Rule 3: ink stays inside its shape, whatever the shape.
"""

import dataclasses
import math
from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import Literal

from fieldapp.ground import Band
from fieldapp.ground.shapes import Point, Shape, box_of, edges_of, holds, nearest_on
from fieldapp.ground.slices import Quad, bands, slices

Pattern = Literal["none", "bars", "uprights", "dots", "cross", "diagonals"]

#: From one bar, diagonal or row of dots to the next of its kind. [dp]
PITCH_DP = 8.0
#: Width of bars and diagonals, and of a dot. [dp]
INK_DP = 3.0
#: Width of the two strokes of a cross. [dp]
CROSS_DP = 6.0
_ROOT2 = math.sqrt(2.0)
#: Samples a side in each texel of a tile.
_SAMPLES = 2


@dataclasses.dataclass(frozen=True)
class Look:
    """How one state looks in full light.

    Attributes
    ----------
    fill, ink : str
        Colours of the ground and of the pattern and words on it, as `#rrggbb`.
    pattern : Pattern
        Its pattern.
    """

    fill: str
    pattern: Pattern
    ink: str


#: Sky and yellow are Okabe & Ito's, told apart by nearly all eyes; the green is lighter than
#: theirs, so that black reads on it. Ground that is picked out has the fill of resting ground,
#: with its bars upright.
LOOKS: Mapping[Band, Look] = MappingProxyType({
    "no_sheet": Look("#FFFFFF", "none", "#000000"),
    "cannot_tell": Look("#BFBFBF", "none", "#000000"),
    "outside": Look("#F0E442", "diagonals", "#000000"),
    "near_edge": Look("#FFFFFF", "none", "#000000"),
    "closed": Look("#000000", "cross", "#FFFFFF"),
    "resting": Look("#56B4E9", "bars", "#000000"),
    "unsurveyed": Look("#FFFFFF", "dots", "#000000"),
    "taken": Look("#56B4E9", "uprights", "#000000"),
    "ready": Look("#8CE99A", "none", "#000000"),
})


def strokes(pattern: Pattern, shape: Shape, *, dp: float = 1.0) -> Iterator[Quad]:
    """Give the strokes of a pattern inside a shape.

    Parameters
    ----------
    pattern : Pattern
        Any; `none` and `dots` have no strokes.
    shape : Shape
        Closed rings, y upwards, in any unit.
    dp : float
        One dp in that unit.

    Yields
    ------
    Quad
        Each piece of ink as its four corners, cut off exactly at the shape's border; those of
        the two strokes of a cross overlap. A cross runs from corner to corner of the upright box
        about the shape.
    """
    pitch, width = PITCH_DP * dp, INK_DP * dp
    if pattern == "bars":
        yield from bands(shape, pitch, width)
    elif pattern == "uprights":
        yield from _moved(bands(_placed(shape, _swap), pitch, width), _swap)
    elif pattern == "diagonals":
        yield from _moved(bands(_placed(shape, _turn(1.0, 1.0)), pitch, width), _turn(1.0, -1.0))
    elif pattern == "cross" and any(True for _ in edges_of(shape)):
        west, south, east, north = box_of(shape)
        for rise in (north - south, south - north):
            yield from _one_stroke(shape, (east - west, rise), CROSS_DP * dp)


def dots(pattern: Pattern, shape: Shape, *, dp: float = 1.0) -> Iterator[Point]:
    """Give the dots of a pattern inside a shape.

    Parameters
    ----------
    pattern : Pattern
        Any; only `dots` has dots.
    shape : Shape
        Closed rings, in any unit.
    dp : float
        One dp in that unit.

    Yields
    ------
    Point
        Centres of dots of `INK_DP` across, at least their radius within the shape.
    """
    if pattern != "dots" or not any(True for _ in edges_of(shape)):
        return
    pitch, radius = PITCH_DP * dp, INK_DP * dp / 2.0
    west, south, east, north = box_of(shape)
    for row in range(math.floor(2 * south / pitch), math.ceil(2 * north / pitch) + 1):
        y, first = (row / 2 + 0.25) * pitch, (row % 2) / 2 + 0.25
        for step in range(math.floor(west / pitch - first), math.ceil(east / pitch - first) + 1):
            x = (step + first) * pitch
            if holds(shape, x, y) and nearest_on(shape, x, y)[0] >= radius:
                yield x, y


def inked(pattern: Pattern, x: float, y: float) -> bool:
    """Say whether a pattern without end has ink at a point.

    Parameters
    ----------
    pattern : Pattern
        One that repeats: a cross belongs to a shape and has none here.
    x, y : float
        The point, y upwards. [dp]

    Returns
    -------
    bool
        The same places as `strokes` and `dots` ink, borders apart.
    """
    if pattern == "bars":
        return y % PITCH_DP < INK_DP
    if pattern == "uprights":
        return x % PITCH_DP < INK_DP
    if pattern == "diagonals":
        return (y - x) / _ROOT2 % PITCH_DP < INK_DP
    if pattern == "dots":
        across, up = x % PITCH_DP, y % PITCH_DP
        quarter = PITCH_DP / 4
        return any(math.hypot(across - at, up - at) <= INK_DP / 2 for at in (quarter, 3 * quarter))
    return False


def period_dp(pattern: Pattern) -> float:
    """Give the side of the smallest upright square [dp] that repeats to make a pattern."""
    return PITCH_DP * _ROOT2 if pattern == "diagonals" else PITCH_DP


def tile(pattern: Pattern, texels: int) -> tuple[tuple[float, ...], ...]:
    """Draw the square that repeats to make a pattern.

    Parameters
    ----------
    pattern : Pattern
        One that repeats.
    texels : int
        How many to a side.

    Returns
    -------
    tuple of tuple of float
        Share of ink in each texel, 0 to 1; rows from below, the first corner on the origin.
    """
    step = period_dp(pattern) / (texels * _SAMPLES)
    at = [(sample + 0.5) * step for sample in range(texels * _SAMPLES)]
    return tuple(
        tuple(_share(pattern, at[_SAMPLES * column:_SAMPLES * (column + 1)],
                     at[_SAMPLES * row:_SAMPLES * (row + 1)]) for column in range(texels))
        for row in range(texels))


def _share(pattern: Pattern, xs: list[float], ys: list[float]) -> float:
    return sum(inked(pattern, x, y) for x in xs for y in ys) / (len(xs) * len(ys))


def _one_stroke(shape: Shape, along: Point, width: float) -> Iterator[Quad]:
    """Cut one stroke of a cross: it runs along a direction through the middle of the box."""
    length = math.hypot(*along)
    if length == 0.0:
        return
    cos, sin = along[0] / length, along[1] / length
    west, south, east, north = box_of(shape)
    middle = _turn(cos, sin)(((west + east) / 2, (south + north) / 2))[1]
    turned = _placed(shape, _turn(cos, sin))
    yield from _moved(slices(turned, middle - width / 2, middle + width / 2), _turn(cos, -sin))


def _turn(cos: float, sin: float) -> Callable[[Point], Point]:
    """Make the turn that lays the direction (cos, sin), of any length, along x."""
    length = math.hypot(cos, sin)
    cos, sin = cos / length, sin / length
    return lambda point: (point[0] * cos + point[1] * sin, point[1] * cos - point[0] * sin)


def _swap(point: Point) -> Point:
    return point[1], point[0]


def _placed(shape: Shape, move: Callable[[Point], Point]) -> Shape:
    return tuple(tuple(tuple(map(move, ring)) for ring in part) for part in shape)


def _moved(quads: Iterator[Quad], move: Callable[[Point], Point]) -> Iterator[Quad]:
    for a, b, c, d in quads:
        yield move(a), move(b), move(c), move(d)
