"""A plate in the look of one state of the ground: its pattern frames a plain field for words.

Rule 1: no line of the pattern runs through a letter.
"""

from typing import Any

from kivy.clock import Clock
from kivy.graphics import Color, PopMatrix, PushMatrix, Rectangle, Translate
from kivy.metrics import dp
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from fieldapp.ground import Band
from fieldapp.ground.patterns import INK_DP, Look, dots, strokes
from fieldapp.ground.shapes import Ring, Shape
from fieldapp.ground.slices import whole
from fieldapp.ui.meshes import dot_meshes, quad_meshes
from fieldapp.ui.palette import BRIGHT, Palette, rgba

#: Depth of the pattern above and below the words, and at both ends. [dp]
ABOVE_DP, ENDS_DP = 10.0, 24.0
#: Width of the border. [dp]
BORDER_DP = 2.0


class PatternPlate(Widget):
    """The plate.

    Attributes
    ----------
    band : str
        The state it shows.
    palette : Palette
        In which light.
    """

    band: Band = StringProperty("no_sheet")
    palette: Palette = ObjectProperty(BRIGHT)

    def __init__(self, **kwargs: Any) -> None:
        redraw = Clock.create_trigger(self._redraw, -1)
        super().__init__(**kwargs)
        self.bind(**dict.fromkeys(("pos", "size", "band", "palette"), lambda *_: redraw()))
        redraw()

    def _redraw(self, *_: object) -> None:
        look: Look = self.palette.fills[self.band]
        frame = frame_of(*self.size, above=dp(ABOVE_DP), ends=dp(ENDS_DP))
        border = dp(BORDER_DP)
        self.canvas.before.clear()
        with self.canvas.before:
            PushMatrix()
            Translate(*self.pos)
            Color(*rgba(look.fill))
            Rectangle(size=self.size)
            Color(*rgba(look.ink))
        for mesh in (*quad_meshes(strokes(look.pattern, frame, dp=dp(1))),
                     *dot_meshes(dots(look.pattern, frame, dp=dp(1)), dp(INK_DP) / 2)):
            self.canvas.before.add(mesh)
        self.canvas.before.add(Color(*rgba(self.palette.ink)))
        for mesh in quad_meshes(whole(frame_of(*self.size, above=border, ends=border))):
            self.canvas.before.add(mesh)
        self.canvas.before.add(PopMatrix())


def frame_of(width: float, height: float, *, above: float, ends: float) -> Shape:
    """Give a box less the plain field in its middle.

    Parameters
    ----------
    width, height : float
        Of the box, its lower left corner on the origin. [px]
    above, ends : float
        Depth of the frame above and below the field, and at both ends. [px]

    Returns
    -------
    Shape
        The whole box where it is too small to hold a field.
    """
    box = _ring(0.0, 0.0, width, height)
    if width <= 2 * ends or height <= 2 * above:
        return ((box,),)
    return ((box, _ring(ends, above, width - ends, height - above)),)


def _ring(west: float, south: float, east: float, north: float) -> Ring:
    return (west, south), (east, south), (east, north), (west, north), (west, south)
