"""The variance between cells, by restricted maximum likelihood of the area model.

Rule 1: x̄_c = μ + v_c + e_c with Var e_c = ψ_c known; one common mean.
Rule 2: the root is bracketed and bisected, so that the same input gives the same bytes.
"""

import numpy as np

from sync.survey.arrays import Array

#: Halvings of a bracket after which neighbouring doubles are reached from any start.
_HALVINGS = 200


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
    if len(means) < 2 or _score(0.0, means, errors) <= 0.0:
        return 0.0
    low, high = 0.0, float(np.max(errors))
    while _score(high, means, errors) > 0.0:
        low, high = high, 2.0 * high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if not low < middle < high:
            break
        if _score(middle, means, errors) > 0.0:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def _score(variance: float, means: Array, errors: Array) -> float:
    weights = 1.0 / (variance + errors)
    whole = float(weights.sum())
    squares = weights * weights
    centre = float(weights @ means) / whole
    return float(squares @ (means - centre) ** 2) - (whole - float(squares.sum()) / whole)
