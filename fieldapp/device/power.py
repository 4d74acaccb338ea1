"""How much charge is left.

Rule 1: a phone that does not say is no mistake.
"""

import math
from typing import Any

from fieldapp.device.plyer_part import plyer_part

_FULL_PCT = 100


def battery_pct() -> int | None:
    """Give the charge left; None where the phone does not say. [%]."""
    part = plyer_part("battery")
    try:
        return None if part is None else pct_of(part.status)
    except Exception:  # whatever the phone's own parts raise, the app goes on
        return None


def pct_of(status: Any) -> int | None:
    """Read the charge from what plyer tells.

    Parameters
    ----------
    status : mapping
        With `percentage`, None if it is not known. [%]

    Returns
    -------
    int or None
        0 to 100, rounded down; None if it is no such number. [%]
    """
    told = status.get("percentage")
    if isinstance(told, bool) or not isinstance(told, int | float) or not math.isfinite(told):
        return None
    return math.floor(told) if 0 <= told <= _FULL_PCT else None
