"""What stands about the cells of a map: outline, scale bar, north, gate.

Rule 1: the arrow points to true north, which is not quite the way up on a projected plane.
Rule 2: a scale bar has a round length and names its unit.
"""

import math

from markupsafe import Markup

from sync.geometry.crs import Projection
from sync.geometry.shapes import Shape
from sync.report.map_view import Bounds, View, figure, path_of
from sync.report.map_words import Say

#: The bar is at most this share of the map's width.
_BAR_SHARE = 0.35
_BAR_HIGH = 6.0
#: Half a bar shorter than this has no figure of its own. [units of drawing]
_HALF_TOLD = 36.0
#: The sign of a flag: a pennant on a pole, in a square of one by one, y down.
_POLE, _PENNANT, _TROUBLE = "M.25 .12V.9", "M.25 .14L.88 .36L.25 .58Z", "#A30000"
#: About a gate's place: what its sign and word take up to each side. [units of drawing]
_GATE = (16.0, 24.0, 16.0, 10.0)
#: A step north for telling where north is. [deg]
_STEP_DEG = 1e-3


def outline_svg(view: View, outline: Shape) -> Markup:
    """Draw the block's outline over the cells; it takes no click."""
    return _line(view, outline, "outline", 3.0)


def heavy_svg(view: View, shape: Shape) -> Markup:
    """Draw a double border about the cell that is asked about; it takes no click."""
    return _line(view, shape, "outline", 8.0) + _line(view, shape, "halo", 3.0, "#FFFFFF")


def _line(view: View, shape: Shape, kind: str, width: float, ink: str = "#000000") -> Markup:
    path = path_of(view, shape)
    if not path:
        return Markup("")
    return Markup('<path class="{}" d="{}" fill="none" stroke="{}" stroke-width="{}" '
                  'stroke-linejoin="round" pointer-events="none"/>').format(
                      kind, path, ink, figure(width))


def flag_svg(view: View, box: Bounds) -> Markup:
    """Draw the sign of an open flag in its square box [m]."""
    x, y = view.at(box[0], box[3])
    return flag_sign(x, y, (box[2] - box[0]) * view.unit_m)


def flag_sign(x: float, y: float, size: float) -> Markup:
    """Draw the sign of a flag with its upper left corner at a place [units of drawing]."""
    return Markup(
        '<g class="flag" transform="translate({} {}) scale({})">'
        '<rect class="plate" width="1" height="1" fill="#FFFFFF" stroke="#000000" '
        'stroke-width=".07"/><path class="pole" d="{}" stroke="{}" stroke-width=".13"/>'
        '<path class="pennant" d="{}" fill="{}"/></g>'
    ).format(figure(x), figure(y), figure(size), _POLE, _TROUBLE, _PENNANT, _TROUBLE)


def round_length_m(most_m: float) -> float:
    """Give the longest of 1, 2 or 5 times a power of ten that is no longer than asked [m]."""
    power = 10.0 ** math.floor(math.log10(most_m))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= most_m)


def scale_svg(view: View, x: float, y: float) -> Markup:
    """Draw a scale bar in two halves, metres beneath.

    Parameters
    ----------
    view : View
        The window.
    x, y : float
        Its upper left corner. [units of drawing]

    Returns
    -------
    Markup
        A group.
    """
    length_m = round_length_m(_BAR_SHARE * view.width / view.unit_m)
    half = length_m * view.unit_m / 2
    bars = Markup(
        '<rect class="bar" x="{0}" y="{2}" width="{3}" height="{4}" fill="#000000" '
        'stroke="#000000"/><rect class="bar-white" x="{1}" y="{2}" width="{3}" height="{4}" '
        'fill="#FFFFFF" stroke="#000000"/>'
    ).format(figure(x), figure(x + half), figure(y), figure(half), figure(_BAR_HIGH))
    marks = [(0.0, "0"), (2 * half, f"{length_m:g} m")]
    if half >= _HALF_TOLD:
        marks.append((half, f"{length_m / 2:g}"))
    words = Markup("").join(_word(text, x + at, y + _BAR_HIGH + 13) for at, text in marks)
    return Markup('<g class="scale">{}{}</g>').format(bars, words)


def north_svg(projection: Projection, view: View, x: float, y: float, say: Say) -> Markup:
    """Draw an arrow to true north.

    Parameters
    ----------
    projection : Projection
        The block's.
    view : View
        The window: north is that of its middle.
    x, y : float
        The arrow's middle. [units of drawing]
    say : callable
        Gives a word in the page's language.

    Returns
    -------
    Markup
        A group.
    """
    turn = north_deg(projection, (view.west + view.east) / 2, (view.south + view.north) / 2)
    return Markup(
        '<g class="north" transform="translate({} {}) rotate({})">'
        '<path class="arrow" d="M0 -15L6 13L0 8L-6 13Z" fill="#000000"/>{}</g>'
    ).format(figure(x), figure(y), figure(turn), _word(say("N"), 0.0, -19.0))


def north_deg(projection: Projection, e: float, n: float) -> float:
    """Give how far true north lies clockwise of the way up at a place [deg]."""
    lat, lon = projection.to_deg(e, n)
    e1, n1 = projection.to_m(lat + _STEP_DEG, lon)
    return math.degrees(math.atan2(float(e1) - e, float(n1) - n))


def gate_svg(view: View, gate: tuple[float, float], say: Say) -> Markup:
    """Draw the gate: two posts and a bar at its place [m], and the word."""
    x, y = view.at(*gate)
    return Markup(
        '<g class="gate" transform="translate({} {})" pointer-events="none">'
        '<path class="halo" d="M-8 -6V6M8 -6V6M-8 -1H8" stroke="#FFFFFF" stroke-width="6"/>'
        '<path d="M-8 -6V6M8 -6V6M-8 -1H8" stroke="#000000" stroke-width="2.5"/>{}</g>'
    ).format(figure(x), figure(y), _word(say("gate"), 0.0, 18.0))


def gate_box(view: View, gate: tuple[float, float]) -> Bounds:
    """Give the box [m] that a gate's sign takes up."""
    west, south, east, north = (side / view.unit_m for side in _GATE)
    return gate[0] - west, gate[1] - south, gate[0] + east, gate[1] + north


def _word(text: str, x: float, y: float) -> Markup:
    return Markup(
        '<text class="word" x="{0}" y="{1}" font-size="12" fill="#000000" stroke="#FFFFFF" '
        'stroke-width="3" paint-order="stroke">{2}</text>').format(figure(x), figure(y), text)
