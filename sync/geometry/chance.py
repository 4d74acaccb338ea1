"""How likely a place that is known with an error lies on a piece of ground.

Rule 1: the error is a circular normal about the fix; its size is given as a standard deviation,
and `sigma_of` is the only way from a receiver's 68 % radius to it.
Rule 2: chances are exact to rounding: squares by the normal integral, other shapes by their edges.
Rule 3: an error of 0 is allowed and gives 1, 0, or on a border the share of the full turn inside.
"""

import math

import numpy as np
import numpy.typing as npt
import shapely
from scipy.special import ndtr, owens_t

from sync.errors import GeometryError
from sync.geometry.crs import Floats
from sync.geometry.shapes import Shape
from sync.settings import R68_PER_SIGMA


def sigma_of(r68_m: float) -> float:
    """Give the standard deviation of each coordinate from the 68 % horizontal radius.

    Parameters
    ----------
    r68_m : float
        Radius that holds the truth with chance 0.68, as receivers state it. [m]

    Returns
    -------
    float
        [m]

    Notes
    -----
    P(r < R) = 1 − exp(−R²/2σ²) of a circular normal (Rayleigh distribution), solved for σ.
    """
    return r68_m / R68_PER_SIGMA


def chance_in_box(
    x: float | Floats,
    y: float | Floats,
    sigma: float,
    x0: float | Floats,
    y0: float | Floats,
    x1: float | Floats,
    y1: float | Floats,
) -> Floats:
    """Give the chance that a place lies in a rectangle.

    Parameters
    ----------
    x, y : float or array
        The fix. [m]
    sigma : float
        Standard deviation of each coordinate, ≥ 0. [m]
    x0, y0, x1, y1 : float or array
        West, south, east and north side; arrays broadcast. [m]

    Returns
    -------
    array
        Product of two differences of the normal integral; shape () for plain numbers. [-]

    Raises
    ------
    GeometryError
        If `sigma` is negative or not finite.
    """
    refuse_sigma(sigma)
    across = _below(x1, x, sigma) - _below(x0, x, sigma)
    along = _below(y1, y, sigma) - _below(y0, y, sigma)
    return np.asarray(across * along, dtype=np.float64)


def _below(side: float | Floats, place: float | Floats, sigma: float) -> Floats:
    distance = np.asarray(side, dtype=np.float64) - place
    if sigma == 0.0:
        return 0.5 * (1.0 + np.sign(distance))
    with np.errstate(over="ignore"):
        below: Floats = ndtr(distance / sigma)
    return below


def chance_in_square(
    x: float, y: float, sigma: float, box: tuple[float, float, float, float]
) -> float:
    """Give the chance that a place lies in one rectangle, as `chance_in_box` to the last bit.

    It takes plain numbers alone, and so does without the cost of arrays.

    Parameters
    ----------
    x, y : float
        The fix. [m]
    sigma : float
        Standard deviation of each coordinate, > 0. [m]
    box : tuple of float
        West, south, east and north side. [m]

    Returns
    -------
    float
        In 0…1. [-]
    """
    x0, y0, x1, y1 = box
    across = ndtr((x1 - x) / sigma) - ndtr((x0 - x) / sigma)
    return float(across * (ndtr((y1 - y) / sigma) - ndtr((y0 - y) / sigma)))


def refuse_sigma(sigma: float) -> None:
    """Refuse an error that is negative or not finite.

    Raises
    ------
    GeometryError
        With the value.
    """
    if not (math.isfinite(sigma) and sigma >= 0.0):
        raise GeometryError(f"sigma={sigma!r}: a position error is a number of metres, 0 or more")


def chance_in_polygon(x: float, y: float, sigma: float, polygon: Shape) -> float:
    """Give the chance that a place lies in a shape.

    Parameters
    ----------
    x, y : float
        The fix. [m]
    sigma : float
        Standard deviation of each coordinate, ≥ 0. [m]
    polygon : Shape
        Valid polygon or multipolygon, holes allowed; an empty one has chance 0. [m]

    Returns
    -------
    float
        In 0…1. [-]

    Raises
    ------
    GeometryError
        If `sigma` is negative or not finite, or the fix is not finite.

    Notes
    -----
    In polar coordinates about the fix the mass beyond a straight edge at distance h, between the
    angles φ₁ and φ₂ from its foot, is T(h/σ, tan φ₂) − T(h/σ, tan φ₁) with Owen's T [1]_; the mass
    of the triangle between fix and edge is the angle's share of the full turn less that [2]_. The
    triangles' signed sum is the polygon. A triangle whose edge points at the fix is flat and
    counts nothing, which settles a fix on an edge or a corner.

    References
    ----------
    .. [1] D. B. Owen, Tables for computing bivariate normal probabilities, *Annals of Mathematical
       Statistics* 27, 1956.
    .. [2] A. R. DiDonato, M. P. Jarnagin, R. K. Hageman, Computation of the integral of the
       bivariate normal distribution over convex polygons, *SIAM J. Sci. Stat. Comput.* 1, 1980
       (idea from memory; the edge sum here is derived).
    """
    refuse_sigma(sigma)
    if not (math.isfinite(x) and math.isfinite(y)):
        raise GeometryError(f"x={x!r}, y={y!r}: a fix must be finite")
    start, end = _edges(polygon)
    mass = _triangles(start - (x, y), end - (x, y), sigma)
    return min(1.0, max(0.0, math.fsum(mass)))


def _edges(polygon: Shape) -> tuple[Floats, Floats]:
    # normalize runs outer rings clockwise, holes the other way: reversed, ground lies to the left
    rings = shapely.get_rings(shapely.get_parts(shapely.normalize(polygon)))
    corners, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    return corners[1:][same], corners[:-1][same]


def _triangles(start: Floats, end: Floats, sigma: float) -> npt.NDArray[np.float64]:
    cross = start[:, 0] * end[:, 1] - start[:, 1] * end[:, 0]
    seen = cross != 0.0
    start, end, cross = start[seen], end[seen], cross[seen]
    along = end - start
    length = np.hypot(along[:, 0], along[:, 1])
    height = np.abs(cross) / length
    t1 = np.einsum("ij,ij->i", start, along) / length
    t2 = np.einsum("ij,ij->i", end, along) / length
    with np.errstate(over="ignore", divide="ignore"):
        slope1, slope2 = t1 / height, t2 / height
        steps = height / sigma if sigma > 0.0 else np.full_like(height, np.inf)
    turn = (np.arctan2(t2, height) - np.arctan2(t1, height)) / (2.0 * math.pi)
    beyond = owens_t(steps, slope2) - owens_t(steps, slope1)
    mass: Floats = np.sign(cross) * (turn - beyond)
    return mass
