"""Plain geometry as what a canvas draws: fields, discs and lines, in as few pieces as may be.

Rule 1: no piece passes what a canvas can draw of one.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, islice, pairwise

from kivy.graphics import Line, Mesh

from fieldapp.ground.shapes import Point
from fieldapp.ground.slices import Quad

#: A mesh counts its corners in 16 bits.
_MOST_CORNERS = 65_535
#: Most quadrilaterals of one mesh.
MOST_QUADS = _MOST_CORNERS // 4
#: A wide line loses its end somewhat below 5,000 points.
MOST_POINTS = 1_000
#: Corners that a small dot is drawn with.
_DOT_CORNERS = 12
#: Bars that a circle is drawn with.
_HOOP_BARS = 48
#: At a half width of 1 px and less a canvas draws a hair line, whatever is asked. [px]
_LEAST_HALF = 1.001


def quad_meshes(quads: Iterable[Quad]) -> Iterator[Mesh]:
    """Make meshes of quadrilaterals without hollow corners. [px]."""
    left = iter(quads)
    while some := list(islice(left, MOST_QUADS)):
        vertices = [value for quad in some for x, y in quad for value in (x, y, 0.0, 0.0)]
        yield Mesh(vertices=vertices, indices=quad_indices(len(some)), mode="triangles")


def quad_indices(count: int) -> list[int]:
    """Give the corners of two triangles for each of so many quadrilaterals."""
    return [at + corner for at in range(0, 4 * count, 4) for corner in (0, 1, 2, 0, 2, 3)]


def dot_meshes(centres: Iterable[Point], radius: float, *,
               corners: int = _DOT_CORNERS) -> Iterator[Mesh]:
    """Make meshes of round dots of one radius, each drawn with so many corners. [px]."""
    rim = [(radius * math.cos(k * math.tau / corners), radius * math.sin(k * math.tau / corners))
           for k in range(corners)]
    left = iter(centres)
    while some := list(islice(left, _MOST_CORNERS // corners)):
        vertices = [value for x, y in some for dx, dy in rim
                    for value in (x + dx, y + dy, 0.0, 0.0)]
        indices = [at + corner for at in range(0, corners * len(some), corners)
                   for k in range(1, corners - 1) for corner in (0, k, k + 1)]
        yield Mesh(vertices=vertices, indices=indices, mode="triangles")


def rails(rings: Iterable[Sequence[Point]], width: float) -> Iterator[Quad]:
    """Give the edges of closed rings as bars, `width` across and squared off. [px]."""
    half = width / 2
    for ring in rings:
        for (ax, ay), (bx, by) in pairwise(ring):
            length = math.hypot(bx - ax, by - ay)
            if length > 0:
                x, y = (bx - ax) / length * half, (by - ay) / length * half
                yield ((ax - x + y, ay - y - x), (bx + x + y, by + y - x),
                       (bx + x - y, by + y + x), (ax - x - y, ay - y + x))


def hoop(radius: float, width: float, *, dashed: bool) -> Iterator[Quad]:
    """Give a circle about the origin as short bars, every second one if dashed. [px]."""
    inner, outer = max(0.0, radius - width / 2), radius + width / 2
    for step in range(0, _HOOP_BARS, 2 if dashed else 1):
        (ax, ay), (bx, by) = (
            (math.cos(at), math.sin(at))
            for at in (step * math.tau / _HOOP_BARS, (step + 1) * math.tau / _HOOP_BARS))
        yield ((inner * ax, inner * ay), (outer * ax, outer * ay),
               (outer * bx, outer * by), (inner * bx, inner * by))


def fan(points: Sequence[Point]) -> Mesh:
    """Make a mesh of an outline that is seen whole from its first point. [px]."""
    vertices = [value for x, y in points for value in (x, y, 0.0, 0.0)]
    return Mesh(vertices=vertices, indices=list(range(len(points))), mode="triangle_fan")


def lines(points: Sequence[Point], width: float, *, closed: bool = False,
          joint: str = "round") -> Iterator[Line]:
    """Make lines through points, `width` and at least 2 px across, in pieces that meet. [px]."""
    if len(points) < 2:
        return
    path = [*points, points[0]] if closed and len(points) > MOST_POINTS else points
    joined = closed and path is points
    for start in range(0, len(path) - 1, MOST_POINTS - 1):
        piece = path[start:start + MOST_POINTS]
        yield Line(points=list(chain.from_iterable(piece)), close=joined, joint=joint,
                   width=max(width / 2, _LEAST_HALF), cap="none" if joined else "round")
