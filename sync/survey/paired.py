"""Changes at places measured twice: their mean, and whether it can be told from none.

Rule 1: only pairs count; a place measured once says nothing of change.
Rule 2: a change is called one when it is large enough and sure enough, both.
"""

import dataclasses
import math
import statistics
from collections.abc import Sequence

from sync.errors import SurveyError
from sync.survey.ranges import t_quantile


@dataclasses.dataclass(frozen=True)
class PairedChange:
    """The mean change at some places.

    Attributes
    ----------
    mean, se : float
        In the unit of the changes.
    df : int
        Degrees of freedom, pairs less 1.
    low, high : float
        90 % range; the true mean lies above `low` with 19 chances in 20.
    """

    mean: float
    se: float
    df: int
    low: float
    high: float


def paired_change(changes: Sequence[float]) -> PairedChange:
    """Estimate the mean of paired changes.

    Parameters
    ----------
    changes : sequence of float
        After less before at each place, or treated less untreated of each pair, in one unit.

    Returns
    -------
    PairedChange
        Mean, SE = s/√n and mean ± t(0.95; n − 1)·SE: Student, The probable error of a mean,
        *Biometrika* 6, 1908.

    Raises
    ------
    SurveyError
        If there are fewer than two pairs.
    """
    if len(changes) < 2:
        raise SurveyError(f"pairs={len(changes)!r}: two or more are needed")
    mean = statistics.fmean(changes)
    se = statistics.stdev(changes) / math.sqrt(len(changes))
    reach = t_quantile(len(changes) - 1) * se
    return PairedChange(mean, se, len(changes) - 1, mean - reach, mean + reach)


def has_risen(change: PairedChange, *, least: float) -> bool:
    """Say whether a rise is large and sure.

    Parameters
    ----------
    change : PairedChange
        Of the scrub's cover at re-walked plots, for example. [points]
    least : float
        A smaller mean is let pass. [same unit]

    Returns
    -------
    bool
        True from `least` on, if the low end of the range is above 0. Common practice, no source.
    """
    return change.mean >= least and change.low > 0.0
