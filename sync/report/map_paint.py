"""How ground is painted on a map: by its state as on the phone, or by the class of a layer.

Rule 1: a layer's classes are told apart by marks of their own, which no state has, and by how
close the marks stand; a fill is a help and never the only sign.
Rule 2: marks hang on the drawing's origin and stand whole within their ground.
Rule 3: ground that nobody read is hatched, so that it looks unlike none at all.
"""

import dataclasses
import math
from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import Literal

from markupsafe import Markup

from fieldapp.ground import State
from fieldapp.ground.patterns import LOOKS
from fieldapp.ground.shapes import Point, Shape, box_of, edges_of, holds, nearest_on
from fieldapp.ground.slices import bands
from sync.report.map_looks import ink_of
from sync.report.map_view import figure

Mark = Literal["none", "plus", "dash", "up", "down", "square", "diamond", "hatch"]

#: Corners of each mark within a square from −1 to 1, y upwards.
_CORNERS: Mapping[Mark, tuple[Point, ...]] = MappingProxyType({
    "plus": ((-.3, -1), (.3, -1), (.3, -.3), (1, -.3), (1, .3), (.3, .3), (.3, 1), (-.3, 1),
             (-.3, .3), (-1, .3), (-1, -.3), (-.3, -.3)),
    "dash": ((-1, -.28), (1, -.28), (1, .28), (-1, .28)),
    "up": ((-1, -.8), (1, -.8), (0, 1)),
    "down": ((-1, .8), (1, .8), (0, -1)),
    "square": ((-.7, -.7), (.7, -.7), (.7, .7), (-.7, .7)),
    "diamond": ((-1, 0), (0, -1), (1, 0), (0, 1)),
})
#: Half a mark's side; pitch and width of the hatch. [units of drawing]
_HALF, _HATCH_PITCH, _HATCH_WIDE = 3.2, 9.0, 1.1
_SWATCH = (36.0, 24.0)
_INK = "#000000"
_ROOT2 = math.sqrt(2.0)


@dataclasses.dataclass(frozen=True)
class Tone:
    """A class of a layer: its name with what stands in its blanks, fill, mark and pitch.

    `pitch` is from one mark to the next of its row. [units of drawing]
    """

    key: str
    words: str
    values: Mapping[str, str]
    fill: str
    mark: Mark
    pitch: float = 0.0


@dataclasses.dataclass(frozen=True)
class Paint:
    """What ground looks like: its class in the style sheet, colours, and its pattern.

    Attributes
    ----------
    name : str
        A state, or `tone`.
    plain : bool
        Whether no pattern runs through words on it.
    drawn : callable
        Gives the pattern in a shape [units of drawing, y upwards].
    """

    name: str
    fill: str
    ink: str
    plain: bool
    drawn: Callable[[Shape], Markup]


def state_paint(state: State) -> Paint:
    """Give the paint of a state, from the phone's looks."""
    look = LOOKS[state]
    return Paint(state, look.fill, look.ink, look.pattern == "none",
                 lambda shape: ink_of(state, shape))


def tone_paint(tone: Tone) -> Paint:
    """Give the paint of a class of a layer."""
    return Paint("tone", tone.fill, _INK, tone.mark == "none",
                 lambda shape: _marked(tone, shape))


def swatch(paint: Paint) -> Markup:
    """Draw a paint by itself, for a key: an SVG of its own."""
    wide, high = _SWATCH
    box: Shape = ((((0.0, 0.0), (wide, 0.0), (wide, -high), (0.0, -high), (0.0, 0.0)),),)
    return Markup(
        '<svg class="map swatch" width="{0}" height="{1}" viewBox="0 0 {0} {1}" '
        'aria-hidden="true"><rect class="fill {2}" width="{0}" height="{1}" fill="{3}"/>{4}'
        '<rect class="edge" x="0.5" y="0.5" width="{5}" height="{6}" fill="none" '
        'stroke="#000000"/></svg>'
    ).format(figure(wide), figure(high), paint.name, paint.fill, paint.drawn(box),
             figure(wide - 1), figure(high - 1))


def _marked(tone: Tone, shape: Shape) -> Markup:
    if tone.mark == "none":
        return Markup("")
    polygons = _hatch(shape) if tone.mark == "hatch" else _marks(tone.mark, tone.pitch, shape)
    drawn = "".join("M" + "L".join(f"{figure(x)} {figure(-y)}" for x, y in polygon) + "Z"
                    for polygon in polygons)
    return Markup('<path class="ink ink-tone" d="{}" fill="{}"/>').format(
        drawn, _INK) if drawn else Markup("")


def _marks(mark: Mark, pitch: float, shape: Shape) -> Iterator[tuple[Point, ...]]:
    for x, y in mark_places(pitch, shape):
        yield tuple((x + _HALF * dx, y + _HALF * dy) for dx, dy in _CORNERS[mark])


def mark_places(pitch: float, shape: Shape) -> Iterator[Point]:
    """Give the middles of marks in staggered rows, each mark whole within a shape.

    Parameters
    ----------
    pitch : float
        From mark to mark of a row; rows are half of it apart. [units of drawing]
    shape : Shape
        In units of drawing, y upwards.

    Yields
    ------
    Point
        From below, row by row.
    """
    if not any(True for _ in edges_of(shape)):
        return
    west, south, east, north = box_of(shape)
    for row in range(math.floor(2 * south / pitch), math.ceil(2 * north / pitch) + 1):
        y, first = (row / 2 + 0.25) * pitch, (row % 2) / 2 + 0.25
        for step in range(math.floor(west / pitch - first), math.ceil(east / pitch - first) + 1):
            x = (step + first) * pitch
            if holds(shape, x, y) and nearest_on(shape, x, y)[0] >= _HALF * _ROOT2:
                yield x, y


def _hatch(shape: Shape) -> Iterator[tuple[Point, ...]]:
    """Draw thin lines that fall to the right; the diagonals outside a block rise."""
    turned = tuple(tuple(tuple(_turn(*point) for point in ring) for ring in part)
                   for part in shape)
    for quad in bands(turned, _HATCH_PITCH, _HATCH_WIDE):
        yield tuple(_back(*point) for point in quad)


def _turn(x: float, y: float) -> Point:
    return (x - y) / _ROOT2, (x + y) / _ROOT2


def _back(x: float, y: float) -> Point:
    return (x + y) / _ROOT2, (y - x) / _ROOT2
