"""The variance between groups, by restricted maximum likelihood: what its models share.

Rule 1: a variance is not negative; where the likelihood falls from 0 on, it is 0.
Rule 2: the root is bracketed and bisected, so that the same input gives the same bytes.
"""

import dataclasses
from collections.abc import Callable

from sync.survey.arrays import Array

#: Halvings of a bracket after which neighbouring doubles are reached from any start.
_HALVINGS = 200


def zero_or_root(score: Callable[[float], float], *, start: float) -> float:
    """Find where a score that is above 0 at 0 comes down to 0.

    Parameters
    ----------
    score : callable
        Slope of the likelihood, up to a positive factor; below 0 far out.
    start : float
        First guess of the upper end, above 0.

    Returns
    -------
    float
        0 where the score at 0 is not above 0. Where the errors differ by orders of magnitude the
        likelihood may have a second hill farther out, which is not looked for.
    """
    if score(0.0) <= 0.0:
        return 0.0
    low, high = 0.0, start
    while score(high) > 0.0:
        low, high = high, 2.0 * high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if not low < middle < high:
            break
        if score(middle) > 0.0:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


@dataclasses.dataclass(frozen=True, eq=False)
class AboutMean:
    """Means of groups about their common mean, for a variance between the groups.

    Attributes
    ----------
    weights : ndarray, shape (J,)
        w = 1/(s + ψ).
    centre : float
        μ = Σwx̄/Σw.
    squares, trace : float
        Σw²(x̄ − μ)² and what is expected of it, Σw − Σw²/Σw.
    """

    weights: Array
    centre: float
    squares: float
    trace: float


def about_mean(variance: float, means: Array, errors: Array) -> AboutMean:
    """Weigh the means of groups, for a variance s between them and errors ψ of their own."""
    weights = 1.0 / (variance + errors)
    whole = float(weights.sum())
    squares = weights * weights
    centre = float(weights @ means) / whole
    return AboutMean(weights, centre, float(squares @ (means - centre) ** 2),
                     whole - float(squares.sum()) / whole)
