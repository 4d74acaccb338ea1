"""The map on the screen: north up, drawn from one `MapShown`, deaf to touch.

Rule 1: a new place only moves what is drawn; ground is drawn anew when cells, scale or light
change, the rest when it changes or the drawn surroundings are left.
Rule 2: nothing here reacts to touch, so rain does nothing.
"""

import math
from collections.abc import Iterable
from typing import Any

from kivy.clock import Clock
from kivy.graphics import (
    Color,
    InstructionGroup,
    PopMatrix,
    PushMatrix,
    Rectangle,
    ScissorPop,
    ScissorPush,
    Translate,
)
from kivy.graphics.instructions import Instruction
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from fieldapp.ground.shapes import Box
from fieldapp.phone.map_shown import MapShown
from fieldapp.phone.track_line import Piece
from fieldapp.ui.map_ground import View, ground
from fieldapp.ui.map_marks import Texts, own_place, standing, way
from fieldapp.ui.map_rim import Rim, at_the_rim
from fieldapp.ui.palette import BRIGHT, Palette, rgba
from fieldapp.ui.tiles import Tiles

#: Names, plots and marks are drawn so far beyond the map's rim, as a share of its size.
_BEYOND = 0.25


class MapCanvas(Widget):
    """The map.

    Attributes
    ----------
    shown : MapShown or None
        What to show.
    palette : Palette
        In which light.
    bar_text, sheet_text : str
        Words at the scale bar, and in the corner on the age of the sheet.
    """

    shown: MapShown | None = ObjectProperty(None, allownone=True)
    palette: Palette = ObjectProperty(BRIGHT)
    bar_text: str = StringProperty("")
    sheet_text: str = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        redraw = Clock.create_trigger(self._redraw, -1)
        super().__init__(**kwargs)
        self._tiles, self._texts = Tiles(), Texts()
        self._view = View(1.0, (0.0, 0.0))
        self._near: Box | None = None
        self._drawn: dict[str, tuple[object, ...]] = {}
        self._pieces: list[tuple[Piece, InstructionGroup]] = []
        self._lay()
        self.bind(**dict.fromkeys(
            ("pos", "size", "shown", "palette", "bar_text", "sheet_text"), lambda *_: redraw()))
        redraw()

    def _lay(self) -> None:
        """Lay the canvas out: what moves with the ground, then what stays on the screen."""
        self._ground, self._way, self._on_it, self._me, self._over = (
            InstructionGroup() for _ in range(5))
        self._cut, self._paper = ScissorPush(), Rectangle()
        self._paper_colour, self._move, self._me_move = Color(), Translate(), Translate()
        for one in (self._cut, self._paper_colour, self._paper, PushMatrix(), self._move,
                    self._ground, self._way, self._on_it, self._me_move, self._me, PopMatrix(),
                    self._over, ScissorPop()):
            self.canvas.add(one)

    def _redraw(self, *_: object) -> None:
        shown = self.shown
        left, low = self.to_window(*self.pos)
        self._cut.x, self._cut.y = round(left), round(low)
        self._cut.width, self._cut.height = round(self.width), round(self.height)
        self._paper_colour.rgba = rgba(self.palette.paper)
        self._paper.pos, self._paper.size = self.pos, self.size
        if shown is None or min(self.size) <= 0:
            for group in (self._ground, self._way, self._on_it, self._me, self._over):
                group.clear()
            self._drawn, self._pieces = {}, []
            return
        self._draw_ground(shown)
        self._draw_way(shown.track)
        self._draw_on_it(shown)
        self._draw_me(shown)
        self._draw_over(shown)
        x, y = self._view.at(shown.centre)
        self._move.x, self._move.y = round(self.center_x - x), round(self.center_y - y)

    def _draw_ground(self, shown: MapShown) -> None:
        wide, high = shown.span_m
        px_per_m = min(self.width / wide, self.height / high if high > 0 else math.inf)
        key = (px_per_m, self.palette, shown.cells, shown.closed, shown.outline)
        if not self._is_new("ground", key):
            return
        self._view = View(px_per_m, shown.centre)
        _refill(self._ground, ground(shown, self._view, self.palette, self._tiles))
        self._way.clear()
        self._pieces, self._near = [], None

    def _draw_way(self, track: tuple[Piece, ...]) -> None:
        """Draw the pieces of the walk that are new; those that stand stay."""
        same = 0
        for (old, _), new in zip(self._pieces, track, strict=False):
            if old is not new and old != new:
                break
            same += 1
        for _, group in self._pieces[same:]:
            self._way.remove(group)
        del self._pieces[same:]
        for piece in track[same:]:
            group = InstructionGroup()
            _refill(group, way(piece, self._view, self.palette))
            self._way.add(group)
            self._pieces.append((piece, group))

    def _draw_on_it(self, shown: MapShown) -> None:
        (x, y), scale = shown.centre, self._view.px_per_m
        half = self.width / 2 / scale, self.height / 2 / scale
        near = self._near
        left = near is None or (x - half[0] < near[0] or x + half[0] > near[2]
                                or y - half[1] < near[1] or y + half[1] > near[3])
        if self._is_new("on it", (shown.plots, shown.marks, self.size)) or left:
            wide, high = (one * (1 + 2 * _BEYOND) for one in half)
            self._near = x - wide, y - high, x + wide, y + high
            _refill(self._on_it, standing(shown, self._view, self._near, side=min(self.size),
                                          palette=self.palette, texts=self._texts))

    def _draw_me(self, shown: MapShown) -> None:
        me = shown.me
        if me is None:
            self._me.clear()
            self._drawn.pop("me", None)
            return
        if self._is_new("me", (me.acc_m, me.how, self._view.px_per_m, self.palette)):
            _refill(self._me, own_place(me, self._view, self.palette))
        self._me_move.x, self._me_move.y = self._view.at((me.x, me.y))

    def _draw_over(self, shown: MapShown) -> None:
        px_per_m, back = self._view.px_per_m, None
        if shown.me is not None and shown.back_deg is not None:
            x = self.center_x + (shown.me.x - shown.centre[0]) * px_per_m
            y = self.center_y + (shown.me.y - shown.centre[1]) * px_per_m
            back = (x, y), shown.back_deg
        rim = Rim((self.x, self.y, self.right, self.top), shown.bar_m * px_per_m,
                  shown.north_deg, back, self.bar_text, self.sheet_text)
        if self._is_new("over", (rim, self.palette)):
            _refill(self._over, at_the_rim(rim, self.palette, self._texts))

    def _is_new(self, part: str, key: tuple[object, ...]) -> bool:
        """Say whether a part is to be drawn anew, and take note of what it is drawn from."""
        if self._drawn.get(part) == key:
            return False
        self._drawn[part] = key
        return True


def _refill(group: InstructionGroup, instructions: Iterable[Instruction]) -> None:
    group.clear()
    for one in instructions:
        group.add(one)
