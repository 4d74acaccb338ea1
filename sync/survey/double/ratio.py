"""Double sampling with a ratio: y is in proportion to x, a line through the origin.

Rule 1: bare ground carries nothing, so no intercept is fitted.
"""

import numpy as np

from sync.errors import SurveyError
from sync.survey.arrays import Array
from sync.survey.double.phases import DoubleMean, MeasuredFirst, SimpleFirst, phase_parts


def ratio_mean(x: Array, y: Array, first: SimpleFirst | MeasuredFirst) -> DoubleMean:
    """Estimate the mean of y from the first phase's mean of x and the ratio of the second.

    Parameters
    ----------
    x, y : ndarray, shape (n,)
        Of the second phase, a random part of the first; n at least 2.
    first : SimpleFirst or MeasuredFirst
        What the first phase knows of x.

    Returns
    -------
    DoubleMean
        In the unit of y.

    Raises
    ------
    SurveyError
        If there are fewer than two places, the x do not add up to more than 0, or the phases do
        not fit (see `phase_parts`).

    Notes
    -----
    r = Σy/Σx, ŷ = r·x̄', s²_e = Σ(y − rx)²/(n − 1): Cochran 1977, *Sampling Techniques*, chapter 12
    (from memory).
    With a `MeasuredFirst` the residuals y − rx are taken not to vary with x, which is so where the
    true line passes through the origin: the caller has looked at the intercept of `fit_line`.
    Else 2r·s_xe·V(x̄')/s²_x is missing, s_xe the covariance of x and residual (derived).
    """
    if len(x) < 2 or not float(np.sum(x)) > 0.0:
        raise SurveyError(
            f"n={len(x)!r}, sum of x={float(np.sum(x))!r}: a ratio needs two places and some x")
    ratio = float(np.sum(y)) / float(np.sum(x))
    residuals = y - ratio * x
    s2_e = float(residuals @ residuals) / (len(x) - 1)
    return DoubleMean(ratio * first.mean, *phase_parts(first, ratio, y, s2_e))
