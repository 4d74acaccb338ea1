"""One walk as a small map: the block, closed ground, the way, its plots.

Rule 1: it reads in grey: closed ground is dark, the way a line, plots dots with their number.
"""

from markupsafe import Markup, escape

from sync.geometry.coords import rings_m
from sync.geometry.shapes import Shape
from sync.plan.plots.draw import Draw, Walk
from sync.plan.plots.frame import closed_ground

_MARGIN_M = 20.0


def walk_map(draw: Draw, walk: Walk) -> Markup:
    """Draw a walk.

    Parameters
    ----------
    draw : Draw
        For the ground and the gate.
    walk : Walk
        One of its walks.

    Returns
    -------
    Markup
        An SVG, north up, as large as the walk needs.
    """
    ring = [p for bends, plot in zip(walk.bends, walk.plots, strict=False)
            for p in (*bends, plot.at)] + list(walk.bends[-1])
    if draw.gate is not None:
        ring = [draw.gate, *ring, draw.gate]
    west, east = min(e for e, _ in ring) - _MARGIN_M, max(e for e, _ in ring) + _MARGIN_M
    south, north = min(n for _, n in ring) - _MARGIN_M, max(n for _, n in ring) + _MARGIN_M
    size = max(east - west, north - south) / 60.0

    def at(place: tuple[float, float]) -> str:
        return f"{place[0] - west:.1f},{north - place[1]:.1f}"

    def area(shape: Shape) -> str:
        return " ".join("M" + " L".join(at((e, n)) for e, n in ring) + " Z"
                        for rings in rings_m(shape) for ring in rings)

    dots = [
        f'<circle cx="{plot.at[0] - west:.1f}" cy="{north - plot.at[1]:.1f}" r="{size / 3:.1f}"/>'
        f'<text x="{plot.at[0] - west + size / 2:.1f}" y="{north - plot.at[1]:.1f}" '
        f'font-size="{size:.1f}">{escape(plot.name)}</text>'
        for plot in walk.plots
    ]
    gate = "" if draw.gate is None else (
        f'<text x="{draw.gate[0] - west:.1f}" y="{north - draw.gate[1]:.1f}" '
        f'font-size="{1.2 * size:.1f}" font-weight="bold">gate</text>')
    return Markup(
        f'<svg class="walkmap" role="img" aria-label="The walk, north up" '
        f'viewBox="0 0 {east - west:.1f} {north - south:.1f}">'
        f'<path d="{area(draw.register.crop.ground.outline)}" fill="#f2f2f2" stroke="#000" '
        f'stroke-width="{size / 8:.1f}" fill-rule="evenodd"/>'
        f'<path d="{area(closed_ground(draw.register))}" fill="#555" fill-rule="evenodd"/>'
        f'<polyline points="{" ".join(at(p) for p in ring)}" fill="none" stroke="#000" '
        f'stroke-width="{size / 8:.1f}" stroke-dasharray="{size / 2:.1f}"/>'
        + "".join(dots) + gate + "</svg>")
