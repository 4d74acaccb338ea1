"""How many pairs a trial needs for the difference that matters.

Rule 1: the range that calls a difference real and the count of pairs use the same level.
"""

import math

from scipy.special import nctdtr

from sync.errors import SurveyError
from sync.survey.ranges import t_quantile

#: More pairs than any block has.
MOST_PAIRS = 2000
#: So many standard deviations beyond the limit nothing is missed any more.
_FAR = 30.0


def power_of(pairs: int, difference: float, sd: float) -> float:
    """Give the chance that a trial finds a true difference.

    Parameters
    ----------
    pairs : int
        n, 2 or more.
    difference, sd : float
        True mean of the pairs' differences, and their standard deviation, in one unit.

    Returns
    -------
    float
        Chance that the 90 % range of the mean leaves 0 out. [-]

    Raises
    ------
    SurveyError
        If there are fewer than two pairs, or the SD is not above 0.

    Notes
    -----
    Power = P(T < −t or T > t), t = t(0.95; n − 1), T noncentral t with
    δ = √n·difference/SD: Owen, A survey of properties and applications of the noncentral
    t-distribution, *Technometrics* 10, 1968 (from memory).
    """
    if pairs < 2 or not sd > 0.0:
        raise SurveyError(f"pairs={pairs!r}, sd={sd!r}: two pairs and a spread are needed")
    limit, shift = t_quantile(pairs - 1), math.sqrt(pairs) * abs(difference) / sd
    if shift > limit + _FAR:
        return 1.0
    return float(1.0 - nctdtr(pairs - 1, shift, limit) + nctdtr(pairs - 1, shift, -limit))



def pairs_needed(difference: float, sd: float, *, power: float) -> int | None:
    """Give the fewest pairs that find a difference with a wanted chance.

    Parameters
    ----------
    difference, sd : float
        The difference that matters, not 0, and the SD of the pairs' differences.
    power : float
        The chance, under 1. [-]

    Returns
    -------
    int or None
        None where `MOST_PAIRS` are too few.

    Raises
    ------
    SurveyError
        If the difference is 0.
    """
    if difference == 0.0:
        raise SurveyError("difference=0: no number of pairs finds no difference")
    for pairs in range(2, MOST_PAIRS + 1):
        if power_of(pairs, difference, sd) >= power:
            return pairs
    return None
