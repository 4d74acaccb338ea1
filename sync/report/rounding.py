"""Rounding for the page: each kind of figure has one step, and there is no other place for it."""

import math
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from sync.settings import Z_RANGE
from sync.survey.ranges import lognormal_range

KG, T, T_HA, HA, PCT = 1.0, 0.1, 0.01, 0.01, 0.1
DENSITY, BAG_KG, RATE, BAGS, M2, MM, INDEX = 0.1, 0.1, 0.01, 0.1, 1.0, 1.0, 0.1
_STEP_OF = {1.0: Decimal("1"), 0.1: Decimal("0.1"), 0.01: Decimal("0.01")}
#: Digits of a figure that sums in another order cannot move.
_DIGITS = 12


def rounded(value: float, step: float) -> float | int:
    """Round to a step, half to even; a whole number comes back as one.

    Parameters
    ----------
    value : float
        Finite.
    step : float
        1, 0.1 or 0.01.

    Returns
    -------
    int or float
        Never −0. What is rounded is the number to twelve digits, so that 25 bags of 0.09 m³ are
        a tie, whichever way their sum was rounded in the last place.

    Raises
    ------
    ValueError
        If the value is NaN or infinite: a figure that does not exist is None.
    """
    if not math.isfinite(value):
        raise ValueError(f"value={value!r}: a figure must be finite")
    exact = Decimal(f"{value:.{_DIGITS}g}").quantize(_STEP_OF[step], ROUND_HALF_EVEN)
    whole = int(exact)
    return whole if exact == whole else float(exact)


def maybe(value: float | None, step: float) -> float | int | None:
    """Round a figure that may be none."""
    return None if value is None else rounded(value, step)


def range_of(
    value: float, variance: float, step: float, *, quantile: float = Z_RANGE, unit: float = 1.0
) -> dict[str, Any]:
    """Write a figure with its 90 % range: lognormal by moments.

    Parameters
    ----------
    value, variance : float
        Mean and variance, of one unit and its square.
    step : float
        To round to.
    quantile : float
        Of 0.95: normal, or Student's where few cells were measured.
    unit : float
        Divides all three, such as 1000 for t from kg.

    Returns
    -------
    dict
        `value`, `low`, `high`; all 0 where the value is 0.
    """
    low = high = value
    if value > 0.0 and variance > 0.0:
        low, high = lognormal_range(value, math.sqrt(variance) / value, t=quantile)
    return {
        "value": rounded(value / unit, step),
        "low": rounded(min(low, value) / unit, step),
        "high": rounded(max(high, value) / unit, step),
    }
