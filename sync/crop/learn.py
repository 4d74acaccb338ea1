"""How fast picked moss really comes back, learned from cells that were measured again.

Rule 1: the totals are balanced, measured against forecast; single cells scatter too much to be
fitted one by one.
Rule 2: what few cells say is met by local knowledge, each weighed by how well it is known.
"""

import dataclasses
import math
from collections.abc import Sequence

from sync.crop.walk import Growth, logistic_share

#: No cell is believed to grow faster than so many times what local knowledge says; own choice.
FASTEST = 3.0
#: Halvings after which the root is known to the last bit that matters.
_HALVINGS = 100


@dataclasses.dataclass(frozen=True)
class Regrown:
    """A cell that was at its mark, picked once, and measured again.

    Attributes
    ----------
    mark_kg : float
        Rested crop before the pick. [kg]
    left_kg : float
        What the pick left of it. [kg]
    years : float
        From the mean day of the pick to the survey. [yr]
    measured_kg, measured_var : float
        Crop by that survey's quadrats alone [kg] and its variance without the density [kg²].
    records : tuple of str
        Of the survey.
    """

    cell: str
    mark_kg: float
    left_kg: float
    years: float
    measured_kg: float
    measured_var: float
    records: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Learned:
    """A growth rate and what it was learned from.

    Attributes
    ----------
    growth, prior : Growth
        With what was measured, and before.
    rate, variance : float or None
        By the cells alone [yr⁻¹], [yr⁻²]; None where they say nothing.
    regrown : tuple of Regrown
        The cells.
    """

    growth: Growth
    prior: Growth
    rate: float | None
    variance: float | None
    regrown: tuple[Regrown, ...]


def predicted_kg(cell: Regrown, rate: float, comeback: float) -> float:
    """Give what a cell holds after its years of growth, not held to its mark.

    Parameters
    ----------
    cell : Regrown
        Its mark and what the pick left. [kg]
    rate : float
        Growth rate. [yr⁻¹]
    comeback : float
        Share of full at the mark, φ. [-]

    Returns
    -------
    float
        C·g/φ, g the logistic from b = φ·left/C. [kg]
    """
    share = comeback * cell.left_kg / cell.mark_kg
    return cell.mark_kg / comeback * logistic_share(share, rate * cell.years)


def learn_growth(prior: Growth, regrown: Sequence[Regrown]) -> Learned:
    """Learn the growth rate from cells that were measured again.

    Parameters
    ----------
    prior : Growth
        By local knowledge.
    regrown : sequence of Regrown
        Cells with a mark above 0, n of them; may be empty.

    Returns
    -------
    Learned
        The prior's rate where the cells say nothing.

    Notes
    -----
    r̂ in 0 … 3·r0 with Σ measured = Σ predicted; V(r̂) = max(n/(n−1)·Σ(u−ū)², ΣV_m)/S² with
    u = measured − predicted and S = Σ(C/φ)·t·g(1−g); blended with the prior by inverse variance,
    V(r̂) taken once more at the blended rate. Derived: an estimating equation for a common r whose
    weights do not hang on what was measured.
    """
    cells = tuple(regrown)
    rate = _balanced(prior, cells)
    variance = _variance(prior, cells, rate)
    if variance is None:
        return Learned(prior, prior, None, None, cells)
    blended = _blend(prior, rate, variance)
    again = _variance(prior, cells, blended.rate) or variance
    return Learned(_blend(prior, rate, again), prior, rate, again, cells)


def _balanced(prior: Growth, cells: Sequence[Regrown]) -> float:
    """Give the rate at which the totals agree; predictions never fall as it rises."""
    measured = math.fsum(cell.measured_kg for cell in cells)

    def short(rate: float) -> bool:
        return math.fsum(predicted_kg(c, rate, prior.comeback) for c in cells) < measured

    low, high = 0.0, FASTEST * prior.rate
    if not short(low):
        return low
    if short(high):
        return high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if short(middle) else (low, middle)
    return (low + high) / 2.0


def _variance(prior: Growth, cells: Sequence[Regrown], rate: float) -> float | None:
    slope = math.fsum(_slope(cell, rate, prior.comeback) for cell in cells)
    if slope <= 0.0:
        return None
    apart = [cell.measured_kg - predicted_kg(cell, rate, prior.comeback) for cell in cells]
    count = len(cells)
    stated = math.fsum(cell.measured_var for cell in cells)
    if count < 2:
        return stated / slope**2
    mean = math.fsum(apart) / count
    scatter = count / (count - 1) * math.fsum((one - mean) ** 2 for one in apart)
    return max(scatter, stated) / slope**2


def _slope(cell: Regrown, rate: float, comeback: float) -> float:
    share = logistic_share(comeback * cell.left_kg / cell.mark_kg, rate * cell.years)
    return cell.mark_kg / comeback * cell.years * share * (1.0 - share)


def _blend(prior: Growth, rate: float, variance: float) -> Growth:
    if variance <= 0.0:
        return Growth(rate, 0.0, prior.comeback)
    weight = prior.variance / (prior.variance + variance)
    return Growth(
        prior.rate + weight * (rate - prior.rate), weight * variance, prior.comeback
    )
