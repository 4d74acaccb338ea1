"""How much of a purity ready cells may give.

Rule 1: expected is left kg times the chance of such a lot; a class without lots is told apart and
promises nothing.
Rule 2: within what may be taken now, the likeliest cells are picked first.
"""

import dataclasses
from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
from scipy.special import chdtri, ndtr, ndtri, owens_t

from sync.plan.lots.mixed import Mixed
from sync.settings import RANGE_LEVEL

#: Points at which classes and spreads are tried.
_POINTS = 500

Array = npt.NDArray[np.float64]


@dataclasses.dataclass(frozen=True)
class Supply:
    """What some cells may give of a purity. [kg].

    Attributes
    ----------
    kg : float
        What may be taken from them.
    untold_kg : float
        Of it, from classes that no lot tells of.
    pure_kg, low_kg, high_kg : float
        Expected of the purity, and its 90 % range.
    cells : int
        How many cells.
    """

    kg: float
    untold_kg: float
    pure_kg: float
    low_kg: float
    high_kg: float
    cells: int


def supply_of(
    purity: Mixed | None, left_kg: Mapping[str, float], group_of: Mapping[str, str],
    *, least_pct: float, most_kg: float | None = None,
) -> Supply:
    """Say what cells may give of a purity.

    Parameters
    ----------
    purity : Mixed or None
        What lots told of purity. [%]
    left_kg : mapping of str to float
        What may be taken from each cell. [kg]
    group_of : mapping of str to str
        Ground class of each cell.
    least_pct : float
        The purity asked for. [%]
    most_kg : float or None
        No more than this from all of them, the likeliest cells first. [kg]

    Returns
    -------
    Supply
        A lot from a cell has the purity or not; that of a cell is so many lots that their part is
        as expected, given the cell.

    Notes
    -----
    Class means and spreads are taken at points that fill their joint distribution evenly; given
    those, cells are independent and their sum is taken as normal. Derived.
    """
    groups = () if purity is None else purity.groups
    told = {cell: kg for cell, kg in left_kg.items() if group_of[cell] in groups and kg > 0.0}
    untold = sum(left_kg.values()) - sum(told.values())
    if purity is not None and most_kg is not None:
        told = _first(told, {cell: purity.of_lot(cell, group_of[cell]).chance_from(least_pct)
                             for cell in told}, most_kg)
        untold = min(untold, most_kg - sum(told.values()))
    if purity is None or not told:
        return Supply(untold, untold, 0.0, 0.0, 0.0, len(told))
    expected, variance = _given_points(purity, told, group_of, least_pct)
    low, high = (_quantile(expected, np.sqrt(variance), chance)
                 for chance in ((1.0 - RANGE_LEVEL) / 2.0, (1.0 + RANGE_LEVEL) / 2.0))
    whole = sum(told.values())
    return Supply(whole + untold, untold, float(expected.mean()), max(0.0, low),
                  min(whole, high), len(told))


def _first(
    left_kg: Mapping[str, float], chance: Mapping[str, float], most_kg: float
) -> dict[str, float]:
    found: dict[str, float] = {}
    room = most_kg
    for cell in sorted(left_kg, key=lambda cell: (-chance[cell], cell)):
        kg = min(room, left_kg[cell])
        if kg > 0.0:
            found[cell] = kg
            room -= kg
    return found


def _given_points(
    purity: Mixed, left_kg: Mapping[str, float], group_of: Mapping[str, str], least_pct: float
) -> tuple[Array, Array]:
    """Give the kg expected at each point, and their variance over the cells."""
    points = _even_points(2 + len(purity.groups))
    which = np.searchsorted(np.cumsum(purity.weights), points[:, 0]).clip(
        max=len(purity.weights) - 1)
    # Variance of a lot given the lots: s² df / χ².
    sd = np.sqrt(purity.variance[which] * purity.df / chdtri(purity.df, points[:, 1]))
    root = np.linalg.cholesky(purity.cov)[which]
    beta = purity.beta[which] + sd[:, None] * np.einsum("pgh,ph->pg", root, ndtri(points[:, 2:]))
    expected, variance = np.zeros(_POINTS), np.zeros(_POINTS)
    for cell, kg in left_kg.items():
        mean, spread = purity.cell_given(cell, group_of[cell], which, beta)
        part, of_part = _part_at(mean - least_pct, sd, spread)
        expected += kg * part
        variance += kg**2 * of_part
    return expected, variance


def _part_at(over: Array, sd: Array, spread: Array) -> tuple[Array, Array]:
    """Give the expected part of a cell's lots at or above a purity, and the part's variance.

    Notes
    -----
    Var Φ(a + bu) = Φ₂(h, h; r) − Φ(h)² and Φ₂(h, h; r) = Φ(h) − 2T(h, √((1 − r)/(1 + r))): Owen,
    *Ann. Math. Stat.* 27, 1956, page 1075 (from memory).
    """
    h = over / (sd * np.sqrt(1.0 + spread))
    alike = spread / (1.0 + spread)
    part = ndtr(h)
    both = part - 2.0 * owens_t(h, np.sqrt((1.0 - alike) / (1.0 + alike)))
    return part, np.maximum(0.0, both - part**2)


def _even_points(dimensions: int) -> Array:
    """Fill the unit cube evenly, the same each time.

    Notes
    -----
    Kronecker sequence on the root of x^(d+1) = x + 1: Roberts, *The unreasonable effectiveness of
    quasirandom sequences*, 2018 (from memory).
    """
    root = 2.0
    for _ in range(50):
        root = (1.0 + root) ** (1.0 / (dimensions + 1))
    steps = root ** -np.arange(1.0, dimensions + 1)
    return np.asarray((0.5 + np.outer(np.arange(1, _POINTS + 1), steps)) % 1.0)


def _quantile(means: Array, sds: Array, chance: float) -> float:
    low, high = float((means - 5.0 * sds).min()), float((means + 5.0 * sds).max())
    for _ in range(60):
        middle = (low + high) / 2.0
        if float(ndtr((middle - means) / np.maximum(sds, 1e-9)).mean()) < chance:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0
