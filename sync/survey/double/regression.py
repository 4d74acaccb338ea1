"""Double sampling with a regression: y follows x on a line that may miss the origin.

Rule 1: whether a line or a ratio serves is the caller's choice; the line's intercept tells.
Rule 2: how many degrees of freedom a residual variance has lost is always said.
"""

import dataclasses
import math
from typing import Literal

import numpy as np

from sync.errors import SurveyError
from sync.survey.arrays import Array
from sync.survey.double.phases import DoubleMean, MeasuredFirst, SimpleFirst, phase_parts


@dataclasses.dataclass(frozen=True)
class Line:
    """A least-squares line y = intercept + slope·x.

    Attributes
    ----------
    count : int
        n, its places.
    intercept, slope : float
        [unit of y], [unit of y per unit of x]
    intercept_t : float
        Intercept over its standard error, on n − 2 degrees of freedom; infinite on a perfect fit
        beside the origin. [-]
    residual_squares : float
        Σ(y − intercept − slope·x)². [unit of y, squared]
    """

    count: int
    intercept: float
    slope: float
    intercept_t: float
    residual_squares: float


def fit_line(x: Array, y: Array) -> Line:
    """Fit a line by least squares.

    Parameters
    ----------
    x, y : ndarray, shape (n,)
        n at least 3.

    Returns
    -------
    Line
        With what tells whether the origin would do.

    Raises
    ------
    SurveyError
        If there are fewer than three places or all have the same x.

    Notes
    -----
    b = Σ(x − x̄)(y − ȳ)/Σ(x − x̄)², a = ȳ − bx̄,
    t = a ÷ √(s²(1/n + x̄²/Σ(x − x̄)²)), s² = Σe²/(n − 2): textbook least squares.
    """
    if len(x) < 3 or float(np.ptp(x)) == 0.0:
        raise SurveyError(f"n={len(x)!r}: a line needs three places and x that differ")
    mean_x, mean_y = float(np.mean(x)), float(np.mean(y))
    off_x, off_y = x - mean_x, y - mean_y
    squares = float(off_x @ off_x)
    slope = float(off_x @ off_y) / squares
    residuals = off_y - slope * off_x
    left = float(residuals @ residuals)
    intercept = mean_y - slope * mean_x
    error = math.sqrt(left / (len(x) - 2) * (1.0 / len(x) + mean_x**2 / squares))
    t = intercept / error if error > 0.0 else math.copysign(math.inf, intercept)
    return Line(len(x), intercept, slope, t if intercept else 0.0, left)


def regression_mean(
    x: Array, y: Array, first: SimpleFirst | MeasuredFirst, *, taken_off: Literal[1, 2] = 2
) -> DoubleMean:
    """Estimate the mean of y from the first phase's mean of x and the line of the second.

    Parameters
    ----------
    x, y : ndarray, shape (n,)
        Of the second phase, a random part of the first; n at least 3.
    first : SimpleFirst or MeasuredFirst
        What the first phase knows of x.
    taken_off : {1, 2}
        Degrees of freedom that s²_e has lost: n − 2 for the two figures of the line (the default,
        and the more careful), or n − 1 as some textbooks write it.

    Returns
    -------
    DoubleMean
        In the unit of y.

    Raises
    ------
    SurveyError
        If no line can be fitted, or the phases do not fit (see `phase_parts`).

    Notes
    -----
    ŷ = ȳ + b(x̄' − x̄), residuals without g-weights: Cochran 1977, *Sampling Techniques*, chapter 12
    (from memory), as read in Brus 2022, *Spatial Sampling with R*, chapter 11. The error of b
    itself, of order 1/n², is left out.
    """
    line = fit_line(x, y)
    s2_e = line.residual_squares / (line.count - taken_off)
    mean = float(np.mean(y)) + line.slope * (first.mean - float(np.mean(x)))
    return DoubleMean(mean, *phase_parts(first, line.slope, y, s2_e))
