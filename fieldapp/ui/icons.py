"""Icons drawn on the canvas, at any size.

Rule 1: a shape stands in `icon_shapes`; here it is only scaled, turned and inked.
"""

from collections.abc import Iterator, Sequence
from typing import Any

from kivy.clock import Clock
from kivy.graphics import Color
from kivy.graphics.instructions import Instruction
from kivy.properties import ColorProperty, NumericProperty, StringProperty
from kivy.uix.widget import Widget

from fieldapp.ground.patterns import LOOKS
from fieldapp.ui.icon_shapes import SIDE, Part, Stroke, Tone, parts_of
from fieldapp.ui.meshes import fan, lines
from fieldapp.ui.palette import rgba

Colour = Sequence[float]
_WARN, _WARN_INK = rgba(LOOKS["outside"].fill), rgba(LOOKS["outside"].ink)


def drawn(name: str, x: float, y: float, side: float, *, ink: Colour, fill: Colour,
          level: float = 1.0, turn: float = 0.0) -> Iterator[Instruction]:
    """Give an icon as instructions for a canvas.

    Parameters
    ----------
    name : str
        One of `icon_shapes.NAMES`.
    x, y : float
        Lower left corner. [px]
    side : float
        Of its square. [px]
    ink, fill : sequence of float
        Its two colours.
    level, turn : float
        As `icon_shapes.parts_of` takes them.

    Yields
    ------
    Instruction
        In the order in which they are to be added.
    """
    scale = side / SIDE
    colours: dict[Tone, Colour] = {"ink": ink, "fill": fill, "warn": _WARN, "warn_ink": _WARN_INK}
    for part in parts_of(name, level=level, turn=turn):
        yield Color(*colours[part.tone])
        yield from _part(part, x, y, scale)


def _part(part: Part, x: float, y: float, scale: float) -> Iterator[Instruction]:
    points = [(x + px * scale, y + py * scale) for px, py in part.points]
    if isinstance(part, Stroke):
        yield from lines(points, part.width * scale, closed=part.closed)
    else:
        yield fan(points)


class Icon(Widget):
    """One icon in the middle of its box, as large as fits.

    Attributes
    ----------
    name : str
        Which; empty for none.
    ink, fill : colour
        Its two tones.
    level : float
        0 to 1, bars of `battery` and arcs of `fix`.
    turn : float
        Clockwise from up, for `arrow` and `rose`. [deg]
    """

    name: str = StringProperty("")
    ink: Colour = ColorProperty((0, 0, 0, 1))
    fill: Colour = ColorProperty((1, 1, 1, 1))
    level: float = NumericProperty(1.0)
    turn: float = NumericProperty(0.0)

    def __init__(self, **kwargs: Any) -> None:
        redraw = Clock.create_trigger(self._redraw, -1)
        super().__init__(**kwargs)
        self.bind(**dict.fromkeys(("pos", "size", "name", "ink", "fill", "level", "turn"),
                                  lambda *_: redraw()))
        redraw()

    def _redraw(self, *_: object) -> None:
        self.canvas.clear()
        side = min(self.size)
        if side <= 0:
            return
        x, y = self.center_x - side / 2, self.center_y - side / 2
        for instruction in drawn(self.name, x, y, side, ink=self.ink,
                                 fill=self.fill, level=self.level, turn=self.turn):
            self.canvas.add(instruction)
