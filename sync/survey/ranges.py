"""Ranges: from a mean and a coefficient of variation to the figures a person reads.

Rule 1: a crop is never below zero, so its range is lognormal with the mean and CV it was given.
Rule 2: where there is no moss the value and both ends of its range are 0.
"""

import dataclasses
import math

from scipy.special import stdtrit

from sync.settings import RANGE_LEVEL, Z_RANGE, Z_THREE_IN_FOUR


@dataclasses.dataclass(frozen=True)
class Spread:
    """A lognormal by its median (unit of the figure) and the SD of its logarithm [-]."""

    median: float
    log_sd: float


def t_quantile(df: float) -> float:
    """Give Student's t for the two ends of a 90 % range.

    Parameters
    ----------
    df : float
        Degrees of freedom, above 0; infinite gives the normal quantile.

    Returns
    -------
    float
        The 0.95 quantile. [-]
    """
    return Z_RANGE if math.isinf(df) else float(stdtrit(df, 0.5 + RANGE_LEVEL / 2.0))


def lognormal_spread(mean: float, cv: float) -> Spread:
    """Fit a lognormal by its first two moments.

    Parameters
    ----------
    mean : float
        Mean, not below 0, in any unit.
    cv : float
        SD over mean. [-]

    Returns
    -------
    Spread
        In the unit of the mean.

    Notes
    -----
    s = √ln(1 + CV²), median = mean/√(1 + CV²): Aitchison & Brown, *The Lognormal Distribution*,
    1957, chapter 2 (from memory).
    """
    return Spread(mean / math.sqrt(1.0 + cv * cv), math.sqrt(math.log1p(cv * cv)))


def lognormal_range(mean: float, cv: float, *, t: float) -> tuple[float, float]:
    """Give the low and the high end of a range.

    Parameters
    ----------
    mean : float
        Mean, in any unit.
    cv : float
        SD over mean. [-]
    t : float
        Quantile for the upper end: `t_quantile` for a cell, `Z_RANGE` for a block. [-]

    Returns
    -------
    low, high : float
        In the unit of the mean; (0, 0) for a mean of 0.
    """
    spread = lognormal_spread(mean, cv)
    return (
        spread.median * math.exp(-t * spread.log_sd),
        spread.median * math.exp(t * spread.log_sd),
    )


def counted_on(mean: float, cv: float, *, z: float = Z_THREE_IN_FOUR) -> float:
    """Give the crop that is exceeded with the wanted chance, three in four unless told.

    Parameters
    ----------
    mean : float
        Mean, in any unit.
    cv : float
        SD over mean. [-]
    z : float
        Standard normal quantile of the chance. [-]

    Returns
    -------
    float
        In the unit of the mean; 0 for a mean of 0.
    """
    return lognormal_range(mean, cv, t=z)[0]
