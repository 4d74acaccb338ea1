"""How many bags go on a sling, and how many lifts a pile takes.

Rule 1: the hook's limit holds with a stated chance, for bags differ in wet weight.
Rule 2: a sling is loaded from one pile.
"""

import math
from collections.abc import Iterable

from sync.errors import SurveyError
from sync.settings import Z_RANGE


def bags_per_lift(wet_kg: float, sd_kg: float, *, limit_kg: float, z: float = Z_RANGE) -> int:
    """Give the most bags whose weight stays under the hook's limit.

    Parameters
    ----------
    wet_kg, sd_kg : float
        Mean wet weight of a bag of the day, above 0, and its spread from bag to bag. [kg]
    limit_kg : float
        What the hook may carry, above 0. [kg]
    z : float
        Standard normal quantile of the chance that the limit holds; 1.645 for 95 %. [-]

    Returns
    -------
    int
        Largest n with n·w + z·sd·√n ≤ limit; 0 where a single bag may be too heavy.

    Raises
    ------
    SurveyError
        If a weight or the limit is not above 0, or the spread or z is negative.

    Notes
    -----
    Bags as independent normals (derived).
    """
    if not (0.0 < wet_kg < math.inf and 0.0 <= sd_kg < math.inf
            and 0.0 < limit_kg < math.inf and 0.0 <= z < math.inf):
        raise SurveyError(f"wet_kg={wet_kg!r}, sd_kg={sd_kg!r}, limit_kg={limit_kg!r}, z={z!r}: "
                          "weights must be above 0 and the spread not negative")
    # √n solves a quadratic; written so that nothing cancels where bags are few.
    spread = z * sd_kg
    root = 2.0 * limit_kg / (spread + math.sqrt(spread**2 + 4.0 * wet_kg * limit_kg))
    most = math.floor(root**2)
    # The root may be off by its last digit, which decides where the limit is met exactly.
    if load_kg(most + 1, wet_kg, sd_kg, z=z) <= limit_kg:
        return most + 1
    return most if load_kg(most, wet_kg, sd_kg, z=z) <= limit_kg else most - 1


def load_kg(bags: int, wet_kg: float, sd_kg: float, *, z: float = Z_RANGE) -> float:
    """Give the weight [kg] that so many bags stay under with the chance of `z`."""
    return bags * wet_kg + z * sd_kg * math.sqrt(bags)


def lifts_of_piles(piles: Iterable[float], bags: int) -> int:
    """Count the lifts of all piles.

    Parameters
    ----------
    piles : iterable of float
        Bags on each pile; a part of a bag takes a place too.
    bags : int
        Most bags on a sling.

    Returns
    -------
    int
        Slings, each loaded from one pile.

    Raises
    ------
    SurveyError
        If not even one bag may hang.
    """
    if bags < 1:
        raise SurveyError(f"bags={bags!r}: not even one may hang; take a lower weight a bag")
    return sum(math.ceil(pile / bags) for pile in piles)
