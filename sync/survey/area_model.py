"""The area model: direct estimates with known errors, drawn towards a line or a common mean.

Rule 1: y_c = x_cᵀβ + v_c + e_c with Var v_c = σ_v², Var e_c = ψ_c known.
Rule 2: σ_v² is that of the restricted likelihood, and 0 where the areas differ by no more than
their errors.
"""

import dataclasses

import numpy as np

from sync.errors import SurveyError
from sync.survey.arrays import Array, read_only
from sync.survey.reml import about_mean, zero_or_root


@dataclasses.dataclass(frozen=True, eq=False)
class AreaModel:
    """A fitted area model of J areas and p covariates.

    Attributes
    ----------
    variance : float
        σ̂_v². [unit of y, squared]
    coefficients : ndarray, shape (p,)
        β̂.
    covariance : ndarray, shape (p, p)
        Of β̂, with σ̂_v² taken as known.
    weight : ndarray, shape (J,)
        γ, what the direct estimate counts. [-]
    predicted : ndarray, shape (J,)
        EBLUP, γy + (1 − γ)xᵀβ̂. [unit of y]
    mse : ndarray, shape (J,)
        Its mean squared error, g1 + g2 + 2g3. [unit of y, squared]
    log_likelihood : float
        Of y at σ̂_v² and β̂; the full one, not the restricted.
    """

    variance: float
    coefficients: Array
    covariance: Array
    weight: Array
    predicted: Array
    mse: Array
    log_likelihood: float


def between_variance(means: Array, errors: Array) -> float:
    """Estimate the variance of the true cell means about the mean of their class.

    Parameters
    ----------
    means : ndarray, shape (J,)
        Mean index x̄ of each surveyed cell. [L m⁻²]
    errors : ndarray, shape (J,)
        Its sampling variance ψ, above 0. [L² m⁻⁴]

    Returns
    -------
    float
        σ̂_v²; 0 for one cell, or where the means differ by no more than their errors. [L² m⁻⁴]

    Notes
    -----
    Root s ≥ 0 of Σw²(x̄ − μ)² = Σw − Σw²/Σw, w = 1/(s + ψ), μ = Σwx̄/Σw: the REML equation of
    Fay & Herriot 1979, Estimates of income for small places, *JASA* 74:269-277, with a common mean
    (Rao & Molina, *Small Area Estimation*, 2015, section 6.1.2, from memory).
    """
    if len(means) < 2:
        return 0.0

    def score(variance: float) -> float:
        about = about_mean(variance, means, errors)
        return about.squares - about.trace

    return zero_or_root(score, start=float(np.max(errors)))


def fay_herriot(direct: Array, errors: Array, covariates: Array) -> AreaModel:
    """Fit the area model and predict every area.

    Parameters
    ----------
    direct : ndarray, shape (J,)
        Direct estimates y. [unit of y]
    errors : ndarray, shape (J,)
        Their sampling variances ψ, above 0. [unit of y, squared]
    covariates : ndarray, shape (J, p)
        x of each area, a column of ones among them for an intercept.

    Returns
    -------
    AreaModel
        With σ̂_v² = 0 every area is predicted by the line alone, and its error then is that of
        the line and twice g3.

    Raises
    ------
    SurveyError
        If the areas are not more than the covariates, a ψ is not above 0, a figure is not finite
        or the covariates do not tell each other apart.

    Notes
    -----
    Root s ≥ 0 of rᵀW²r = tr P, W = diag 1/(s + ψ), r = y − Xβ̂, β̂ = (XᵀWX)⁻¹XᵀWy,
    P = W − WX(XᵀWX)⁻¹XᵀW [1]_, [2]_. Mean squared error [3]_ with g1 = γψ,
    g2 = (1 − γ)²xᵀ(XᵀWX)⁻¹x, g3 = ψ²(s + ψ)⁻³·2/Σ(s + ψ)⁻², g3 counted twice for REML [4]_.

    References
    ----------
    .. [1] Fay & Herriot, Estimates of income for small places, *JASA* 74, 1979.
    .. [2] Rao & Molina, *Small Area Estimation*, 2nd ed., 2015, chapter 6 (from memory).
    .. [3] Prasad & Rao, *JASA* 85, 1990, 163-171 (from memory).
    .. [4] Datta & Lahiri, *Statistica Sinica* 10, 2000, 613-627 (from memory).
    """
    _refuse(direct, errors, covariates)

    def score(variance: float) -> float:
        fit = _fit(variance, direct, errors, covariates)
        return float(fit.weights**2 @ fit.residuals**2) - fit.trace

    variance = zero_or_root(score, start=float(np.max(errors)))
    fit = _fit(variance, direct, errors, covariates)
    covariance = fit.root @ fit.root.T
    weight = variance * fit.weights
    lent = errors * fit.weights
    g2 = lent**2 * np.sum((covariates @ fit.root) ** 2, axis=1)
    g3 = errors**2 * fit.weights**3 * 2.0 / float(fit.weights @ fit.weights)
    surprise = fit.weights * fit.residuals**2 - np.log(fit.weights / (2.0 * np.pi))
    return AreaModel(
        variance=variance,
        coefficients=read_only(fit.coefficients),
        covariance=read_only(covariance),
        weight=read_only(weight),
        predicted=read_only(direct - lent * fit.residuals),
        mse=read_only(weight * errors + g2 + 2.0 * g3),
        log_likelihood=-0.5 * float(surprise.sum()),
    )


@dataclasses.dataclass(frozen=True, eq=False)
class _Fit:
    weights: Array
    coefficients: Array
    residuals: Array
    #: A root of the covariance of the coefficients.
    root: Array
    #: tr P.
    trace: float


def _fit(variance: float, direct: Array, errors: Array, covariates: Array) -> _Fit:
    """Fit the line by weighted least squares, for a given variance between areas."""
    weights = 1.0 / (variance + errors)
    scale = np.sqrt(weights)
    q, r = np.linalg.qr(scale[:, None] * covariates)
    root = np.linalg.inv(r)
    coefficients = root @ (q.T @ (scale * direct))
    return _Fit(
        weights=weights,
        coefficients=coefficients,
        residuals=direct - covariates @ coefficients,
        root=root,
        trace=float(weights @ (1.0 - np.sum(q**2, axis=1))),
    )


def _refuse(direct: Array, errors: Array, covariates: Array) -> None:
    areas, columns = covariates.shape
    if not (len(direct) == len(errors) == areas > columns > 0):
        raise SurveyError(
            f"areas={len(direct)!r}, errors={len(errors)!r}, covariates={covariates.shape!r}: an "
            "area model needs one of each an area, and more areas than covariates")
    finite = all(np.isfinite(values).all() for values in (direct, errors, covariates))
    if not (finite and np.min(errors) > 0.0):
        raise SurveyError("every figure must be finite and every error variance above 0")
    if np.linalg.matrix_rank(covariates) < columns:
        raise SurveyError("the covariates do not tell each other apart: leave one out")
