"""How many units bring an error down to what is wanted.

Rule 1: with z as the books do, or with t of the very number that comes out, which is honest.
"""

import math
from collections.abc import Sequence

from scipy.special import ndtri, stdtrit

from sync.errors import SurveyError

#: Fewer units have no spread, and so no t.
_LEAST = 2


def units_for_error(
    cv: float, error: float, *, level: float = 0.90, units: float = math.inf
) -> float:
    """Give how many units of a simple random sample make the error of the mean so small, with z.

    Parameters
    ----------
    cv : float
        Of the units, 0 or more. [-]
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
        If `error` or `units` is not above 0, `cv` is negative, or `level` is not between 0 and 1.
    """
    _refuse_level(level)
    return _units(float(ndtri(0.5 + level / 2.0)), cv, error, units)


def whole_units_for_error(
    cv: float, error: float, *, level: float = 0.90, units: float = math.inf
) -> int:
    """Give the whole number of units by Student's t on n − 1.

    Parameters
    ----------
    cv, error, level, units
        As in `units_for_error`.

    Returns
    -------
    int
        The first n whose own t asks for no more, two at least.

    Raises
    ------
    SurveyError
        As `units_for_error`, or if there are not two units.

    Notes
    -----
    t falls as n grows and is above z, so the first such n is met by counting up from the number
    by z (derived). To put n of t back into t overshoots: t on one degree of freedom is huge.
    """
    if units < _LEAST:
        raise SurveyError(f"units={units!r}: a spread needs two")
    count = max(_LEAST, math.ceil(units_for_error(cv, error, level=level, units=units)))
    while _units(float(stdtrit(count - 1, 0.5 + level / 2.0)), cv, error, units) > count:
        count += 1
    return count


def _units(quantile: float, cv: float, error: float, units: float) -> float:
    if not (0.0 <= cv < math.inf and error > 0.0 and units > 0.0):
        raise SurveyError(f"cv={cv!r}, error={error!r}, units={units!r}: cv not negative, the "
                          "others above 0")
    plain = (quantile * cv / error) ** 2
    return plain / (1.0 + plain / units)


def _refuse_level(level: float) -> None:
    if not 0.0 < level < 1.0:
        raise SurveyError(f"level={level!r}: must be between 0 and 1")


def stratified_units_for_error(
    units: Sequence[float], sds: Sequence[float], half: float, *, level: float = 0.90,
    neyman: bool = True,
) -> float:
    """Give how many units of a stratified sample make the interval of the mean so narrow.

    Parameters
    ----------
    units, sds : sequence of float
        N_h, finite, and S_h.
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
        If `half` is not above 0, a stratum is infinite, or `level` is not between 0 and 1.
    """
    whole = sum(units)
    if not (half > 0.0 and 0.0 < whole < math.inf):
        raise SurveyError(f"half={half!r}, units={list(units)!r}: above 0, and units finite")
    _refuse_level(level)
    variance = (half / float(ndtri(0.5 + level / 2.0))) ** 2
    squares = sum(one / whole * sd**2 for one, sd in zip(units, sds, strict=True))
    means = sum(one / whole * sd for one, sd in zip(units, sds, strict=True))
    return (means**2 if neyman else squares) / (variance + squares / whole)
