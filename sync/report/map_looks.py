"""What each state looks like as SVG: the phone's fills and patterns, from the phone's numbers.

Rule 1: fill, pattern and ink come from `fieldapp.ground.patterns`; nothing here has a colour of
its own.
Rule 2: colours are presentation attributes, so that a map reads without a style sheet and passes
a page that forbids styles within it; classes say the same to a style sheet.
Rule 3: ink is drawn as lines and faces of its own: a printer blurs SVG's repeated patterns.
"""

from collections.abc import Iterable

from markupsafe import Markup

from fieldapp.ground import State
from fieldapp.ground.patterns import INK_DP, LOOKS, PITCH_DP, dots, strokes
from fieldapp.ground.shapes import Point, Shape
from fieldapp.ground.slices import Quad
from sync.report.map_view import figure

#: In the order they are told everywhere.
STATES: tuple[State, ...] = ("ready", "taken", "resting", "unsurveyed", "closed")
#: So far a row of dots is drawn past its last, lest its end be lost. [units of drawing]
_PAST = 0.5


def ink_of(state: State, shape: Shape) -> Markup:
    """Draw the pattern of a state inside a shape.

    Parameters
    ----------
    state : State
        Of the ground.
    shape : Shape
        In units of drawing, of which one is the phone's dp; y upwards from the drawing's origin.

    Returns
    -------
    Markup
        One path, cut off at the shape's border; nothing of a state without a pattern. Patterns
        hang on the origin, so that neighbours' line up.
    """
    look = LOOKS[state]
    if look.pattern == "dots":
        return _dotted(_rows(dots(look.pattern, shape)), state, look.ink)
    return _inked(strokes(look.pattern, shape), state, look.ink)


def _inked(quads: Iterable[Quad], state: State, ink: str) -> Markup:
    drawn = "".join(
        "M" + "L".join(f"{figure(x)} {figure(-y)}" for x, y in quad) + "Z" for quad in quads)
    if not drawn:
        return Markup("")
    return Markup('<path class="ink ink-{}" d="{}" fill="{}"/>').format(state, drawn, ink)


def _rows(centres: Iterable[Point]) -> list[tuple[Point, Point]]:
    """Join dots that follow each other at the pitch into rows: first and last of each."""
    rows: list[tuple[Point, Point]] = []
    for x, y in centres:
        if rows and rows[-1][1][1] == y and abs(x - rows[-1][1][0] - PITCH_DP) < _PAST:
            rows[-1] = rows[-1][0], (x, y)
        else:
            rows.append(((x, y), (x, y)))
    return rows


def _dotted(rows: Iterable[tuple[Point, Point]], state: State, ink: str) -> Markup:
    """Draw each row as a dashed line: dashes of no length with round ends are dots."""
    drawn = "".join(
        f"M{figure(x)} {figure(-y)}H{figure(last + _PAST)}" for (x, y), (last, _) in rows)
    if not drawn:
        return Markup("")
    return Markup(
        '<path class="dotted ink-{}" d="{}" fill="none" stroke="{}" stroke-width="{}" '
        'stroke-linecap="round" stroke-dasharray="0 {}"/>'
    ).format(state, drawn, ink, figure(INK_DP), figure(PITCH_DP))
