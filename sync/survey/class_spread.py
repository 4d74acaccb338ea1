"""What the drawn quadrats of a class say of it, and how far a cell's own mean may be trusted.

Rule 1: both variances are blended with a prior, so that one formula serves one cell or fifty.
Rule 2: bare ground has some spread too, or its cells would count as known for certain.
Rule 3: while hardly a cell has a second quadrat, nothing tells the two variances apart; what the
cell means show together is then parted as the priors are.
"""

import dataclasses
import math
import statistics
from collections.abc import Sequence

import numpy as np

from sync.settings import Tunables
from sync.survey.area_model import between_variance
from sync.survey.arrays import Array
from sync.survey.by_eye import ByEye

#: From so many second quadrats on a class tells by itself how quadrats differ within a cell; with
#: fewer, subtracting an assumed variance now and then left none between cells. Own runs.
REPEATS_TO_TELL = 3.0
#: From so many surveyed cells on the variance between cells is known as a large sample says.
CELLS_FOR_REML = 4


@dataclasses.dataclass(frozen=True)
class ClassSpread:
    """Mean and variances of a class; names and units are those of `ClassPrediction`."""

    mean_l_m2: float
    mean_variance: float
    within_variance: float
    between_variance: float
    reml_variance: float
    surveyed: int
    df: float
    sum_df: float
    inverse_squares: float


def class_spread(drawn: Sequence[Sequence[float]], tunables: Tunables) -> ClassSpread:
    """Estimate the mean of a class and the two variances about it.

    Parameters
    ----------
    drawn : sequence of sequence of float
        Volume index of the drawn quadrats of each surveyed cell, none of them empty. [L m⁻²]
    tunables : Tunables
        Prior spreads [-] and their worth in degrees of freedom, ν0.

    Returns
    -------
    ClassSpread
        Mean [L m⁻²] and variances [L² m⁻⁴].

    Notes
    -----
    s_w² = (ν0(cv_within x̄)² + SSW)/(ν0 + Σ(m − 1)) and
    σ_v² = (ν0(cv_between x̄)² + νσ̂_v²)/(ν0 + ν), ν = cells − 1, x̄ the plain mean of the cell means:
    what was seen, pooled with a prior worth ν0 degrees of freedom (derived).
    Under `REPEATS_TO_TELL` = 3 second quadrats, d of them, both are drawn to their part of
    τ² = (ν0(cv_within² + cv_between²)x̄² + νS²)/(ν0 + ν), S² the variance of the cell means, by
    1 − d/3; the parts are as cv_within² to cv_between². τ² is not taken under what is assumed: of
    skewed quadrats a low S² goes with a low mean, and the block's range was too narrow just then.
    For the same reason S² of such a class adds only d/3 of its degrees of freedom to the range of
    a sum.
    μ̂ = Σx̄/(σ_v² + ψ) ÷ Σ1/(σ_v² + ψ), and V_μ is one over the latter sum.
    """
    means = np.array([statistics.fmean(values) for values in drawn])
    counts = np.array([len(values) for values in drawn], dtype=np.float64)
    level = max(float(means.mean()), tunables.index_floor_l_m2)
    squares = math.fsum(
        (value - mean) ** 2 for values, mean in zip(drawn, means, strict=True) for value in values)
    prior, df = tunables.prior_df, float(counts.sum()) - len(drawn)
    within = (prior * (tunables.cv_within * level) ** 2 + squares) / (prior + df)
    errors = within / counts
    reml = between_variance(means, errors)
    assumed = (tunables.cv_between * level) ** 2
    between = (prior * assumed + (len(drawn) - 1) * reml) / (prior + len(drawn) - 1)
    within, between = _parted(means, df, within, between, level, tunables)
    errors = within / counts
    precision = 1.0 / (between + errors)
    return ClassSpread(
        mean_l_m2=float(precision @ means) / float(precision.sum()),
        mean_variance=1.0 / float(precision.sum()),
        within_variance=within,
        between_variance=between,
        reml_variance=reml,
        surveyed=len(drawn),
        df=prior + len(drawn) - 1,
        sum_df=prior + (len(drawn) - 1) * min(1.0, df / REPEATS_TO_TELL),
        inverse_squares=float(precision @ precision) / _reml_part(len(drawn), prior) ** 2,
    )


def _reml_part(cells: int, prior_df: float) -> float:
    """Give by how much σ_v² moves with what REML says; 1 where that has cells enough. [-].

    The large-sample variance of REML means nothing for two or three cells, whose word has only the
    weight ν/(ν0 + ν) in σ_v²: held in full there, it made the ranges of surveyed cells too wide.
    """
    if cells >= CELLS_FOR_REML or cells < 2:
        return 1.0
    return (cells - 1) / (prior_df + cells - 1)


def _parted(
    means: Array, repeats: float, within: float, between: float, level: float, tunables: Tunables
) -> tuple[float, float]:
    """Draw both variances to their part of what the means show together. [L² m⁻⁴]."""
    unsure = 1.0 - repeats / REPEATS_TO_TELL
    more = len(means) - 1
    if unsure <= 0.0 or more < 1:
        return within, between
    assumed_within = (tunables.cv_within * level) ** 2
    assumed = assumed_within + (tunables.cv_between * level) ** 2
    seen = float(np.var(means, ddof=1))
    blended = (tunables.prior_df * assumed + more * seen) / (tunables.prior_df + more)
    together = max(assumed, blended)
    part = assumed_within / assumed
    return (
        (1.0 - unsure) * within + unsure * part * together,
        (1.0 - unsure) * between + unsure * (1.0 - part) * together,
    )


@dataclasses.dataclass(frozen=True)
class OwnMean:
    """A cell's own mean, 1 − γ, and the part of its error variance that no other cell shares."""

    mean_l_m2: float
    lent: float
    error: float


def own_mean(
    mean_l_m2: float,
    quadrats: int,
    bias: ByEye,
    *,
    within: float,
    between: float,
    inverse_squares: float,
) -> OwnMean:
    """Weigh a cell's own mean against its class.

    Parameters
    ----------
    mean_l_m2 : float
        Plain mean over its quadrats. [L m⁻²]
    quadrats : int
        How many they are, above 0.
    bias : ByEye
        What to make of where they lie. [-]
    within, between : float
        s_w² and σ_v² of the class. [L² m⁻⁴]
    inverse_squares : float
        Σ(σ_v² + ψ)⁻² over its surveyed cells. [m⁸ L⁻⁴]

    Returns
    -------
    OwnMean
        The mean, mended for bias [L m⁻²]; 1 − γ [-]; σ_v²(1 − γ) + 2g3 [L² m⁻⁴].

    Notes
    -----
    ψ = s_w²/m + (cv·x̄)², g3 = ψ²(σ_v² + ψ)⁻³·2/Σ(σ_v² + ψ)⁻²: Prasad & Rao 1990, *JASA*
    85:163-171, and Datta & Lahiri 2000, *Statistica Sinica* 10:613-627 (from memory).
    """
    mean = bias.ratio * mean_l_m2
    psi = within / quadrats + (bias.cv * mean) ** 2
    lent = psi / (between + psi)
    # g3: what not knowing σ_v² costs; REML counts it twice.
    g3 = psi**2 / (between + psi) ** 3 * 2.0 / inverse_squares
    return OwnMean(mean, lent, between * lent + 2.0 * g3)
