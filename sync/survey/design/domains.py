"""A part of the ground that no stratum follows: its mean and total from the whole sample.

Rule 1: a domain is never analysed as a sample by itself: how many units fell into it is chance.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from sync.errors import SurveyError
from sync.survey.design.estimate import Estimate
from sync.survey.design.stratified import Stratum, stratified_total

Inside = Sequence[npt.NDArray[np.bool_]]


def domain_total(strata: Sequence[Stratum], inside: Inside) -> Estimate:
    """Estimate the total of y over a domain.

    Parameters
    ----------
    strata : sequence of Stratum
        The whole sample.
    inside : sequence of ndarray of bool, shape (n_h,)
        Which units of each lie in the domain.

    Returns
    -------
    Estimate
        The total of y set to 0 outside; df that of `domain_df`: Cochran 1977, *Sampling
        Techniques*, section 2.12 (from memory). [unit of y]

    Raises
    ------
    SurveyError
        As `stratified_total`, of the whole sample.
    """
    total = stratified_total([
        Stratum(s.name, s.units, np.where(mine, s.values, 0.0), s.corrected)
        for s, mine in zip(strata, inside, strict=True)])
    return Estimate(total.value, total.variance, domain_df(inside))


def domain_mean(strata: Sequence[Stratum], inside: Inside) -> Estimate:
    """Estimate the mean of y over a domain, a ratio of two estimated totals.

    Parameters
    ----------
    strata, inside
        As in `domain_total`.

    Returns
    -------
    Estimate
        Ŷ_d/N̂_d, and the variance of the total of (y − Ŷ_d/N̂_d)/N̂_d inside and 0 outside; df that
        of `domain_df`: Särndal, Swensson & Wretman 1992, *Model Assisted Survey Sampling*,
        section 5.8 (from memory). [unit of y]

    Raises
    ------
    SurveyError
        If no unit lies in the domain, or as `stratified_total` of the whole sample.
    """
    ones = [Stratum(s.name, s.units, mine.astype(np.float64), s.corrected)
            for s, mine in zip(strata, inside, strict=True)]
    size = stratified_total(ones).value
    if not size > 0.0:
        raise SurveyError("no unit of the sample lies in the domain")
    mean = domain_total(strata, inside).value / size
    off = stratified_total([
        Stratum(s.name, s.units, np.where(mine, s.values - mean, 0.0) / size, s.corrected)
        for s, mine in zip(strata, inside, strict=True)])
    return Estimate(mean, off.variance, domain_df(inside))


def domain_df(inside: Inside) -> float:
    """Give the degrees of freedom of a domain.

    Parameters
    ----------
    inside : sequence of ndarray of bool, shape (n_h,)
        As in `domain_total`.

    Returns
    -------
    float
        n_d − H_d, units in the domain less the strata that have any; 0 where every stratum has
        one. [-] The whole design's n − H is the other convention; this one is the more careful.
        Common practice, no source.
    """
    counts = [int(np.count_nonzero(mine)) for mine in inside]
    return float(sum(counts) - sum(count > 0 for count in counts))
