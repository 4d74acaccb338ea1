"""How many quadrats a cell and how many cells a class, before anybody walks.

Rule 1: a walk to another cell is dear and a quadrat cheap, so a cell gets as many quadrats as pay.
Rule 2: a number of cells is never rounded down.
"""

import math

from sync.errors import SurveyError

#: A need that is over a whole number by less than this part is that number: rounding, no need.
_ROUNDING = 1e-9


def best_quadrats(
    walk_min: float, quadrat_min: float, *, within_variance: float, between_variance: float
) -> int:
    """Give the quadrats a cell that make a class mean surest for the time.

    Parameters
    ----------
    walk_min, quadrat_min : float
        Time to the next cell, and for one quadrat; the latter above 0. [min]
    within_variance, between_variance : float
        Of quadrats in a cell and of cells in a class, in one unit; the latter above 0. Squared
        coefficients of variation serve as well.

    Returns
    -------
    int
        The whole number that makes (walk + m·quadrat)(between + within/m) least, at least 1.

    Raises
    ------
    SurveyError
        If the time of a quadrat or the variance between cells is not above 0, or another figure
        is negative.

    Notes
    -----
    The least lies at m = √(walk/quadrat · within/between): Cochran 1977, *Sampling Techniques*,
    section 10.6 (from memory).
    """
    if not (0.0 <= walk_min < math.inf and 0.0 < quadrat_min < math.inf
            and 0.0 <= within_variance < math.inf and 0.0 < between_variance < math.inf):
        raise SurveyError(
            f"walk_min={walk_min!r}, quadrat_min={quadrat_min!r}, "
            f"within_variance={within_variance!r}, between_variance={between_variance!r}: none "
            "may be negative; a quadrat takes time and cells differ")
    least = quadrats_unrounded(
        walk_min, quadrat_min, within_variance=within_variance, between_variance=between_variance)
    low = max(1, math.floor(least))

    def price(quadrats: int) -> float:
        minutes = walk_min + quadrats * quadrat_min
        return minutes * (between_variance + within_variance / quadrats)

    return low if price(low) <= price(low + 1) else low + 1


def quadrats_unrounded(
    walk_min: float, quadrat_min: float, *, within_variance: float, between_variance: float
) -> float:
    """Give the same before it is made a whole number, √(walk/quadrat · within/between). [-]."""
    return math.sqrt(walk_min / quadrat_min * within_variance / between_variance)


def cells_for_cv(cv: float, quadrats: int, *, cv_within: float, cv_between: float) -> int:
    """Give the cells that bring the mean of a class to a wanted coefficient of variation.

    Parameters
    ----------
    cv : float
        Wanted, SE over mean, above 0. [-]
    quadrats : int
        In each cell, at least 1.
    cv_within, cv_between : float
        Spread of quadrats in a cell and of cells in a class. [-]

    Returns
    -------
    int
        (CV_b² + CV_w²/m)/CV², rounded up, at least 1; as if the class had many more cells
        (derived).

    Raises
    ------
    SurveyError
        If `cv` is not above 0, or there is no quadrat.
    """
    if not (0.0 < cv < math.inf and quadrats >= 1):
        raise SurveyError(f"cv={cv!r}, quadrats={quadrats!r}: must be above 0")
    need = (cv_between**2 + cv_within**2 / quadrats) / cv**2
    return max(1, math.ceil(need * (1.0 - _ROUNDING)))
