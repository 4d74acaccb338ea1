"""Means by a regression on what is known of every place: calibration, and a line in each stratum.

Rule 1: the residual variance is said by name: by n − 1 or n − 2, with g-weights or without.
Rule 2: a line is fitted in one place, `fit_line`.
"""

from collections.abc import Sequence
from typing import Literal

import numpy as np

from sync.errors import SurveyError
from sync.survey.arrays import Array
from sync.survey.design.estimate import Estimate
from sync.survey.design.ratio import Pairs
from sync.survey.design.stratified import Stratum, refuse_unsound, stratified_total
from sync.survey.double.regression import fit_line


def calibrated_total(
    strata: Sequence[Stratum], helpers: Sequence[Array], known: Array, *, weighted: bool = True
) -> Estimate:
    """Estimate a total by the generalised regression estimator (GREG).

    Parameters
    ----------
    strata : sequence of Stratum
        y of the units seen.
    helpers : sequence of ndarray, shape (n_h, P)
        Of each stratum, x of the same units; a column of ones for a line with an intercept.
    known : ndarray, shape (P,)
        Totals of x over all units.
    weighted : bool
        Residuals times g, as calibration software does; False takes them as they are.

    Returns
    -------
    Estimate
        Σwgy, g = 1 + (X − X̂)ᵀ(Σwxxᵀ)⁻¹x, and the variance of the total of g·e (or e),
        e = y − xᵀB: Särndal, Swensson & Wretman 1992, *Model Assisted Survey Sampling*,
        section 6.4 (from memory). df n − H. [unit of y]

    Raises
    ------
    SurveyError
        If the columns of x do not tell a line, or as `stratified_total`.
    """
    refuse_unsound(strata)
    weight = np.concatenate([np.full(s.count, s.units / s.count) for s in strata])
    x = np.vstack([np.asarray(one, dtype=np.float64) for one in helpers])
    y = np.concatenate([s.values for s in strata])
    cross = x.T @ (weight[:, None] * x)
    if np.linalg.matrix_rank(cross) < len(cross):
        raise SurveyError("the columns of x go together: no line can be fitted; leave one out")
    slope = np.linalg.solve(cross, x.T @ (weight * y))
    g = 1.0 + x @ np.linalg.solve(cross, known - x.T @ weight)
    residual = (y - x @ slope) * (g if weighted else 1.0)
    ends = np.cumsum([0, *(s.count for s in strata)])
    off = stratified_total([
        Stratum(s.name, s.units, residual[ends[i]:ends[i + 1]], s.corrected)
        for i, s in enumerate(strata)])
    return Estimate(float(weight @ (g * y)), off.variance, off.df)


def regression_mean(
    x: Array, y: Array, x_mean: float, units: float, *, taken_off: Literal[1, 2]
) -> Estimate:
    """Estimate the mean of a simple random sample by its line on x.

    Parameters
    ----------
    x, y : ndarray, shape (n,)
        Of the units seen, three or more.
    x_mean : float
        Mean of x over all units.
    units : float
        N.
    taken_off : {1, 2}
        s²_e by n − 1, or by n − 2 for the line's two figures.

    Returns
    -------
    Estimate
        ȳ + b(X̄ − x̄), (1 − n/N)s²_e/n, residuals without g-weights, df n − 2 whichever is taken
        off: Cochran 1977, *Sampling Techniques*, chapter 7 (from memory). [unit of y]

    Raises
    ------
    SurveyError
        If there are fewer than three or more than N, or all have the same x.
    """
    line = fit_line(x, y)
    if line.count > units:
        raise SurveyError(f"n={line.count!r}, units={units!r}: more seen than there are")
    s2_e = line.residual_squares / (line.count - taken_off)
    value = float(np.mean(y)) + line.slope * (x_mean - float(np.mean(x)))
    return Estimate(value, (1.0 - line.count / units) * s2_e / line.count, line.count - 2)


def separate_regression_mean(
    strata: Sequence[Pairs], x_means: Sequence[float], *, taken_off: Literal[1, 2]
) -> Estimate:
    """Estimate a mean with a line of its own in each stratum.

    Parameters
    ----------
    strata : sequence of (str, float, ndarray, ndarray)
        Name, N_h, x and y of each.
    x_means : sequence of float
        X̄_h of each.
    taken_off : {1, 2}
        As in `regression_mean`.

    Returns
    -------
    Estimate
        Σ(N_h/N)ŷ_h and Σ(N_h/N)²V(ŷ_h), df n − 2H: Cochran 1977, *Sampling Techniques*, section
        7.10 (from memory). [unit of y]

    Raises
    ------
    SurveyError
        As `regression_mean`, of any stratum.
    """
    units = sum(n for _, n, _, _ in strata)
    each = [(n / units, regression_mean(x, y, mean, n, taken_off=taken_off))
            for (_, n, x, y), mean in zip(strata, x_means, strict=True)]
    return Estimate(
        sum(share * one.value for share, one in each),
        sum(share**2 * one.variance for share, one in each), sum(one.df for _, one in each))
