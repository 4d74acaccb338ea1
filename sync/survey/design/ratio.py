"""Ratios of two totals, and totals by a ratio whose denominator is known for the whole ground.

Rule 1: errors are linearised at the sample's ratio, without a factor X/x̂.
Rule 2: df = n − H.
"""

from collections.abc import Sequence

import numpy as np

from sync.errors import SurveyError
from sync.survey.arrays import Array
from sync.survey.design.estimate import Estimate
from sync.survey.design.stratified import Stratum, stratified_total

#: A stratum by its name, units, and x and y of the units seen.
Pairs = tuple[str, float, Array, Array]


def combined_ratio(strata: Sequence[Pairs]) -> Estimate:
    """Estimate one ratio Y/X over all strata.

    Parameters
    ----------
    strata : sequence of (str, float, ndarray, ndarray)
        Name, N_h, x and y of the n_h units seen of each.

    Returns
    -------
    Estimate
        R = Ŷ/X̂ and the variance of the total of (y − Rx)/X̂: Cochran 1977, *Sampling Techniques*,
        section 6.11 (from memory). [unit of y per unit of x]

    Raises
    ------
    SurveyError
        If X̂ is not above 0, or as `stratified_total`.
    """
    x_total = stratified_total([Stratum(n, units, x) for n, units, x, _ in strata]).value
    if not x_total > 0.0:
        raise SurveyError(f"total of x={x_total!r}: a ratio needs more than 0")
    ratio = stratified_total([Stratum(n, units, y) for n, units, _, y in strata]).value / x_total
    moved = [Stratum(n, units, (y - ratio * x) / x_total) for n, units, x, y in strata]
    off = stratified_total(moved)
    return Estimate(ratio, off.variance, off.df)


def combined_ratio_total(strata: Sequence[Pairs], x_total: float) -> Estimate:
    """Estimate the total of y by one ratio over all strata.

    Parameters
    ----------
    strata : sequence of (str, float, ndarray, ndarray)
        As in `combined_ratio`.
    x_total : float
        X, known. [unit of x]

    Returns
    -------
    Estimate
        RX, X²V(R): Cochran 1977, *Sampling Techniques*, section 6.11 (from memory). [unit of y]

    Raises
    ------
    SurveyError
        As `combined_ratio`.
    """
    ratio = combined_ratio(strata)
    return Estimate(ratio.value * x_total, ratio.variance * x_total**2, ratio.df)


def separate_ratio_total(strata: Sequence[Pairs], x_totals: Sequence[float]) -> Estimate:
    """Estimate the total of y with a ratio of its own in each stratum.

    Parameters
    ----------
    strata : sequence of (str, float, ndarray, ndarray)
        As in `combined_ratio`.
    x_totals : sequence of float
        X_h of each.

    Returns
    -------
    Estimate
        ΣR_hX_h, ΣX_h²V(R_h), df n − H: Cochran 1977, *Sampling Techniques*, section 6.10 (from
        memory). [unit of y]

    Raises
    ------
    SurveyError
        As `combined_ratio`, of any stratum.
    """
    each = [combined_ratio_total([one], x) for one, x in zip(strata, x_totals, strict=True)]
    count = sum(len(y) for _, _, _, y in strata)
    return Estimate(sum(one.value for one in each), sum(one.variance for one in each),
                    count - len(strata))


def mean_over(total: Estimate, units: float) -> Estimate:
    """Give a total as a mean.

    Parameters
    ----------
    total : Estimate
        Over all units.
    units : float
        N, known and above 0.

    Returns
    -------
    Estimate
        Ŷ/N, V(Ŷ)/N², the same df.
    """
    return Estimate(total.value / units, total.variance / units**2, total.df)


def simple_ratio(x: Array, y: Array, units: float) -> Estimate:
    """Estimate a ratio of a simple random sample.

    Parameters
    ----------
    x, y : ndarray, shape (n,)
        Of the units seen.
    units : float
        N.

    Returns
    -------
    Estimate
        ȳ/x̄, one stratum of `combined_ratio`; df n − 1. [unit of y per unit of x]

    Raises
    ------
    SurveyError
        As `combined_ratio`.
    """
    return combined_ratio([("all", units, np.asarray(x, float), np.asarray(y, float))])
