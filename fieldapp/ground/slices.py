"""Shapes cut into quadrilaterals between level lines: to fill them, and to hatch them.

Rule 1: the even-odd rule decides what is inside, so holes and parts need no order.
Rule 2: the quadrilaterals of one cut do not overlap, and together are the shape between the lines.
"""

from collections.abc import Iterable, Iterator
from itertools import pairwise

from fieldapp.ground.shapes import Point, Shape, edges_of

#: Four corners in turn; two of them may be one point.
Quad = tuple[Point, Point, Point, Point]


def slices(shape: Shape, low: float, high: float) -> Iterator[Quad]:
    """Cut out of a shape what lies between two level lines.

    Parameters
    ----------
    shape : Shape
        Closed rings that do not cross one another; in any unit.
    low, high : float
        The y of both lines, in the same unit.

    Yields
    ------
    Quad
        Trapezoids with level sides, from below upwards; none where the lines miss the shape or
        are one.

    Notes
    -----
    Between two neighbouring corner heights edges are straight and in one order, so the edges that
    span the gap, taken in pairs, bound the inside; derived.
    """
    yield from _cut(list(edges_of(shape)), low, high)


def whole(shape: Shape) -> Iterator[Quad]:
    """Cut all of a shape into trapezoids, as `slices` does."""
    edges = list(edges_of(shape))
    heights = [y for edge in edges for _, y in edge]
    if heights:
        yield from _cut(edges, min(heights), max(heights))


def bands(shape: Shape, pitch: float, width: float) -> Iterator[Quad]:
    """Cut level bars out of a shape.

    Parameters
    ----------
    shape : Shape
        As in `slices`.
    pitch : float
        From the foot of one bar to that of the next; each foot lies on a multiple of it.
    width : float
        Of a bar; less than `pitch`.

    Yields
    ------
    Quad
        The bars' parts, from below upwards.
    """
    edges = list(edges_of(shape))
    heights = [y for edge in edges for _, y in edge]
    if not heights:
        return
    bottom, top = min(heights), max(heights)
    for step in range(int(bottom // pitch), int(top // pitch) + 1):
        foot = step * pitch
        yield from _cut(edges, max(foot, bottom), min(foot + width, top))


def _cut(edges: Iterable[tuple[Point, Point]], low: float, high: float) -> Iterator[Quad]:
    near = [edge if edge[0][1] < edge[1][1] else (edge[1], edge[0]) for edge in edges
            if edge[0][1] != edge[1][1] and _meets(edge, low, high)]
    corners = (y for edge in near for _, y in edge if low < y < high)
    for foot, top in pairwise(sorted({low, high, *corners})):
        if foot >= top:
            continue
        sides = sorted(
            ((_x_at(edge, foot), _x_at(edge, top)) for edge in near
             if edge[0][1] <= foot and edge[1][1] >= top),
            key=lambda side: side[0] + side[1])
        for left, right in zip(sides[::2], sides[1::2], strict=True):
            yield (left[0], foot), (right[0], foot), (right[1], top), (left[1], top)


def _meets(edge: tuple[Point, Point], low: float, high: float) -> bool:
    a, b = edge[0][1], edge[1][1]
    return min(a, b) < high and max(a, b) > low


def _x_at(edge: tuple[Point, Point], y: float) -> float:
    (ax, ay), (bx, by) = edge
    if y == by:
        return bx
    return ax + (y - ay) / (by - ay) * (bx - ax)
