"""What a hole in the numbers may hide.

Rule 1: the guess is shown beside the figures and never counted as picked.
"""

import dataclasses
import math

from sync.picks.kilos import KgPerBag


@dataclasses.dataclass(frozen=True)
class Missing:
    """Expected bags and shed-dry kg [kg] in a hole, each with its standard deviation."""

    bags: float
    bags_sd: float
    kg: float
    kg_sd: float


def expected_missing(
    hole_h: float, *, bags_seen: float, seen_h: float, kappa: KgPerBag
) -> Missing | None:
    """Guess what was tallied in a hole from the pace of that picker outside it on that day.

    Parameters
    ----------
    hole_h : float
        Clock time between the neighbours of the hole. [h]
    bags_seen : float
        Bags that the picker tallied outside the hole.
    seen_h : float
        Time over which they were tallied. [h]
    kappa : KgPerBag
        Weight of a bag. [kg]

    Returns
    -------
    Missing or None
        None when nothing was seen of the day outside the hole: there is no pace to go by.

    Notes
    -----
    Bags come as a Poisson process of rate λ, so λh ± √(λh); in kg the compound Poisson variance
    λh(κ² + s²), and (λh)²V(κ) for the weight of the mean bag. Derived; λ is taken as known.
    """
    if seen_h <= 0.0:
        return None
    bags = bags_seen / seen_h * max(0.0, hole_h)
    variance = bags * (kappa.kg**2 + kappa.bag_variance) + bags**2 * kappa.variance
    return Missing(bags, math.sqrt(bags), bags * kappa.kg, math.sqrt(variance))
