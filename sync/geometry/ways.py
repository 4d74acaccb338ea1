"""Ways on foot between places: straight where the ground is open, around where it is closed.

Rule 1: no way crosses closed ground.
Rule 2: a way leaves the block only where there is none within it.
"""

import dataclasses
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely
from scipy.sparse.csgraph import dijkstra
from shapely.geometry.polygon import orient

from sync.geometry.crs import Floats
from sync.geometry.shapes import Shape, bounds_of, polygonal

Place = tuple[float, float]
#: Bends keep so far from closed ground; doubled until the bends are few enough. [m]
_CLEAR_M = 0.5
_MOST_BENDS = 500
#: Ground of others is walked only where it saves more than this; own choice. [-]
_OUTSIDE = 3.0
_BEYOND_M = 200.0


@dataclasses.dataclass(frozen=True, eq=False)
class Ways:
    """The ways between places.

    Attributes
    ----------
    length_m : ndarray, shape (n, n)
        On foot; infinite where there is no way. [m]
    nodes : ndarray, shape (k, 2)
        The places first, then where a way may bend. [m]
    before : ndarray of int, shape (n, k)
        The node before each on the way from a place.
    """

    length_m: Floats
    nodes: Floats
    before: npt.NDArray[np.int32]

    def bends(self, start: int, end: int) -> tuple[Place, ...]:
        """Give where the way from one place to another bends; none if it is straight."""
        found: list[Place] = []
        at = int(self.before[start, end])
        while at >= 0 and at != start:
            found.append((float(self.nodes[at, 0]), float(self.nodes[at, 1])))
            at = int(self.before[start, at])
        return tuple(reversed(found))


def ways_between(ground: Shape, closed: Shape, places: Sequence[Place]) -> Ways:
    """Find the shortest ways between places.

    Parameters
    ----------
    ground : Shape
        The block's ground, the closed part of it too. [m]
    closed : Shape
        Closed ground. [m]
    places : sequence of (float, float)
        Easting and northing. [m]

    Returns
    -------
    Ways
        Between all of them.

    Notes
    -----
    The shortest way in a plane with obstacles bends only at their corners, so it is the shortest
    path in the graph of what sees what (Lozano-Pérez & Wesley 1979, *Communications of the ACM*
    22:560-570, from memory).
    """
    at = np.array(places, dtype=np.float64).reshape(-1, 2)
    free = polygonal(shapely.difference(ground, closed))
    nodes = np.vstack((at, _corners(free)))
    ways = _shortest(len(at), nodes, [(free, 1.0)])
    if np.isfinite(ways.length_m).all():
        return ways
    around = _outside(ground, closed, at)
    nodes = np.vstack((nodes, _corners(around)))
    return _shortest(len(at), nodes, [(free, 1.0), (around, _OUTSIDE)])


def straight_between(places: Sequence[Place]) -> Floats:
    """Give the straight distances between places. [m], shape (n, n)."""
    at = np.array(places, dtype=np.float64).reshape(-1, 2)
    apart: Floats = np.hypot(*(at[:, None, :] - at[None, :, :]).transpose(2, 0, 1))
    return apart


def _outside(ground: Shape, closed: Shape, at: Floats) -> Shape:
    west, south, east, north = bounds_of(ground)
    (least_e, least_n), (most_e, most_n) = at.min(axis=0), at.max(axis=0)
    box = shapely.box(min(west, least_e) - _BEYOND_M, min(south, least_n) - _BEYOND_M,
                      max(east, most_e) + _BEYOND_M, max(north, most_n) + _BEYOND_M)
    return polygonal(shapely.difference(box, closed))


def _corners(free: Shape) -> Floats:
    """Give the corners that a shortest way may bend at: those that jut into the open ground."""
    clear = _CLEAR_M
    while True:
        inner = shapely.buffer(free, -clear, join_style="mitre")
        inner = shapely.simplify(inner, clear / 2.0)
        found = [_reflex(ring) for part in shapely.get_parts(polygonal(inner))
                 for ring in _rings(part)]
        corners = np.vstack(found) if found else np.zeros((0, 2))
        if len(corners) <= _MOST_BENDS:
            return corners
        clear *= 2.0


def _rings(part: Shape) -> list[Floats]:
    turned = orient(part, 1.0)
    return [shapely.get_coordinates(turned.exterior),
            *(shapely.get_coordinates(ring) for ring in turned.interiors)]


def _reflex(ring: Floats) -> Floats:
    """Keep the corners with the ground on more than their half; ground lies to the left."""
    points = ring[:-1]
    into, out = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    kept: Floats = points[into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0] < 0.0]
    return kept


def _shortest(count: int, nodes: Floats, grounds: Sequence[tuple[Shape, float]]) -> Ways:
    one, other = np.triu_indices(len(nodes), 1)
    lines = shapely.linestrings(np.stack((nodes[one], nodes[other]), axis=1))
    length = np.hypot(*(nodes[one] - nodes[other]).T)
    cost = np.full(len(one), np.inf)
    for ground, dearer in grounds:
        shapely.prepare(ground)
        todo = np.flatnonzero(~np.isfinite(cost))
        seen = todo[shapely.covers(ground, lines[todo])]
        # Two plots in one place still are two nodes: an edge of 0 would be none.
        cost[seen] = dearer * np.maximum(length[seen], 1e-9)
    graph = np.full((len(nodes), len(nodes)), 0.0)
    joined = np.isfinite(cost)
    graph[one[joined], other[joined]] = graph[other[joined], one[joined]] = cost[joined]
    _, before = dijkstra(graph, indices=np.arange(count), return_predecessors=True)
    return Ways(_lengths(count, nodes, before), nodes, before)


def _lengths(count: int, nodes: Floats, before: npt.NDArray[np.int32]) -> Floats:
    """Give the length on the ground of the ways found, whatever their edges cost."""
    found = np.full((count, count), np.inf)
    for start in range(count):
        for end in range(count):
            at, length = end, 0.0
            while at != start and before[start, at] >= 0:
                last = int(before[start, at])
                length += float(np.hypot(*(nodes[at] - nodes[last])))
                at = last
            if at == start:
                found[start, end] = length
    return found
