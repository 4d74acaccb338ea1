"""The ground of the map as instructions: fills, patterns, borders; built when one of them changes.

Rule 1: few pieces, whatever the number of cells: a mesh or two per state.
Rule 2: patterns keep their size on the screen and hang on the plane's origin.
"""

import dataclasses
import math
from collections.abc import Iterable, Iterator

from kivy.graphics import Color, Mesh
from kivy.graphics.instructions import Instruction
from kivy.metrics import dp

from fieldapp.ground.patterns import Look, period_dp, strokes
from fieldapp.ground.shapes import Point, Shape
from fieldapp.phone.map_shown import Ground, MapShown
from fieldapp.ui.meshes import MOST_QUADS, quad_indices, quad_meshes, rails
from fieldapp.ui.palette import Palette, rgba
from fieldapp.ui.tiles import Tiles

#: Width of a cell's border and of the block's. [dp]
BORDER_DP, OUTLINE_DP = 2.0, 4.0


@dataclasses.dataclass(frozen=True)
class View:
    """How metres of the plane become pixels: so many to the metre, counted from a point [m]."""

    px_per_m: float
    origin: Point

    def at(self, point: Point) -> Point:
        """Give a point of the plane [m] in pixels."""
        return ((point[0] - self.origin[0]) * self.px_per_m,
                (point[1] - self.origin[1]) * self.px_per_m)

    def shape(self, shape: Shape) -> Shape:
        """Give a shape [m] in pixels."""
        return tuple(tuple(tuple(map(self.at, ring)) for ring in part) for part in shape)


def ground(shown: MapShown, view: View, palette: Palette, tiles: Tiles) -> Iterator[Instruction]:
    """Draw cells, closed ground and outline.

    Parameters
    ----------
    shown : MapShown
        Its `cells`, `closed` and `outline`.
    view : View
        Where they come to lie.
    palette : Palette
        In which light.
    tiles : Tiles
        Textures.

    Yields
    ------
    Instruction
        Closed ground lies over cells that are open, cells that are closed over both.
    """
    for band in ("ready", "resting", "taken", "unsurveyed"):
        cells = [one for one in shown.cells if one.band == band]
        yield from _filled(cells, view, palette.fills[band], tiles)
    closed_cells = [one for one in shown.cells if one.band == "closed"]
    for some in (shown.closed, closed_cells):
        yield from _filled(some, view, palette.fills["closed"], tiles)
        yield from _crossed(some, view, palette.fills["closed"])
    yield Color(*rgba(palette.ink))
    rings = (ring for one in shown.cells for part in one.shape for ring in part)
    yield from quad_meshes(rails((_px(ring, view) for ring in rings), dp(BORDER_DP)))
    rims = (ring for part in shown.outline for ring in part)
    yield from quad_meshes(rails((_px(ring, view) for ring in rims), dp(OUTLINE_DP)))


def _filled(some: Iterable[Ground], view: View, look: Look,
            tiles: Tiles) -> Iterator[Instruction]:
    """Fill ground of one state, a mesh for up to 16,000 pieces."""
    if look.pattern in ("none", "cross"):
        yield Color(*rgba(look.fill))
        yield from quad_meshes(
            tuple(map(view.at, quad)) for one in some for quad in one.pieces)  # type: ignore[misc]
        return
    yield Color(1, 1, 1, 1)
    scale = view.px_per_m / dp(period_dp(look.pattern))
    values: list[float] = []
    for one in some:
        u, v = (math.floor(one.box[side] * scale) for side in (0, 1))
        for x, y in (corner for quad in one.pieces for corner in quad):
            values += (*view.at((x, y)), x * scale - u, y * scale - v)
    for start in range(0, len(values), 16 * MOST_QUADS):
        vertices = values[start:start + 16 * MOST_QUADS]
        yield Mesh(vertices=vertices, indices=quad_indices(len(vertices) // 16),
                   mode="triangles", texture=tiles.of(look))


def _crossed(some: Iterable[Ground], view: View, look: Look) -> Iterator[Instruction]:
    yield Color(*rgba(look.ink))
    yield from quad_meshes(stroke for one in some
                           for stroke in strokes(look.pattern, view.shape(one.shape), dp=dp(1)))


def _px(ring: Iterable[Point], view: View) -> list[Point]:
    return [view.at(point) for point in ring]
