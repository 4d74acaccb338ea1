"""A line or more of text that fits its box by the rule of `fit`."""

from typing import Any

from kivy.clock import Clock
from kivy.metrics import sp
from kivy.properties import BooleanProperty, NumericProperty
from kivy.uix.label import Label

from fieldapp.ui.fit import fit
from fieldapp.ui.sizes import SECOND_TEXT


class TextLine(Label):
    """Text in its box.

    Attributes
    ----------
    size_sp : float
        Full size, before the person's choice of text. [sp]
    scale : float
        That choice.
    most_lines : int
        0 for as many as fit.
    clipped : bool
        It fits at no size.
    """

    size_sp: float = NumericProperty(SECOND_TEXT)
    scale: float = NumericProperty(1.0)
    most_lines: int = NumericProperty(0)
    clipped: bool = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        refit = Clock.create_trigger(self._refit, -1)
        super().__init__(**kwargs)
        watched = ("size", "text", "size_sp", "scale", "most_lines", "bold", "valign")
        self.bind(**dict.fromkeys(watched, lambda *_: refit()))
        refit()

    def _refit(self, *_: object) -> None:
        width, height = int(self.width), int(self.height)
        if width <= 0 or height <= 0 or not self.text:
            self.clipped = bool(self.text) and min(width, height) <= 0
            return
        found = fit(self.text, width, height, size_sp=self.size_sp * self.scale, bold=self.bold,
                    most_lines=int(self.most_lines))
        self.clipped = not found.fits
        self.font_size = sp(found.size_sp)
        # A renderer that is told the height leaves out lines that would fit, so it is not told;
        # what is left over stands above or below as padding.
        self.text_size = (width, None)
        spare = max(0, height - found.tall)
        self.padding = (0, spare if self.valign == "bottom" else 0,
                        0, spare if self.valign == "top" else 0)
