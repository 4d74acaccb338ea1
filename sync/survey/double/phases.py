"""What the first phase knows, and how its error and that of the second make up a variance.

Rule 1: both phases are named apart in every variance, so that a reader sees where to spend.
Rule 2: a total is the number of places times the mean, and its error likewise.
"""

import dataclasses
import math

import numpy as np

from sync.errors import SurveyError
from sync.survey.arrays import Array


@dataclasses.dataclass(frozen=True)
class DoubleMean:
    """A mean by double sampling and the two parts of its variance.

    Attributes
    ----------
    mean : float
        In the unit of y.
    first_part, second_part : float
        Variance that comes from the size of the first phase, and what the second adds. [unit²]
    """

    mean: float
    first_part: float
    second_part: float

    @property
    def variance(self) -> float:
        """Both parts together. [unit²]."""
        return self.first_part + self.second_part


@dataclasses.dataclass(frozen=True)
class SimpleFirst:
    """A first phase drawn at random, every place with the same chance.

    Attributes
    ----------
    mean : float
        x̄' over all its places, those of the second phase among them.
    count : int
        n', its places.
    units : float
        N, the places of the whole ground; infinite where they are too many to matter.
    """

    mean: float
    count: int
    units: float = math.inf


@dataclasses.dataclass(frozen=True)
class MeasuredFirst:
    """A first phase of any design, known by its mean and how sure that is.

    Attributes
    ----------
    mean : float
        x̄'.
    variance : float
        V(x̄') by its own design, cells and quadrats for example. [unit of x, squared]
    units : float
        N, the places that the second phase could have fallen on; infinite for quadrats on ground.
    """

    mean: float
    variance: float
    units: float = math.inf


def phase_parts(
    first: SimpleFirst | MeasuredFirst, slope: float, y: Array, residual_variance: float
) -> tuple[float, float]:
    """Give the parts of the variance of a mean that follows y = slope·x.

    Parameters
    ----------
    first : SimpleFirst or MeasuredFirst
        The first phase.
    slope : float
        Ratio or regression slope. [unit of y per unit of x]
    y : ndarray, shape (n,)
        Of the second phase, a random part of the first.
    residual_variance : float
        s²_e, of y about the line. [unit of y, squared]

    Returns
    -------
    first_part, second_part : float
        [unit of y, squared]

    Raises
    ------
    SurveyError
        If the second phase has more places than the first or than the ground, the first more than
        the ground, or V(x̄') is negative.

    Notes
    -----
    Random first phase, [1]_ (as read in [2]_):
    V = (1 − n'/N)s²_y/n' + (1 − n/n')s²_e/n, with s²_y = Σ(y − ȳ)²/(n − 1) of the second phase.

    Measured first phase (derived). The error is b(x̄' − X̄) + (ē − Ē) to first order, ē the mean of
    the n residuals, Ē of all N, and the two do not go together: residuals of a line do not vary
    with x. So V = b²V(x̄') + (1/n − 1/N)s²_e. The factor is 1 − n/N and not 1 − n/n', for V(x̄')
    holds no residuals: the s²_e/n' that is part of s²_y/n' above has to come from the second
    phase. With V(x̄') = (1/n' − 1/N)s²_x it is the textbook form whose s²_y is split into
    b²s²_x + s²_e. It asks that residuals of neighbours do not go together; where those of a cell
    do, s²_e/n is too small.

    References
    ----------
    .. [1] W. G. Cochran, *Sampling Techniques*, 3rd ed., 1977, chapter 12 (from memory).
    .. [2] D. J. Brus, *Spatial Sampling with R*, 2022, chapter 11.
    """
    n = len(y)
    if isinstance(first, SimpleFirst):
        if not n <= first.count <= first.units:
            raise SurveyError(
                f"n={n!r}, count={first.count!r}, units={first.units!r}: the second phase is a "
                "part of the first, and the first of the ground")
        s2_y = float(np.var(y, ddof=1))
        return (1.0 / first.count - 1.0 / first.units) * s2_y, (
            1.0 / n - 1.0 / first.count) * residual_variance
    if not (first.variance >= 0.0 and n <= first.units):
        raise SurveyError(
            f"variance={first.variance!r}, n={n!r}, units={first.units!r}: a variance is not "
            "negative, and the second phase is a part of the ground")
    return slope**2 * first.variance, (1.0 / n - 1.0 / first.units) * residual_variance
