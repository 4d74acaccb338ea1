"""One cell of a map: its ground by state, what is closed of it, its name, its number, its flag.

Rule 1: the fill is the state's, whatever number is printed; on a layer it is that of the cell's
class there, and nothing is shown of closed ground.
Rule 2: words stand on a plain plate of the ground's fill, so that no line runs through a letter.
Rule 3: what stands beside the cell's ground is black on the page's white.
"""

import dataclasses
from collections.abc import Callable, Mapping
from typing import Any

from markupsafe import Markup

from sync.geometry.ground import CellGround
from sync.geometry.shapes import bounds_of
from sync.report.map_paint import Paint, state_paint
from sync.report.map_place import spot_for
from sync.report.map_signs import flag_svg
from sync.report.map_view import Bounds, View, figure, path_of, plane_shape

#: Of type: width of a letter or figure against its size, bold, and of a line its height.
_LETTER, _LINE = 0.68, 1.15
#: From the middle of a line down to the foot of its letters, against their size.
_FOOT = 0.36
_PLATE_PAD = 2.0
#: Sizes of type: against the cell's side, and at most. [units of drawing]
_NAME, _NUMBER = (0.26, 17.0), (0.21, 14.0)
#: Side of the sign of a flag against the cell's side, and at most; and how far from the corner.
_FLAG, _CORNER = (0.28, 16.0), 0.06


@dataclasses.dataclass(frozen=True)
class CellSaid:
    """What is said of one cell.

    Attributes
    ----------
    row : mapping
        Its row of the document.
    label : str
        In one line, for whoever hears the map.
    number : str
        Printed under the name; may be empty.
    flags : int
        Open ones.
    paint : Paint or None
        Of its class on a layer; None is that of its state.
    """

    row: Mapping[str, Any]
    label: str
    number: str
    flags: int
    paint: Paint | None = None


@dataclasses.dataclass(frozen=True)
class Manner:
    """How cells are drawn on one map: prefix of ids, link of a cell, boxes of signs [m]."""

    prefix: str
    href: Callable[[str], str] | None
    signs: tuple[Bounds, ...] = ()


def cell_svg(
    view: View, ground: CellGround, square: Bounds, said: CellSaid, manner: Manner
) -> Markup:
    """Draw a cell.

    Parameters
    ----------
    view : View
        The window.
    ground : CellGround
        Its ground on the day.
    square : Bounds
        Its whole square. [m]
    said : CellSaid
        What is said of it.
    manner : Manner
        How.

    Returns
    -------
    Markup
        An `<a>` with its label, or a `<g>`.
    """
    flag = _flag_box(view, ground, square) if said.flags else None
    signs = manner.signs if flag is None else (*manner.signs, flag)
    drawn = (
        _ground(view, ground, said)
        + _texts(view, ground, square, said, signs)
        + (Markup("") if flag is None else flag_svg(view, flag))
    )
    cell = str(said.row["cell"])
    known = Markup('id="{}-{}" class="cell" data-cell="{}"').format(manner.prefix, cell, cell)
    if manner.href is None:
        return Markup("<g {}>{}</g>").format(known, drawn)
    return Markup('<a {} href="{}" aria-label="{}">{}</a>').format(
        known, manner.href(cell), said.label, drawn)


def _ground(view: View, ground: CellGround, said: CellSaid) -> Markup:
    paint = _paint(said)
    own = (_piece(path_of(view, ground.shape), paint)
           + paint.drawn(plane_shape(view, ground.shape)))
    if said.paint is not None or paint.name == "closed":
        return own
    closed = [path for path in (path_of(view, ground.closed), path_of(view, ground.held)) if path]
    return own + Markup("").join(_piece(path, state_paint("closed")) for path in closed)


def _paint(said: CellSaid) -> Paint:
    return said.paint or state_paint(said.row["state"])


def _piece(path: str, paint: Paint) -> Markup:
    return Markup(
        '<path class="ground {}" d="{}" fill="{}" fill-rule="evenodd" stroke="#000000" '
        'stroke-width="1.5"/>').format(paint.name, path, paint.fill)


def _texts(
    view: View, ground: CellGround, square: Bounds, said: CellSaid, signs: tuple[Bounds, ...]
) -> Markup:
    """Write the name, and the number under it."""
    side = (square[2] - square[0]) * view.unit_m
    lines = [(said.row["cell"], _type_size(said.row["cell"], side, *_NAME), "name")]
    if said.number:
        lines.append((said.number, _type_size(said.number, side, *_NUMBER), "number"))
    wide = max(_wide(text, size) for text, size, _ in lines)
    high = sum(_LINE * size for _, size, _ in lines)
    spot = spot_for(view, ground, square, (wide, high), signs)
    x, y = view.at(spot.e, spot.n)
    under = _paint(said) if spot.on_ground else None
    top, drawn = y - high * spot.scale / 2, Markup("")
    for text, full, kind in lines:
        size = full * spot.scale
        # The blank parts name and number for who hears them.
        drawn += _words(text, x, top + _LINE * size / 2, size, under, kind) + " "
        top += _LINE * size
    return drawn


def _type_size(text: str, side: float, share: float, most: float) -> float:
    """Choose a size of type at which a text fits a cell's side."""
    fits = (side - 2 * _PLATE_PAD - 2) / (_LETTER * max(len(text), 3))
    return min(share * side, most, fits)


def _wide(text: str, size: float) -> float:
    return _LETTER * size * len(text) + 2 * _PLATE_PAD


def _words(
    text: str, x: float, y: float, size: float, under: Paint | None, kind: str
) -> Markup:
    """Write a text about a middle, on a plate where a pattern would run through it."""
    plate = Markup("")
    if under is not None and not under.plain:
        wide, high = _wide(text, size), _LINE * size
        plate = Markup(
            '<rect class="fill {}" x="{}" y="{}" width="{}" height="{}" fill="{}"/>').format(
                under.name, figure(x - wide / 2), figure(y - high / 2), figure(wide),
                figure(high), under.fill)
    return plate + Markup('<text class="{} on-{}" x="{}" y="{}" font-size="{}" fill="{}">{}</text>'
                          ).format(kind, "page" if under is None else under.name, figure(x),
                                   figure(y + _FOOT * size), figure(size),
                                   "#000000" if under is None else under.ink, text)


def _flag_box(view: View, ground: CellGround, square: Bounds) -> Bounds:
    """Give the box [m] of a flag's sign: in the upper right corner of the ground."""
    side_m = square[2] - square[0]
    size = min(_FLAG[0] * side_m, _FLAG[1] / view.unit_m)
    _, _, east, north = bounds_of(ground.shape)
    east, north = east - _CORNER * side_m, north - _CORNER * side_m
    return east - size, north - size, east, north
