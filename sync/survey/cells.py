"""Cells of one ground class: own quadrats, borrowed strength, and cells nobody measured.

Rule 1: a cell leans on its class by how little its own quadrats can say.
Rule 2: the variance between cells is never zero: no unsurveyed cell is known like a measured one.
Rule 3: a cell's own few quadrats never set its own variance; the class's pooled spread does.
Rule 4: a class without a drawn quadrat has no figure, which is not a figure of zero.
"""

import dataclasses
import statistics
from collections.abc import Sequence

import numpy as np

from sync.settings import Tunables
from sync.survey.arrays import Array, read_only
from sync.survey.by_eye import NO_BIAS, ByEye, by_eye_bias
from sync.survey.class_spread import ClassSpread, OwnMean, class_spread, own_mean


@dataclasses.dataclass(frozen=True)
class CellSample:
    """The rested quadrats of a cell by volume index [L m⁻²], drawn ones and by-eye ones."""

    cell: str
    drawn_l_m2: tuple[float, ...] = ()
    by_eye_l_m2: tuple[float, ...] = ()


@dataclasses.dataclass(frozen=True, eq=False)
class ClassPrediction:
    """The index of every cell of a class, with the errors they share.

    Attributes
    ----------
    cells : tuple of str
        Order of the arrays, J of them.
    index_l_m2 : ndarray, shape (J,)
        X̂. [L m⁻²]
    error : ndarray, shape (J, J)
        M, covariance of X̂ − X. [L² m⁻⁴]
    mean_l_m2, mean_variance : float
        Class mean μ̂ [L m⁻²] and its variance V_μ [L² m⁻⁴].
    within_variance, between_variance : float
        Of a quadrat about its cell, s_w², and of a cell about its class, σ_v². [L² m⁻⁴]
    reml_variance : float
        What the cells alone say of the latter. [L² m⁻⁴]
    weight : ndarray, shape (J,)
        γ, the weight of a cell's own quadrats; 0 if it has none. [-]
    surveyed : int
        Cells with drawn quadrats.
    df, sum_df : float
        For the range of a cell, and of a sum over cells.
    inverse_squares : float
        Σ(σ_v² + ψ)⁻² over those cells: what σ_v² itself is known by. [m⁸ L⁻⁴]
    by_eye : ByEye
        Ratio and CV applied to cells measured by eye only. [-]
    """

    cells: tuple[str, ...]
    index_l_m2: Array
    error: Array
    mean_l_m2: float
    mean_variance: float
    within_variance: float
    between_variance: float
    reml_variance: float
    weight: Array
    surveyed: int
    df: float
    sum_df: float
    inverse_squares: float
    by_eye: ByEye


def predict_class(
    samples: Sequence[CellSample], *, tunables: Tunables
) -> ClassPrediction | None:
    """Predict the index of every cell of a class.

    Parameters
    ----------
    samples : sequence of CellSample
        All cells of the class, J of them, unsurveyed ones with no quadrat; of the quadrats those
        taken while the cell was rested, all surveys pooled. [L m⁻²]
    tunables : Tunables
        Prior spreads [-] and their worth in degrees of freedom.

    Returns
    -------
    ClassPrediction or None
        None if no cell has a drawn quadrat.

    Notes
    -----
    X̂ = γx̄ + (1 − γ)μ̂, γ = σ_v²/(σ_v² + ψ), ψ = s_w²/m, and
    M = diag(σ_v²(1 − γ) + 2g3) + V_μ(1 − γ)(1 − γ)ᵀ: the EBLUP of Fay & Herriot 1979, *JASA*
    74:269-277, its error after Prasad & Rao 1990, *JASA* 85:163-171, with the 2g3 of REML of
    Datta & Lahiri 2000, *Statistica Sinica* 10:613-627 (all from memory); covariances between
    cells derived. A cell seen by eye only enters nothing but its own X̂.
    """
    drawn = [sample.drawn_l_m2 for sample in samples if sample.drawn_l_m2]
    if not drawn:
        return None
    known = class_spread(drawn, tunables)
    by_eye = _bias(samples, tunables)
    own = [_own_of(sample, known, by_eye) for sample in samples]
    lent = np.array([one.lent for one in own])
    means = np.array([one.mean_l_m2 for one in own])
    error = known.mean_variance * np.outer(lent, lent) + np.diag([one.error for one in own])
    return ClassPrediction(
        cells=tuple(sample.cell for sample in samples),
        index_l_m2=read_only((1.0 - lent) * means + lent * known.mean_l_m2),
        error=read_only(error),
        weight=read_only(1.0 - lent),
        by_eye=by_eye,
        **vars(known),
    )


@dataclasses.dataclass(frozen=True)
class OwnIndex:
    """A cell's index [L m⁻²], the variance of its error [L² m⁻⁴], and γ of its own mean [-]."""

    index_l_m2: float
    error: float
    weight: float


def own_index(
    prediction: ClassPrediction, cell_mean_l_m2: float, quadrats: int, *, by_eye: bool = False
) -> OwnIndex:
    """Predict a cell from only some of its quadrats, all that is known of its class kept.

    Parameters
    ----------
    prediction : ClassPrediction
        Of the cell's class.
    cell_mean_l_m2 : float
        Plain mean over those quadrats. [L m⁻²]
    quadrats : int
        How many they are; 0 gives the unsurveyed cell.
    by_eye : bool
        Whether they were laid by eye.

    Returns
    -------
    OwnIndex
        X [L m⁻²], M_cc [L² m⁻⁴] and γ [-].
    """
    if quadrats == 0:
        return class_unsurveyed(prediction)
    own = own_mean(
        cell_mean_l_m2,
        quadrats,
        prediction.by_eye if by_eye else NO_BIAS,
        within=prediction.within_variance,
        between=prediction.between_variance,
        inverse_squares=prediction.inverse_squares,
    )
    return OwnIndex(
        (1.0 - own.lent) * own.mean_l_m2 + own.lent * prediction.mean_l_m2,
        own.error + prediction.mean_variance * own.lent**2,
        1.0 - own.lent,
    )


def class_unsurveyed(prediction: ClassPrediction) -> OwnIndex:
    """Give the index of a cell nobody measured, μ̂ [L m⁻²], and its variance M_uu [L² m⁻⁴]."""
    return OwnIndex(
        prediction.mean_l_m2, prediction.between_variance + prediction.mean_variance, 0.0
    )


def _bias(samples: Sequence[CellSample], tunables: Tunables) -> ByEye:
    pairs = [
        (statistics.fmean(sample.drawn_l_m2), statistics.fmean(sample.by_eye_l_m2))
        for sample in samples
        if sample.drawn_l_m2 and sample.by_eye_l_m2
    ]
    return by_eye_bias(pairs, assumed_cv=tunables.by_eye_cv)


def _own_of(sample: CellSample, known: ClassSpread, by_eye: ByEye) -> OwnMean:
    values = sample.drawn_l_m2 or sample.by_eye_l_m2
    if not values:
        return OwnMean(0.0, 1.0, known.between_variance)
    return own_mean(
        statistics.fmean(values),
        len(values),
        NO_BIAS if sample.drawn_l_m2 else by_eye,
        within=known.within_variance,
        between=known.between_variance,
        inverse_squares=known.inverse_squares,
    )
