"""Values in groups of unequal size: how much lies between the groups, and what each group is.

Rule 1: y_gi = μ + v_g + e_gi with Var v_g = σ_g², Var e_gi = σ_e², both unknown.
Rule 2: σ_g² is that of the restricted likelihood, and 0 where the groups differ by no more than
their values.
"""

import dataclasses
import math
from collections.abc import Sequence

import numpy as np

from sync.errors import SurveyError
from sync.survey.arrays import Array, read_only
from sync.survey.reml import AboutMean, about_mean, zero_or_root


@dataclasses.dataclass(frozen=True, eq=False)
class OneWay:
    """A one-way random model of G groups.

    Attributes
    ----------
    between_variance, within_variance : float
        σ̂_g² and σ̂_e². [unit of y, squared]
    mean, mean_se : float
        μ̂ and its standard error, with the two variances taken as known. [unit of y]
    effects : ndarray, shape (G,)
        BLUP of v_g, a group's mean less μ̂ drawn towards 0. [unit of y]
    """

    between_variance: float
    within_variance: float
    mean: float
    mean_se: float
    effects: Array


def one_way(groups: Sequence[Sequence[float]]) -> OneWay:
    """Fit the model by restricted maximum likelihood.

    Parameters
    ----------
    groups : sequence of sequence of float
        y of each group, none of them empty; a group of one counts too.

    Returns
    -------
    OneWay
        Effects in the order of the groups; all 0 where σ̂_g² is 0.

    Raises
    ------
    SurveyError
        If there are fewer than two groups, one is empty, a value is not finite, or no two values
        of any one group differ, so that σ_e² cannot be told.

    Notes
    -----
    With λ = σ_g²/σ_e², w = 1/(λ + 1/n_g) and SSW the squares within groups, the restricted
    likelihood is greatest where Σw²(ȳ − μ)²/σ_e² = Σw − Σw²/Σw, μ = Σwȳ/Σw,
    σ_e² = (SSW + Σw(ȳ − μ)²)/(Σn − 1); SE² of μ̂ is σ_e²/Σw and v̂ = λw(ȳ − μ̂). Derived from
    Patterson & Thompson, Recovery of inter-block information when block sizes are unequal,
    *Biometrika* 58, 1971, 545-554 (from memory).
    """
    values = [np.asarray(group, dtype=np.float64) for group in groups]
    if len(values) < 2 or any(len(group) == 0 for group in values):
        raise SurveyError(f"groups={len(values)!r}: two or more are needed, none of them empty")
    if not all(np.isfinite(group).all() for group in values):
        raise SurveyError("every value must be finite")
    if all(np.ptp(group) == 0.0 for group in values):
        raise SurveyError("no two values of any one group differ: nothing tells σ_e²")
    means = np.array([float(group.mean()) for group in values])
    errors = np.array([1.0 / len(group) for group in values])
    squares = math.fsum(float(np.sum((group - group.mean()) ** 2)) for group in values)
    df = sum(len(group) for group in values) - 1

    def score(ratio: float) -> float:
        about = about_mean(ratio, means, errors)
        return about.squares / _within(about, means, squares, df) - about.trace

    ratio = zero_or_root(score, start=1.0)
    about = about_mean(ratio, means, errors)
    within = _within(about, means, squares, df)
    return OneWay(
        between_variance=ratio * within,
        within_variance=within,
        mean=about.centre,
        mean_se=math.sqrt(within / float(about.weights.sum())),
        effects=read_only(ratio * about.weights * (means - about.centre)),
    )


def _within(about: AboutMean, means: Array, squares: float, df: int) -> float:
    """Give σ_e² for the ratio of variances at which the groups were weighed."""
    return (squares + float(about.weights @ (means - about.centre) ** 2)) / df
