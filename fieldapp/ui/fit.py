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
    """The size that fits [sp], how high the text then is [px], and whether any size did."""

    size_sp: float
    tall: int
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
        tall, whole = _measured(text, width, size, bold, most_lines)
        if whole and tall <= height:
            return Fit(size, tall, fits=True)
        if size <= LEAST_TEXT:
            return Fit(size, tall, fits=False)
        size = max(LEAST_TEXT, size - STEP_SP)


def _measured(text: str, width: int, size_sp: float, bold: bool,
              most_lines: int) -> tuple[int, bool]:
    """Give how high the text is [px], and whether words and number of lines fit the width."""
    label = Measured(font_size=sp(size_sp), bold=bold, text_size=(width, None))
    broken = any(label.get_extents(word)[0] > width for word in text.split())
    label.text = text
    tall = int(label.render()[1])
    too_many = most_lines and tall > label.get_extents("Ág")[1] * (most_lines + 0.5)
    return tall, not broken and not too_many
