"""What stands on the ground of the map: names, plots, marks, the walk and one's own place.

Rule 1: words and shapes stand on plain plates, so that no pattern runs through them.
Rule 2: names are for cells large enough to carry one, repeated over cells larger than the map.
"""

import math
from collections.abc import Iterable, Iterator

from kivy.core.text import Label
from kivy.graphics import Color, Rectangle
from kivy.graphics.instructions import Instruction
from kivy.graphics.texture import Texture
from kivy.metrics import dp, sp

from fieldapp.ground.shapes import Box, Point, box_distance_m, holds
from fieldapp.phone.map_shown import Ground, MapShown, Me
from fieldapp.phone.track_line import Piece
from fieldapp.ui.icons import drawn
from fieldapp.ui.map_ground import View
from fieldapp.ui.meshes import dot_meshes, hoop, lines, quad_meshes
from fieldapp.ui.palette import Palette, rgba

#: Size of all words on the map. [sp]
TEXT_SP = 18.0
#: A smaller cell carries no name. [dp]
NAME_ROOM_DP = 60.0
#: A name is repeated after so much of the map's shorter side.
_NAME_EVERY = 0.75
#: Marks and plots, and both where the map shows more than so many metres to the dp. [dp]
MARK_DP, PLOT_DP = 30.0, 26.0
SMALL_MARK_DP, SMALL_PLOT_DP = 20.0, 10.0
_SMALL_FROM_M = 0.7
#: One's own place: the disc, the ring and the thin edge about it. [dp]
DISC_DP, RING_DP, EDGE_DP = 9.0, 3.0, 2.0
#: The circle of one's radius: a light hoop and a dark one on it. [dp]
LIGHT_HOOP_DP, DARK_HOOP_DP = 5.0, 2.5
#: The walk: a light line and a dark one on it. [dp]
LIGHT_WAY_DP, DARK_WAY_DP = 6.0, 3.0


class Texts:
    """The words drawn so far, as textures."""

    def __init__(self) -> None:
        self._made: dict[tuple[str, float], Texture] = {}

    def of(self, text: str) -> Texture:
        """Give the texture of some words, white."""
        key = text, sp(TEXT_SP)
        if key not in self._made:
            label = Label(text=text, font_size=key[1], bold=True)
            label.refresh()
            self._made[key] = label.texture
        return self._made[key]


def plate(text: str, centre: Point, ground: str, ink: str, texts: Texts) -> Iterator[Instruction]:
    """Draw words on a plain plate about a point [px], in `#rrggbb` colours."""
    texture = texts.of(text)
    width, height = texture.size
    left, low = round(centre[0] - width / 2), round(centre[1] - height / 2)
    edge = dp(3)
    yield Color(*rgba(ground))
    yield Rectangle(pos=(left - edge, low), size=(width + 2 * edge, height))
    yield Color(*rgba(ink))
    yield Rectangle(texture=texture, pos=(left, low), size=(width, height))


def standing(shown: MapShown, view: View, near: Box, *, side: float, palette: Palette,
             texts: Texts) -> Iterator[Instruction]:
    """Draw cell names, plots and marks.

    Parameters
    ----------
    shown : MapShown
        All of them.
    view : View
        Where they come to lie.
    near : Box
        What lies elsewhere is left out. [m]
    side : float
        Shorter side of the map. [px]
    palette : Palette
        In which light.
    texts : Texts
        Words drawn before.

    Yields
    ------
    Instruction
        Marks over plots over names.
    """
    for cell in shown.cells:
        if _apart(cell.box, near):
            continue
        look = palette.fills[cell.band]
        for at in _name_points(cell, view, side):
            if box_distance_m(near, *at) == 0:
                yield from plate(cell.name, view.at(at), look.fill, look.ink, texts)
    yield from _plots(shown, view, near, palette, texts)
    mark_side = dp(SMALL_MARK_DP if _is_small(view) else MARK_DP)
    for mark in shown.marks:
        if box_distance_m(near, mark.x, mark.y) == 0:
            yield from _shape(mark.what, view.at((mark.x, mark.y)), mark_side, palette)


def way(piece: Piece, view: View, palette: Palette) -> Iterator[Instruction]:
    """Draw a piece of the walk."""
    points = [view.at(point) for point in piece]
    for colour, width in ((palette.me_ring, LIGHT_WAY_DP), (palette.me, DARK_WAY_DP)):
        yield Color(*rgba(colour))
        yield from lines(points, dp(width), joint="bevel")


def own_place(me: Me, view: View, palette: Palette) -> Iterator[Instruction]:
    """Draw one's own place about the origin: disc, rings and the circle of its radius.

    The circle is dashed where the fix is weak or stale; a lost place is hollow and has none.
    """
    if me.how != "lost":
        dashed, radius = me.how != "fresh", me.acc_m * view.px_per_m
        for colour, width in ((palette.me_ring, LIGHT_HOOP_DP), (palette.me, DARK_HOOP_DP)):
            yield Color(*rgba(colour))
            yield from quad_meshes(hoop(radius, dp(width), dashed=dashed))
    disc, ring, edge = dp(DISC_DP), dp(RING_DP), dp(EDGE_DP)
    for colour, radius in ((palette.me_edge, disc + ring + edge), (palette.me_ring, disc + ring),
                           (palette.me, disc), (palette.me_ring, disc - ring)):
        if radius > disc - ring or me.how == "lost":
            yield Color(*rgba(colour))
            yield from dot_meshes([(0.0, 0.0)], radius, corners=36)


def _plots(shown: MapShown, view: View, near: Box, palette: Palette,
           texts: Texts) -> Iterator[Instruction]:
    small = _is_small(view)
    side = dp(SMALL_PLOT_DP if small else PLOT_DP)
    names = {"left": "plot", "done": "plot_done", "skipped": "plot_skipped"}
    for plot in shown.plots:
        if box_distance_m(near, plot.x, plot.y) > 0:
            continue
        x, y = view.at((plot.x, plot.y))
        yield from drawn(names[plot.standing], x - side / 2, y - side / 2, side,
                         ink=rgba(palette.ink), fill=rgba(palette.paper))
        if not small:
            beside = x + side / 2 + texts.of(plot.name).width / 2 + dp(3)
            yield from plate(plot.name, (beside, y), palette.paper, palette.ink, texts)


def _shape(name: str, centre: Point, side: float, palette: Palette) -> Iterator[Instruction]:
    """Draw an icon on a plate with a little room about it."""
    corner, edge = (centre[0] - side / 2, centre[1] - side / 2), dp(2)
    yield Color(*rgba(palette.paper))
    yield Rectangle(pos=(corner[0] - edge, corner[1] - edge),
                    size=(side + 2 * edge, side + 2 * edge))
    yield from drawn(name, *corner, side, ink=rgba(palette.ink), fill=rgba(palette.paper))


def _name_points(cell: Ground, view: View, side: float) -> Iterable[Point]:
    """Give where a cell's name stands: once, or evenly over a cell larger than the map. [m]."""
    west, south, east, north = cell.box
    wide, high = (east - west) * view.px_per_m, (north - south) * view.px_per_m
    if min(wide, high) < dp(NAME_ROOM_DP):
        return []
    across, up = (max(1, math.ceil(size / (side * _NAME_EVERY))) for size in (wide, high))
    if across == up == 1:
        return [cell.at]
    points = [(west + (column + 0.5) / across * (east - west),
               south + (row + 0.5) / up * (north - south))
              for column in range(across) for row in range(up)]
    return [at for at in points if holds(cell.shape, *at)] or [cell.at]


def _is_small(view: View) -> bool:
    return bool(dp(1) / view.px_per_m > _SMALL_FROM_M)


def _apart(a: Box, b: Box) -> bool:
    return a[2] < b[0] or b[2] < a[0] or a[3] < b[1] or b[3] < a[1]
