"""Fitting text into its box: full size first, then more lines, then smaller, down to 18 sp.

Rule 1: no word is broken, none runs out of its box; text that fits at no size is said to.
"""

import dataclasses
from functools import lru_cache

from kivy.core.text import Label as Measured
from kivy.metrics import sp

from fieldapp.ui.sizes import LEAST_TEXT

STEP_SP = 2


@dataclasses.dataclass(frozen=True)
class Fit:
    """The size that fits [sp], and whether any did."""

    size_sp: float
    fits: bool


@lru_cache(maxsize=4096)
def fit(text: str, width: int, height: int, *, size_sp: float, bold: bool,
        most_lines: int) -> Fit:
    """Find the largest size at which text fits a box.

    Parameters
    ----------
    text : str
        With or without line breaks.
    width, height : int
        Of the box. [px]
    size_sp : float
        Full size. [sp]
    bold : bool
        Weight.
    most_lines : int
        0 for as many as the box is high.

    Returns
    -------
    Fit
        At 18 sp with `fits` false if none does.
    """
    size = size_sp
    while True:
        if _fits(text, width, height, size, bold, most_lines):
            return Fit(size, fits=True)
        if size <= LEAST_TEXT:
            return Fit(min(size, size_sp), fits=False)
        size = max(LEAST_TEXT, size - STEP_SP)


def _fits(text: str, width: int, height: int, size_sp: float, bold: bool,
          most_lines: int) -> bool:
    label = Measured(font_size=sp(size_sp), bold=bold, text_size=(width, None))
    if any(label.get_extents(word)[0] > width for word in text.split()):
        return False
    label.text = text
    tall = label.render()[1]
    line = label.get_extents("Ág")[1]
    return bool(tall <= height and (not most_lines or tall < line * (most_lines + 0.5)))
