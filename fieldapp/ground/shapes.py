"""Plane geometry of the ground sheet: inside, how far, which way, how likely.

Rule 1: all is in metres on the sheet's plane, x east and y north; nothing here knows degrees.
Rule 2: a shape is a multipolygon as GeoJSON nests it: parts of rings, each ring closed, holes
after their outer ring; which way a ring turns does not matter.
Rule 3: two shapes that share a border share no point of it: each border point is in at most one.
"""

import math
from collections.abc import Iterator
from itertools import pairwise

Point = tuple[float, float]
Ring = tuple[Point, ...]
Shape = tuple[tuple[Ring, ...], ...]
Box = tuple[float, float, float, float]

#: The eight winds, clockwise from north.
WINDS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
#: 68 % radius of a circular normal in standard deviations, sqrt(-2 ln(1 - 0.68)); derived.
R68_PER_SIGMA = math.sqrt(-2.0 * math.log(1.0 - 0.68))
#: Beyond this many standard deviations the normal density adds less than 1e-16.
_FAR_SIGMAS = 8.5
#: Nodes and weights of the 8-point Gauss-Legendre rule on -1..1 (Abramowitz & Stegun, table 25.4).
_GAUSS = (
    (0.183434642495650, 0.362683783378362),
    (0.525532409916329, 0.313706645877887),
    (0.796666477413627, 0.222381034453374),
    (0.960289856497536, 0.101228536290376),
)


def edges_of(shape: Shape) -> Iterator[tuple[Point, Point]]:
    """Walk along every edge of a shape, holes too.

    Parameters
    ----------
    shape : Shape
        Closed rings. [m]

    Yields
    ------
    tuple of Point
        Both ends of one edge. [m]
    """
    for part in shape:
        for ring in part:
            yield from pairwise(ring)


def box_of(shape: Shape) -> Box:
    """Give the upright box about a shape.

    Parameters
    ----------
    shape : Shape
        At least one ring. [m]

    Returns
    -------
    Box
        West, south, east, north. [m]
    """
    xs = [x for part in shape for x, _ in part[0]]
    ys = [y for part in shape for _, y in part[0]]
    return min(xs), min(ys), max(xs), max(ys)


def box_distance_m(box: Box, x: float, y: float) -> float:
    """Give the distance [m] from a point to a box, 0 within it."""
    west, south, east, north = box
    return math.hypot(max(west - x, 0.0, x - east), max(south - y, 0.0, y - north))


def holds(shape: Shape, x: float, y: float) -> bool:
    """Say whether a point lies in a shape.

    Parameters
    ----------
    shape : Shape
        Closed rings. [m]
    x, y : float
        The point. [m]

    Returns
    -------
    bool
        False in a hole. A point on a border that two shapes share is in one of them.

    Notes
    -----
    Even-odd rule with half-open edges; common practice, no source.
    """
    inside = False
    for (ax, ay), (bx, by) in edges_of(shape):
        if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax):
            inside = not inside
    return inside


def nearest_on(shape: Shape, x: float, y: float) -> tuple[float, Point]:
    """Find the nearest point of a shape's borders.

    Parameters
    ----------
    shape : Shape
        Closed rings with at least one edge. [m]
    x, y : float
        The point asked from, inside or outside. [m]

    Returns
    -------
    distance_m : float
        How far it is. [m]
    nearest : Point
        Where it is; of equally near points the first along the rings. [m]
    """
    best, at = math.inf, (x, y)
    for (ax, ay), (bx, by) in edges_of(shape):
        dx, dy = bx - ax, by - ay
        length2 = dx * dx + dy * dy
        t = 0.0 if length2 == 0.0 else ((x - ax) * dx + (y - ay) * dy) / length2
        t = min(1.0, max(0.0, t))
        px, py = ax + t * dx, ay + t * dy
        distance = math.hypot(px - x, py - y)
        if distance < best:
            best, at = distance, (px, py)
    return best, at


def bearing_deg(start: Point, end: Point) -> float:
    """Give the bearing from one point to another, clockwise from the plane's north.

    Parameters
    ----------
    start, end : Point
        Where from and where to. [m]

    Returns
    -------
    float
        0 up to 360; 0 for two equal points. [deg]
    """
    return math.degrees(math.atan2(end[0] - start[0], end[1] - start[1])) % 360.0


def wind_of(bearing: float) -> str:
    """Name the wind of a bearing.

    Parameters
    ----------
    bearing : float
        Clockwise from north. [deg]

    Returns
    -------
    str
        One of `WINDS`, each 45 degrees wide.
    """
    return WINDS[round(bearing / 45.0) % 8]


def chance_in(shape: Shape, x: float, y: float, acc_m: float) -> float:
    """Give the chance that the true place of a fix lies in a shape.

    Parameters
    ----------
    shape : Shape
        Closed rings. [m]
    x, y : float
        The fix. [m]
    acc_m : float
        Its 68 % radius. [m]

    Returns
    -------
    float
        Between 0 and 1; for a radius of 0 it is 1 inside and 0 outside.

    Notes
    -----
    The error is a circular normal with sigma = acc_m / 1.5096. By Green's theorem the chance is
    the integral of Phi(u) phi(v) dv along the rings, u and v being x and y in sigmas about the
    fix (derived). Whichever way they turn, outer rings count as positive, holes as negative.
    """
    if acc_m <= 0.0:
        return 1.0 if holds(shape, x, y) else 0.0
    sigma = acc_m / R68_PER_SIGMA
    total = 0.0
    for part in shape:
        for order, ring in enumerate(part):
            about = [((px - x) / sigma, (py - y) / sigma) for px, py in ring]
            share = abs(sum(_edge_share(a, b) for a, b in pairwise(about)))
            total += share if order == 0 else -share
    return min(1.0, max(0.0, total))


def _edge_share(a: Point, b: Point) -> float:
    """Integrate Phi(u) phi(v) dv along one edge, cut where Phi is as good as 0 or 1."""
    low, high = max(min(a[1], b[1]), -_FAR_SIGMAS), min(max(a[1], b[1]), _FAR_SIGMAS)
    if low >= high:
        return 0.0
    slope = (b[0] - a[0]) / (b[1] - a[1])
    cuts = [low, high]
    if slope != 0.0:
        turns = (a[1] + (u - a[0]) / slope for u in (-_FAR_SIGMAS, _FAR_SIGMAS))
        cuts += [v for v in turns if low < v < high]
    cuts.sort()
    total = 0.0
    for start, end in pairwise(cuts):
        u = a[0] + ((start + end) / 2.0 - a[1]) * slope
        if u > _FAR_SIGMAS:
            total += _normal_cdf(end) - _normal_cdf(start)
        elif u > -_FAR_SIGMAS:
            total += _stretch(a, slope, start, end)
    return total if b[1] > a[1] else -total


def _stretch(a: Point, slope: float, start: float, end: float) -> float:
    """Integrate over one stretch of an edge, in panels at most one sigma long."""
    panels = math.ceil((end - start) * math.hypot(1.0, slope))
    half = (end - start) / panels / 2.0
    total = 0.0
    for panel in range(panels):
        middle = start + (2 * panel + 1) * half
        for node, weight in _GAUSS:
            for v in (middle - node * half, middle + node * half):
                u = a[0] + (v - a[1]) * slope
                total += weight * half * _normal_cdf(u) * _normal_density(v)
    return total


def _normal_cdf(u: float) -> float:
    return 0.5 * math.erfc(-u / math.sqrt(2.0))


def _normal_density(v: float) -> float:
    return math.exp(-0.5 * v * v) / math.sqrt(2.0 * math.pi)
