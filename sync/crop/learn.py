"""How fast picked moss really comes back, learned from cells that were measured again.

Rule 1: the totals are balanced, measured against forecast; single cells scatter too much to be
fitted one by one.
Rule 2: what few cells say is met by local knowledge, each weighed by how well it is known: the
second survey, the rested crop before the pick, what was taken, and what all of them share.
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
    mark_var : float
        Variance of the mark without the density. [kg²]
    taken_var : float
        Of what was taken, apart from what all bags share. [kg²]
    shared_cv2 : float
        Squared CV of what the density does to crop and mark but not to the bags, and the mean bag
        to the bags but not to the crop. [-]
    """

    cell: str
    mark_kg: float
    left_kg: float
    years: float
    measured_kg: float
    measured_var: float
    records: tuple[str, ...]
    mark_var: float = 0.0
    taken_var: float = 0.0
    shared_cv2: float = 0.0


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
    full_kg, share = _begun(cell, comeback)
    return full_kg * logistic_share(share, rate * cell.years)


def _begun(cell: Regrown, comeback: float) -> tuple[float, float]:
    """Give what a full cell holds [kg], and the share of it that the pick left."""
    return cell.mark_kg / comeback, comeback * cell.left_kg / cell.mark_kg


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
    r̂ in 0 … 3·r0 with Σ measured = Σ predicted; V(r̂) = (max(n/(n−1)·Σ(u−ū)², ΣV_u) + V_s)/S²
    with u = measured − predicted and S = Σ(C/φ)·t·g(1−g); blended with the prior by inverse
    variance, V(r̂) taken once more at the blended rate. Derived: an estimating equation for a
    common r whose weights do not hang on what was measured.
    V_u = V_m + (D + a)²V_C + D²V_G, D = ∂predicted/∂left, a = ∂predicted/∂mark: what is left is
    the mark less what was taken G. A density too high by a part makes crop and mark too high and
    leaves the bags as they are: V_s = (Σ D·G)²·CV². Derived, first order.
    """
    cells = tuple(regrown)
    rate = _balanced(prior, cells)
    variance = _variance(prior, cells, rate)
    if variance is None:
        return Learned(prior, prior, None, None, cells)
    blended = _blend(prior, rate, variance)
    again = _variance(prior, cells, blended.rate) or variance
    return Learned(_blend(prior, rate, again), prior, rate, again, cells)


def growth_without(learned: Learned) -> dict[str, Growth]:
    """Give for each cell that taught a rate what the others teach.

    Parameters
    ----------
    learned : Learned
        By all of them.
    """
    return {
        one.cell: learn_growth(
            learned.prior, [c for c in learned.regrown if c.cell != one.cell]).growth
        for one in learned.regrown
    }


def _balanced(prior: Growth, cells: Sequence[Regrown]) -> float:
    """Give the rate at which the totals agree; predictions never fall as it rises."""
    measured = math.fsum([cell.measured_kg for cell in cells])
    begun = [(*_begun(cell, prior.comeback), cell.years) for cell in cells]

    def short(rate: float) -> bool:
        return math.fsum([full_kg * logistic_share(share, rate * years)
                          for full_kg, share, years in begun]) < measured

    low, high = 0.0, FASTEST * prior.rate
    if not short(low):
        return low
    if short(high):
        return high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if middle in {low, high}:
            break
        low, high = (middle, high) if short(middle) else (low, middle)
    return (low + high) / 2.0


def _variance(prior: Growth, cells: Sequence[Regrown], rate: float) -> float | None:
    terms = [terms_of(cell, rate, prior.comeback) for cell in cells]
    slope = math.fsum(one.slope for one in terms)
    if slope <= 0.0:
        return None
    stated = math.fsum(one.stated for one in terms)
    moved = math.fsum(one.moved for one in terms)
    return (max(scatter(prior, cells, rate), stated) + moved**2) / slope**2


@dataclasses.dataclass(frozen=True)
class Terms:
    """What one cell adds to V(r̂): its S [kg yr], its V_u [kg²], and its part of √V_s [kg]."""

    slope: float
    stated: float
    moved: float


def terms_of(cell: Regrown, rate: float, comeback: float) -> Terms:
    """Give what a cell adds to the variance of a rate that is learned.

    Parameters
    ----------
    cell : Regrown
        Its mark, what was left and how well each is known. [kg], [kg²]
    rate : float
        At which. [yr⁻¹]
    comeback : float
        Share of full at the mark, φ. [-]
    """
    by_left = _by_left(cell, rate, comeback)
    stated = (cell.measured_var + _by_mark(cell, rate, comeback, by_left) ** 2 * cell.mark_var
              + by_left**2 * cell.taken_var)
    moved = by_left * (cell.mark_kg - cell.left_kg) * math.sqrt(cell.shared_cv2)
    return Terms(_slope(cell, rate, comeback), stated, moved)


def scatter(prior: Growth, cells: Sequence[Regrown], rate: float) -> float:
    """Give n/(n−1)·Σ(u−ū)², u = measured − predicted; 0 of fewer than two cells. [kg²]."""
    count = len(cells)
    if count < 2:
        return 0.0
    apart = [cell.measured_kg - predicted_kg(cell, rate, prior.comeback) for cell in cells]
    mean = math.fsum(apart) / count
    return count / (count - 1) * math.fsum((one - mean) ** 2 for one in apart)


def _by_left(cell: Regrown, rate: float, comeback: float) -> float:
    """Give by how much the forecast moves with what the pick left, D. [-]."""
    b = comeback * cell.left_kg / cell.mark_kg
    fade = math.exp(-rate * cell.years)
    return fade / (b + (1.0 - b) * fade) ** 2


def _by_mark(cell: Regrown, rate: float, comeback: float, by_left: float) -> float:
    """Give by how much it moves with the mark, through what was left too, D + a. [-]."""
    b = comeback * cell.left_kg / cell.mark_kg
    share = logistic_share(b, rate * cell.years)
    return by_left + (share - b * by_left) / comeback


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
