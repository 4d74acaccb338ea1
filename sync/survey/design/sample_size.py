"""How many units bring an error down to what is wanted.

Rule 1: with z as the books do, or with t of the very number that comes out, which is honest.
"""

import math
from collections.abc import Sequence

from scipy.special import ndtri, stdtrit

from sync.errors import SurveyError

#: Rounds after which t of n and n of t agree, or go round in a circle.
_ROUNDS = 100


def units_for_error(
    cv: float, error: float, *, level: float = 0.90, units: float = math.inf
) -> float:
    """Give how many units of a simple random sample make the error of the mean so small, with z.

    Parameters
    ----------
    cv : float
        Of the units. [-]
    error : float
        Half of the interval over the mean. [-]
    level : float
        Of the interval. [-]
    units : float
        N.

    Returns
    -------
    float
        n0/(1 + n0/N), n0 = (z·cv/error)², not rounded: Cochran 1977, *Sampling Techniques*,
        section 4.4 (from memory).

    Raises
    ------
    SurveyError
        If `error` is not above 0.
    """
    return _units(float(ndtri(0.5 + level / 2.0)), cv, error, units)


def whole_units_for_error(
    cv: float, error: float, *, level: float = 0.90, units: float = math.inf
) -> int:
    """Give the whole number by Student's t on n − 1. See `units_for_error`.

    Returns
    -------
    int
        The first n whose own t asks for no more, two at least.
    """
    count = max(2, math.ceil(units_for_error(cv, error, level=level, units=units)))
    for _ in range(_ROUNDS):
        t = float(stdtrit(count - 1, 0.5 + level / 2.0))
        wanted = max(2, math.ceil(_units(t, cv, error, units)))
        if wanted <= count:
            break
        count = wanted
    return count


def _units(quantile: float, cv: float, error: float, units: float) -> float:
    if not error > 0.0:
        raise SurveyError(f"error={error!r}: must be above 0")
    plain = (quantile * cv / error) ** 2
    return plain / (1.0 + plain / units)


def stratified_units_for_error(
    units: Sequence[float], sds: Sequence[float], half: float, *, level: float = 0.90,
    neyman: bool = True,
) -> float:
    """Give how many units of a stratified sample make the interval of the mean so narrow.

    Parameters
    ----------
    units, sds : sequence of float
        N_h and S_h.
    half : float
        Half of the interval, in the unit of S. Above 0.
    level : float
        Of the interval, with z. [-]
    neyman : bool
        Shared out by Neyman; False in proportion to N_h.

    Returns
    -------
    float
        n, not rounded: (ΣW S)²/(V + ΣWS²/N), or ΣWS²/(V + ΣWS²/N), V = (half/z)²: Cochran 1977,
        *Sampling Techniques*, section 5.9 (from memory).

    Raises
    ------
    SurveyError
        If `half` is not above 0.
    """
    if not half > 0.0:
        raise SurveyError(f"half={half!r}: must be above 0")
    whole = sum(units)
    variance = (half / float(ndtri(0.5 + level / 2.0))) ** 2
    squares = sum(one / whole * sd**2 for one, sd in zip(units, sds, strict=True))
    means = sum(one / whole * sd for one, sd in zip(units, sds, strict=True))
    return (means**2 if neyman else squares) / (variance + squares / whole)
