"""The icons as plain geometry: lines and fields in two tones on a square of 56 by 56.

Rule 1: own shapes only; each is told from the others by its outline, not by its colour.
Rule 2: a field is seen whole from its first point, so that it can be drawn as a fan.
"""

import dataclasses
import math
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Literal

from fieldapp.ground.shapes import Point

#: Side of the square that shapes are drawn on.
SIDE = 56.0
#: Width of a line on it.
STROKE = 4.0
#: `warn` is yellow and `warn_ink` black in any light: a hazard is a yellow triangle everywhere.
Tone = Literal["ink", "fill", "warn", "warn_ink"]
#: Bars of a full battery and arcs of a good fix.
BATTERY_BARS, FIX_ARCS = 4, 3
_MIDDLE = SIDE / 2
#: Points that a full circle is drawn with.
_ROUND = 36


@dataclasses.dataclass(frozen=True)
class Stroke:
    """A line through points, on the square."""

    points: tuple[Point, ...]
    tone: Tone = "ink"
    width: float = STROKE
    closed: bool = False


@dataclasses.dataclass(frozen=True)
class Field:
    """A filled outline, on the square."""

    points: tuple[Point, ...]
    tone: Tone = "ink"


Part = Stroke | Field


def parts_of(name: str, *, level: float = 1.0, turn: float = 0.0) -> tuple[Part, ...]:
    """Give the parts of an icon, in the order in which they are drawn.

    Parameters
    ----------
    name : str
        One of `NAMES`; an empty name has no parts.
    level : float
        How full, 0 to 1: the bars of `battery`, the arcs of `fix`.
    turn : float
        Clockwise from straight up: where `arrow` points, and the needle of `rose`. [deg]

    Returns
    -------
    tuple of Stroke or Field
        On a square of `SIDE`, y upwards.
    """
    if not name:
        return ()
    if name == "battery":
        return _battery(level)
    if name == "fix":
        return _fix(level)
    if name == "arrow":
        return _turned(_ARROW, turn, (_MIDDLE, _MIDDLE))
    if name == "rose":
        return (*_ROSE, *_turned(_NEEDLE, turn, _ROSE_MIDDLE))
    return _SHAPES[name]()


def _arc(x: float, y: float, radius: float, start: float, end: float) -> tuple[Point, ...]:
    """Give points along an arc between two angles, counted anticlockwise from the right. [deg]."""
    steps = max(2, math.ceil(abs(end - start) / 360 * _ROUND))
    angles = (math.radians(start + (end - start) * step / steps) for step in range(steps + 1))
    return tuple((x + radius * math.cos(angle), y + radius * math.sin(angle)) for angle in angles)


def _circle(x: float, y: float, radius: float) -> tuple[Point, ...]:
    return _arc(x, y, radius, 0, 360)[:-1]


def _disc(x: float, y: float, radius: float, tone: Tone = "ink") -> Field:
    return Field(_circle(x, y, radius), tone)


def _ring(x: float, y: float, radius: float) -> Stroke:
    return Stroke(_circle(x, y, radius), closed=True)


def _box(west: float, south: float, east: float, north: float) -> tuple[Point, ...]:
    return (west, south), (east, south), (east, north), (west, north)


def _turned(parts: tuple[Part, ...], turn: float, about: Point) -> tuple[Part, ...]:
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))

    def move(point: Point) -> Point:
        x, y = point[0] - about[0], point[1] - about[1]
        return about[0] + x * cos + y * sin, about[1] + y * cos - x * sin
    return tuple(dataclasses.replace(part, points=tuple(map(move, part.points)))
                 for part in parts)


def _question() -> tuple[Part, ...]:
    hook = (*_arc(28, 34, 8, 180, -40), (28, 26), (28, 22))
    return Stroke(hook, width=5), _disc(28, 14, 3.2)


def _ready() -> tuple[Part, ...]:
    return (_disc(28, 28, 26),
            Stroke(((15, 28), (24.5, 18.5), (41, 38)), "fill", width=8))


def _resting() -> tuple[Part, ...]:
    return tuple(Field(_box(28 - half, y, 28 + half, y + 9))
                 for half, y in ((25, 7), (17, 23.5), (9, 40)))


def _unsurveyed() -> tuple[Part, ...]:
    dots = (_arc(28, 28, 24, step * 30, step * 30 + 1)[0] for step in range(12))
    return (*(_disc(x, y, 2.8) for x, y in dots), *_question())


def _closed() -> tuple[Part, ...]:
    return (Stroke(_box(5, 5, 51, 51), closed=True),
            Stroke(((6, 6), (50, 50)), width=7), Stroke(((6, 50), (50, 6)), width=7))


def _taken() -> tuple[Part, ...]:
    return tuple(part for west, south in ((3, 4), (29, 4), (16, 29)) for part in _bag(west, south))


def _bag(west: float, south: float) -> tuple[Part, ...]:
    """Draw a full bag, tied at the neck, 24 wide and 23 high."""
    x, y = west + 12, south
    body = ((x, y + 8), (x - 9, y), (x + 9, y), (x + 11.5, y + 6), (x + 8, y + 13),
            (x + 2.5, y + 17), (x - 2.5, y + 17), (x - 8, y + 13), (x - 11.5, y + 6), (x - 9, y))
    ears = ((x, y + 16), (x + 6, y + 22.5), (x - 6, y + 22.5))
    return Field(body), Field(ears)


def _outside() -> tuple[Part, ...]:
    box = ((26, 19), (26, 6), (52, 6), (52, 50), (26, 50), (26, 37))
    return (Stroke(box), Stroke(((3, 28), (36, 28)), width=6),
            Field(((44, 28), (32, 38), (32, 18))))


def _near_edge() -> tuple[Part, ...]:
    return (Field(_arc(28, 28, 20, 90, 270)), Stroke(_arc(28, 28, 18, -90, 90)),
            Stroke(((28, 3), (28, 53))))


def _cannot_tell() -> tuple[Part, ...]:
    return (*(Stroke(_arc(28, 28, 24, start + 18, start + 72)) for start in (0, 90, 180, 270)),
            *_question())


def _page(*lines: float) -> tuple[Part, ...]:
    edge = ((10, 4), (46, 4), (46, 36), (30, 52), (10, 52))
    return (Stroke(edge, closed=True), Stroke(((30, 51), (30, 36), (45, 36))),
            *(Stroke(((17, y), (39, y))) for y in lines))


def _pile() -> tuple[Part, ...]:
    boxes = (_box(5, 5, 27, 27), _box(29, 5, 51, 27), _box(17, 29, 39, 51))
    return tuple(part for box in boxes
                 for part in (Field(box, "fill"), Stroke(box, closed=True)))


def _hazard() -> tuple[Part, ...]:
    triangle = ((4, 6), (52, 6), (28, 51))
    return (Field(triangle, "warn"), Stroke(triangle, closed=True),
            Stroke(((28, 34), (28, 22)), "warn_ink", width=5), _disc(28, 13.5, 3, "warn_ink"))


def _drain() -> tuple[Part, ...]:
    wave = tuple((4 + step, 9 + 5 * math.sin(step * math.tau / 24)) for step in range(0, 49, 2))
    return Stroke(((28, 20), (28, 54))), Stroke(((11, 37), (45, 37))), Stroke(wave)


def _weed() -> tuple[Part, ...]:
    right = ((30, 28), (34, 40), (44, 50), (52, 52), (51, 44), (43, 34))
    left = tuple((SIDE - x, y) for x, y in right)
    return (Stroke(((12, 4), (38, 36)), width=5), Stroke(((44, 4), (18, 36)), width=5),
            Field(right), Field(left))


def _peg() -> tuple[Part, ...]:
    return (Stroke(((28, 3), (28, 26)), width=5), _disc(28, 38, 14, "fill"), _ring(28, 38, 13))


def _star() -> tuple[Part, ...]:
    rim = tuple(_arc(28, 27, 26 if step % 2 == 0 else 10.5, 90 + step * 36, 91 + step * 36)[0]
                for step in range(10))
    return (Field(((28, 27), *rim, rim[0])),)


def _plot() -> tuple[Part, ...]:
    return _disc(28, 28, 24, "fill"), _ring(28, 28, 24)


def _plot_skipped() -> tuple[Part, ...]:
    return (*_plot(), Stroke(((11, 11), (45, 45))))


def _unsent() -> tuple[Part, ...]:
    box = ((18, 24), (5, 24), (5, 5), (51, 5), (51, 24), (38, 24))
    return (Stroke(box), Stroke(((28, 15), (28, 42)), width=5),
            Field(((28, 54), (16, 39), (40, 39))))


def _rain() -> tuple[Part, ...]:
    drop = (*_arc(28, 20, 17, 155, 385), (28, 54))
    return (Field(((28, 20), *drop, drop[0])),)


def _clock() -> tuple[Part, ...]:
    return (_ring(28, 28, 22), Stroke(((28, 42), (28, 28), (37, 28))), Stroke(((4, 52), (52, 4))))


def _check_in() -> tuple[Part, ...]:
    glass = ((12, 6), (44, 6), (44, 12), (30, 28), (44, 44), (44, 50), (12, 50), (12, 44),
             (26, 28), (12, 12))
    return (Stroke(glass, closed=True), Stroke(((6, 4), (50, 4))), Stroke(((6, 52), (50, 52))),
            Field(((28, 18), (20, 9), (36, 9))), Field(((28, 30), (36, 40), (20, 40))))


def _battery(level: float) -> tuple[Part, ...]:
    lit = 0 if level <= 0 else max(1, round(min(1.0, level) * BATTERY_BARS))
    bars = (Field(_box(9.5 + 10 * bar, 20, 16.5 + 10 * bar, 36)) for bar in range(lit))
    return Stroke(_box(4, 14, 49, 42), closed=True), Field(_box(50, 22, 55, 34)), *bars


def _fix(level: float) -> tuple[Part, ...]:
    lit = round(min(1.0, max(0.0, level)) * FIX_ARCS)
    arcs = (Stroke(_arc(12, 12, 15 + 12 * arc, 0, 90), width=5) for arc in range(lit))
    return _disc(12, 12, 8), *arcs


_ARROW: tuple[Part, ...] = (
    Field(((28, 24), (35, 24), (35, 4), (21, 4), (21, 24), (7, 24), (28, 54), (49, 24),
           (35, 24))),)
#: A ring that is open for its N, and the needle about its middle.
_ROSE_MIDDLE = (28.0, 25.0)
_ROSE: tuple[Part, ...] = (
    Stroke(_arc(*_ROSE_MIDDLE, 23, 110, 430)),
    Stroke(((23.5, 44), (23.5, 55), (32.5, 44), (32.5, 55)), width=3),
    *(Stroke((_arc(*_ROSE_MIDDLE, 23, at, at + 1)[0], _arc(*_ROSE_MIDDLE, 18, at, at + 1)[0]))
      for at in (0, 180, 270)))
_NEEDLE: tuple[Part, ...] = (Field(((28, 18), (38, 12), (28, 42), (18, 12))),)

_SHAPES: Mapping[str, Callable[[], tuple[Part, ...]]] = MappingProxyType({
    "ready": _ready, "resting": _resting, "unsurveyed": _unsurveyed, "closed": _closed,
    "taken": _taken, "outside": _outside, "near_edge": _near_edge, "cannot_tell": _cannot_tell,
    "no_sheet": _page,
    "pile": _pile, "hazard": _hazard, "drain": _drain, "weed": _weed, "peg": _peg, "other": _star,
    "plot": _plot, "plot_done": lambda: (_disc(28, 28, 26),), "plot_skipped": _plot_skipped,
    "unsent": _unsent, "rain": _rain, "sheet": lambda: _page(13, 21, 29),
    "clock": _clock, "check_in": _check_in,
})
NAMES = (*_SHAPES, "battery", "fix", "arrow", "rose")
