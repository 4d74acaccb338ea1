"""What each state looks like as SVG: the phone's fills and patterns, from the phone's numbers.

Rule 1: fill, pattern and ink come from `fieldapp.ground.patterns`; nothing here has a colour of
its own.
Rule 2: colours are presentation attributes, so that a map reads without a style sheet and passes
a page that forbids styles within it; classes say the same to a style sheet.
"""

from collections.abc import Iterable

from markupsafe import Markup

from fieldapp.ground import State
from fieldapp.ground.patterns import INK_DP, LOOKS, PITCH_DP, Pattern, dots, strokes
from fieldapp.ground.shapes import Shape
from fieldapp.ground.slices import Quad
from sync.report.map_view import figure

#: In the order they are told everywhere.
STATES: tuple[State, ...] = ("ready", "taken", "resting", "unsurveyed", "closed")
_REPEATING = frozenset({"bars", "uprights", "dots"})
_SWATCH_WIDE, _SWATCH_HIGH = 36.0, 24.0


def pattern_defs(prefix: str, states: Iterable[State]) -> Markup:
    """Define the patterns of some states.

    Parameters
    ----------
    prefix : str
        Goes before each id, so that two maps can stand on one page.
    states : iterable of State
        Those the map shows.

    Returns
    -------
    Markup
        `<defs>`; the tiles hang on the drawing's origin, so that neighbours' patterns line up.
    """
    wanted = set(states)
    tiles = [_tile(prefix, state) for state in STATES
             if state in wanted and LOOKS[state].pattern in _REPEATING]
    return Markup("<defs>{}</defs>").format(Markup("").join(tiles)) if tiles else Markup("")


def fill_of(prefix: str, state: State) -> str:
    """Give what fills the ground of a state: a colour, or a pattern of `pattern_defs`."""
    look = LOOKS[state]
    return f"url(#{prefix}-{state})" if look.pattern in _REPEATING else look.fill


def _tile(prefix: str, state: State) -> Markup:
    look, side = LOOKS[state], figure(PITCH_DP)
    return Markup(
        '<pattern id="{}-{}" patternUnits="userSpaceOnUse" width="{}" height="{}">'
        '<rect class="fill {}" width="{}" height="{}" fill="{}"/>{}</pattern>'
    ).format(prefix, state, side, side, state, side, side, look.fill,
             _tile_ink(look.pattern, look.ink))


def _tile_ink(pattern: Pattern, ink: str) -> Markup:
    pitch, width = figure(PITCH_DP), figure(INK_DP)
    if pattern == "dots":
        places = (PITCH_DP / 4, PITCH_DP * 3 / 4)
        circle = Markup('<circle class="ink" cx="{0}" cy="{0}" r="{1}" fill="{2}"/>')
        return Markup("").join(
            circle.format(figure(at), figure(INK_DP / 2), ink) for at in places)
    wide, high = (pitch, width) if pattern == "bars" else (width, pitch)
    return Markup('<rect class="ink" width="{}" height="{}" fill="{}"/>').format(wide, high, ink)


def cross_of(state: State, shape: Shape) -> Markup:
    """Draw the cross of ground that has one.

    Parameters
    ----------
    state : State
        Of the ground.
    shape : Shape
        In units of drawing, y upwards.

    Returns
    -------
    Markup
        A path cut off at the shape's border; nothing of a state without a cross.
    """
    if LOOKS[state].pattern != "cross":
        return Markup("")
    return _inked(strokes("cross", shape), LOOKS[state].ink)


def swatch(state: State) -> Markup:
    """Draw a state's look by itself, for a key: an SVG of its own that names no other part."""
    look = LOOKS[state]
    box: Shape = ((((0.0, 0.0), (_SWATCH_WIDE, 0.0), (_SWATCH_WIDE, _SWATCH_HIGH),
                    (0.0, _SWATCH_HIGH), (0.0, 0.0)),),)
    spots = Markup("").join(
        Markup('<circle class="ink" cx="{}" cy="{}" r="{}" fill="{}"/>').format(
            figure(x), figure(_SWATCH_HIGH - y), figure(INK_DP / 2), look.ink)
        for x, y in dots(look.pattern, box))
    return Markup(
        '<svg class="map swatch" width="{0}" height="{1}" viewBox="0 0 {0} {1}" '
        'aria-hidden="true"><rect class="fill {2}" width="{0}" height="{1}" fill="{3}"/>{4}'
        '<rect class="edge" x="0.5" y="0.5" width="{5}" height="{6}" fill="none" '
        'stroke="#000000"/></svg>'
    ).format(figure(_SWATCH_WIDE), figure(_SWATCH_HIGH), state, look.fill,
             _inked(strokes(look.pattern, box), look.ink, base=_SWATCH_HIGH) + spots,
             figure(_SWATCH_WIDE - 1), figure(_SWATCH_HIGH - 1))


def _inked(quads: Iterable[Quad], ink: str, *, base: float = 0.0) -> Markup:
    """Draw strokes as one path; `base` is where y = 0 lies on the drawing."""
    drawn = "".join(
        "M" + "L".join(f"{figure(x)} {figure(base - y)}" for x, y in quad) + "Z"
        for quad in quads)
    if not drawn:
        return Markup("")
    return Markup('<path class="ink" d="{}" fill="{}"/>').format(drawn, ink)
