"""What stays at the rim of the map: north, the scale bar, the sheet's day, the way back.

Rule 1: all of it stands on plain plates, over whatever ground moves below.
"""

import dataclasses
import math
from collections.abc import Iterator

from kivy.graphics import Color, Rectangle
from kivy.graphics.instructions import Instruction
from kivy.metrics import dp

from fieldapp.ground.shapes import Box, Point
from fieldapp.ui.icons import drawn
from fieldapp.ui.map_marks import Texts, plate
from fieldapp.ui.palette import Palette, rgba

#: Room between the rim and what stands at it; side of an arrow. [dp]
RIM_DP, ARROW_DP = 12.0, 30.0
#: Height of the scale bar's ends and width of its lines. [dp]
_TICK_DP, _LINE_DP = 9.0, 3.0


@dataclasses.dataclass(frozen=True)
class Rim:
    """What is to be told at the rim.

    Attributes
    ----------
    box : Box
        The map: left, low, right, top. [px]
    bar_px : float
        Length of the scale bar. [px]
    north_deg : float
        Clockwise from straight up. [deg]
    back : tuple of (Point, float) or None
        Outside the block: one's own place [px], and which way back lies [deg].
    bar_text, sheet_text : str
        Words; empty for none.
    """

    box: Box
    bar_px: float
    north_deg: float
    back: tuple[Point, float] | None
    bar_text: str
    sheet_text: str


def at_the_rim(rim: Rim, palette: Palette, texts: Texts) -> Iterator[Instruction]:
    """Draw what is told at the rim of the map, in a light, with words drawn before."""
    left, low, right, top = rim.box
    room, side = dp(RIM_DP), dp(ARROW_DP)
    north = right - room - side / 2, top - room - side / 2
    letter = texts.of("N").height / 2
    yield from _arrow(rim.north_deg, north, palette.paper, palette.ink)
    yield from plate("N", (north[0], north[1] - side / 2 - letter), palette.paper, palette.ink,
                     texts)
    yield from _bar(rim, palette, texts)
    if rim.sheet_text:
        width, height = texts.of(rim.sheet_text).size
        yield from plate(rim.sheet_text, (left + room + width / 2, low + room + height / 2),
                         palette.paper, palette.ink, texts)
    if rim.back is not None:
        yield from _arrow(rim.back[1], back_point(*rim.back, rim.box, room + side / 2),
                          palette.look, palette.look_ink)


def back_point(me: Point, back_deg: float, box: Box, room: float) -> Point:
    """Give where the arrow that points back stands.

    Parameters
    ----------
    me : Point
        One's own place. [px]
    back_deg : float
        Which way back lies, clockwise from straight up. [deg]
    box : Box
        The map. [px]
    room : float
        What is to be left free at its rim. [px]

    Returns
    -------
    Point
        At the rim in that direction from one's own place, or from the point of the map that is
        nearest to it. [px]
    """
    west, south, east, north = (box[0] + room, box[1] + room, box[2] - room, box[3] - room)
    x, y = min(max(me[0], west), east), min(max(me[1], south), north)
    dx, dy = math.sin(math.radians(back_deg)), math.cos(math.radians(back_deg))
    reach = [((east if dx > 0 else west) - x) / dx] if abs(dx) > 1e-9 else []
    reach += [((north if dy > 0 else south) - y) / dy] if abs(dy) > 1e-9 else []
    return x + min(reach) * dx, y + min(reach) * dy


def _bar(rim: Rim, palette: Palette, texts: Texts) -> Iterator[Instruction]:
    right, low = rim.box[2] - dp(RIM_DP), rim.box[1] + dp(RIM_DP)
    left, tick, thick, edge = right - rim.bar_px, dp(_TICK_DP), dp(_LINE_DP), dp(4)
    yield Color(*rgba(palette.paper))
    yield Rectangle(pos=(left - edge, low - edge), size=(rim.bar_px + 2 * edge, tick + 2 * edge))
    yield Color(*rgba(palette.ink))
    yield Rectangle(pos=(left, low), size=(rim.bar_px, thick))
    for x in (left, right - thick):
        yield Rectangle(pos=(x, low), size=(thick, tick))
    if rim.bar_text:
        width, height = texts.of(rim.bar_text).size
        yield from plate(rim.bar_text, (right - width / 2, low + tick + edge + height / 2),
                         palette.paper, palette.ink, texts)


def _arrow(turn: float, centre: Point, face: str, ink: str) -> Iterator[Instruction]:
    side, edge = dp(ARROW_DP), dp(4)
    x, y = centre[0] - side / 2, centre[1] - side / 2
    yield Color(*rgba(face))
    yield Rectangle(pos=(x - edge, y - edge), size=(side + 2 * edge, side + 2 * edge))
    yield from drawn("arrow", x, y, side, ink=rgba(ink), fill=rgba(face), turn=turn)
