"""How likely it is that a pick broke a rule, by groups of bags that a point tells.

Rule 1: bags of one group are there together or not at all.
Rule 2: half a bag is the smallest step, so every count is exact in half bags.
"""

import math
from collections.abc import Sequence
from typing import Literal

from sync.settings import Tunables

HALVES = 2
#: Chances come out of sums of floats; so much over 1 is rounding and no mistake.
ROUNDING = 1e-9


def chance_at_least(groups: Sequence[tuple[float, float]], least_bags: float) -> float:
    """Give the chance that at least so many bags came from a piece of ground.

    Parameters
    ----------
    groups : sequence of (float, float)
        Bags (steps of 0.5) of each group and its chance (0 to 1) of having been there.
    least_bags : float
        Bags.

    Returns
    -------
    float
        Chance, 0 to 1.

    Raises
    ------
    ValueError
        If a group's bags are no multiple of 0.5, or its chance is outside 0 to 1.

    Notes
    -----
    Exact convolution of Σ n·Bernoulli(P), derived; counts at or over the least are one state, so
    that nothing is lost by subtracting from 1.
    """
    least = math.ceil(HALVES * least_bags)
    if least <= 0:
        return 1.0
    below = [1.0] + [0.0] * (least - 1)
    reached = 0.0
    for bags, stated in groups:
        step = _halves(bags)
        if not -ROUNDING <= stated <= 1.0 + ROUNDING:
            raise ValueError(f"chance={stated!r}: must lie between 0 and 1")
        chance = min(1.0, max(0.0, stated))
        reached += chance * math.fsum(below[max(0, least - step):])
        moved = ([0.0] * min(step, least) + below)[:least]
        below = [
            (1.0 - chance) * stay + chance * come
            for stay, come in zip(below, moved, strict=True)
        ]
    return min(1.0, reached)


def expected_bags(groups: Sequence[tuple[float, float]]) -> float:
    """Give the expected number of bags from a piece of ground, Σ n·P.

    Parameters
    ----------
    groups : sequence of (float, float)
        Bags of each group and its chance (0 to 1) of having been there.

    Returns
    -------
    float
        Bags.
    """
    return math.fsum(bags * chance for bags, chance in groups)


def chance_over(kg: float, sd: float, may_take_kg: float) -> float:
    """Give the chance that more was picked than might be taken.

    Parameters
    ----------
    kg, sd : float
        Picked, and its standard deviation. [kg]
    may_take_kg : float
        What might be taken. [kg]

    Returns
    -------
    float
        Φ((kg − may take)/sd); derived, normal error. Without an error: 1 if over, else 0.
    """
    if sd <= 0.0:
        return 1.0 if kg > may_take_kg else 0.0
    return 0.5 * math.erfc((may_take_kg - kg) / (sd * math.sqrt(2.0)))


def how_sure(
    probability: float, tunables: Tunables
) -> Literal["sure", "likely", "perhaps"] | None:
    """Put a chance into the word under which it is shown.

    Parameters
    ----------
    probability : float
        0 to 1.
    tunables : Tunables
        `flag_sure`, `flag_likely`, `flag_perhaps`: the least chance of each word.

    Returns
    -------
    {"sure", "likely", "perhaps"} or None
        None is not shown.
    """
    if probability >= tunables.flag_sure:
        return "sure"
    if probability >= tunables.flag_likely:
        return "likely"
    return "perhaps" if probability >= tunables.flag_perhaps else None


def _halves(bags: float) -> int:
    halves = round(HALVES * bags)
    if halves < 0 or not math.isclose(halves, HALVES * bags, abs_tol=ROUNDING):
        raise ValueError(f"bags={bags!r}: must be a multiple of half a bag")
    return halves
