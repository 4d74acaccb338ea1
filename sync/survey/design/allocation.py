"""How to share a number of units out over strata.

Rule 1: whole units are shared out one by one to where the next takes most off the variance, which
is the best there is, for what each takes off only falls.
"""

import heapq
import math
from collections.abc import Sequence

from sync.errors import SurveyError


def proportional(units: Sequence[float], total: float) -> list[float]:
    """Share out n in proportion to N_h.

    Parameters
    ----------
    units : sequence of float
        N_h of each stratum, H of them.
    total : float
        n.

    Returns
    -------
    list of float
        n_h = nN_h/N, not rounded: Cochran 1977, *Sampling Techniques*, chapter 5 (from memory).
    """
    whole = sum(units)
    return [total * one / whole for one in units]


def neyman(units: Sequence[float], sds: Sequence[float], total: float) -> list[float]:
    """Share out n in proportion to N_hS_h, which makes the variance of the mean least.

    Parameters
    ----------
    units, sds : sequence of float
        N_h and S_h of each stratum.
    total : float
        n.

    Returns
    -------
    list of float
        n_h, not rounded, and not held to N_h: Neyman 1934, *J. R. Stat. Soc.* 97:558-625 (from
        memory).

    Raises
    ------
    SurveyError
        If no stratum varies.
    """
    weights = [one * sd for one, sd in zip(units, sds, strict=True)]
    if not sum(weights) > 0.0:
        raise SurveyError(f"sds={list(sds)!r}: no stratum varies, so any share is as good")
    return [total * weight / sum(weights) for weight in weights]


def neyman_whole(
    units: Sequence[float], sds: Sequence[float], total: int, *, least: int = 2
) -> list[int]:
    """Share out n whole units so that the variance of the mean is least.

    Parameters
    ----------
    units, sds : sequence of float
        N_h and S_h of each stratum.
    total : int
        n.
    least : int
        Every stratum gets so many, or all it has; at least 1.

    Returns
    -------
    list of int
        n_h, no more than N_h; ties go to the stratum named first.

    Raises
    ------
    SurveyError
        If a stratum is infinite or has less than one unit, `least` is under 1, or n is less than
        the least, or more than there are.

    Notes
    -----
    The next unit of stratum h takes N_h²S_h²/(n_h(n_h + 1)) off ΣN_h²S_h²/n_h: Wright 2012, *The
    American Statistician* 66:217-224 (from memory).
    """
    if least < 1 or not all(1.0 <= one < math.inf for one in units):
        raise SurveyError(f"least={least!r}, units={list(units)!r}: one at least, and finite")
    counts = [min(least, int(one)) for one in units]
    if not sum(counts) <= total <= sum(int(one) for one in units):
        raise SurveyError(f"total={total!r}: between {sum(counts)} and "
                          f"{sum(int(one) for one in units)} can be shared out")

    def gain(h: int) -> tuple[float, int]:
        return -(units[h] * sds[h]) ** 2 / (counts[h] * (counts[h] + 1)), h

    waiting = [gain(h) for h in range(len(counts)) if counts[h] < int(units[h])]
    heapq.heapify(waiting)
    for _ in range(total - sum(counts)):
        _, h = heapq.heappop(waiting)
        counts[h] += 1
        if counts[h] < int(units[h]):
            heapq.heappush(waiting, gain(h))
    return counts


def variance_of_mean(
    units: Sequence[float], sds: Sequence[float], counts: Sequence[float]
) -> float:
    """Give the variance of the stratified mean with so many units each.

    Parameters
    ----------
    units, sds, counts : sequence of float
        N_h, S_h and n_h, above 0.

    Returns
    -------
    float
        Σ(N_h/N)²(1 − n_h/N_h)S_h²/n_h: Cochran 1977, *Sampling Techniques*, theorem 5.3 (from
        memory). [unit of S, squared]

    Raises
    ------
    SurveyError
        If a stratum gets nothing, or more than it has.
    """
    if not all(0.0 < n <= one for one, n in zip(units, counts, strict=True)):
        raise SurveyError(f"counts={list(counts)!r} of units={list(units)!r}: each above 0, and "
                          "no more than there are")
    whole = sum(units)
    return sum((one / whole) ** 2 * (1.0 - n / one) * sd**2 / n
               for one, sd, n in zip(units, sds, counts, strict=True))
