"""The one door to plyer: a part of an Android phone, or nothing.

Rule 1: where a part is absent nothing is raised nor printed; elsewhere than on Android all are.
"""

from importlib import import_module
from importlib.util import find_spec
from typing import Any


def plyer_part(name: str) -> Any | None:
    """Give a part of the phone.

    Parameters
    ----------
    name : str
        As plyer calls it: `battery`, `vibrator`.

    Returns
    -------
    object or None
        Plyer's facade; its calls may still raise anything.
    """
    try:
        # plyer is asked first: looking for an absent part's module runs what stands above it.
        if str(import_module("plyer.utils").platform) != "android":
            return None
        if find_spec(f"plyer.platforms.android.{name}") is None:
            return None
        return getattr(import_module("plyer"), name)
    except Exception:  # what the phone lacks must never stop the app
        return None
