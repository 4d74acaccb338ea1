"""The frame of a map: which ground it shows at which scale, and the SVG about what is drawn.

Rule 1: a map with links is a group that can be walked through; one without is a single picture
with one label.
Rule 2: scale and north stand beneath the ground, never on it.
"""

import dataclasses
from collections.abc import Mapping
from typing import Literal

from markupsafe import Markup

from sync.geometry.grid import cell_square
from sync.geometry.ground import Ground
from sync.report.map_signs import north_svg, scale_svg
from sync.report.map_view import Bounds, View, bounds_on, figure, view_of
from sync.report.map_words import Say

Size = Literal["block", "half", "cells"]

#: Room for a whole block: the width of an A4 page, and as high as leaves room for its key.
_WIDE, _HIGH = 690.0, 800.0
#: How much larger than the whole block it is drawn.
TIMES: Mapping[str, float] = {"block": 1.0, "half": 2.0, "cells": 2.0}
#: Side of a cell at most; at least, where single cells are asked for. [units of drawing]
_CELL_MOST, _CELL_LEAST = 120.0, 130.0
#: A cell and its neighbours: side of the map, and what it shows of a neighbour. [units, cells]
_SMALL, _OF_NEIGHBOUR = 300.0, 0.85
#: Empty ground shown about a block, for names of slivers. [cells]
_ABOUT = 0.4
#: About the window, and beneath it for scale and north. [units of drawing]
_MARGIN, _FOOT = 4.0, 50.0
#: A gate farther off the block than this stays off the map. [cells]
_GATE_CELLS = 1.5


@dataclasses.dataclass(frozen=True)
class Frame:
    """What the SVG about a drawing says: its class, its label, and whether it holds links."""

    kind: str
    label: str
    links: bool


def block_view(ground: Ground, gate: tuple[float, float] | None, size: Size) -> View:
    """Choose the window on a whole block.

    Parameters
    ----------
    ground : Ground
        Of the day.
    gate : tuple of float or None
        Shown too. [m]
    size : {"block", "half", "cells"}
        How large.

    Returns
    -------
    View
        About the outline and the gate, and somewhat more.

    Raises
    ------
    ValueError
        If `size` is none of those named.
    """
    if size not in TIMES:
        raise ValueError(f"size={size!r}: say one of {', '.join(TIMES)}")
    more = _ABOUT * ground.grid.cell_m
    whole = view_of(_with(bounds_on(ground), gate, more), width=_WIDE, height=_HIGH,
                    most_unit_m=_CELL_MOST / ground.grid.cell_m)
    unit_m = whole.unit_m * TIMES[size]
    if size == "cells":
        unit_m = max(unit_m, _CELL_LEAST / ground.grid.cell_m)
    return dataclasses.replace(whole, unit_m=unit_m)


def cell_view(ground: Ground, cell: str) -> View:
    """Choose the window on a cell's square and most of its neighbours."""
    west, south, east, north = cell_square(ground.grid, cell)
    more = _OF_NEIGHBOUR * ground.grid.cell_m
    return view_of((west - more, south - more, east + more, north + more),
                   width=_SMALL, height=_SMALL, most_unit_m=float("inf"))


def near_gate(ground: Ground, gate: tuple[float, float]) -> bool:
    """Say whether a gate [m] is near enough to be shown."""
    west, south, east, north = bounds_on(ground)
    reach = _GATE_CELLS * ground.grid.cell_m
    return (west - reach <= gate[0] <= east + reach
            and south - reach <= gate[1] <= north + reach)


def _with(bounds: Bounds, place: tuple[float, float] | None, more: float) -> Bounds:
    """Widen bounds by so many metres to each side, and so that a place lies well within."""
    west, south, east, north = bounds
    e, n = ((west + east) / 2, (south + north) / 2) if place is None else place
    return min(west, e) - more, min(south, n) - more, max(east, e) + more, max(north, n) + more


def svg_of(ground: Ground, view: View, body: Markup, frame: Frame, say: Say) -> Markup:
    """Put an SVG about what is drawn.

    Parameters
    ----------
    ground : Ground
        For true north.
    view : View
        The window; what is drawn beyond it is cut off.
    body : Markup
        Cells and signs.
    frame : Frame
        What the SVG says of itself.
    say : callable
        Gives a word in the page's language.

    Returns
    -------
    Markup
        The map, with scale and north beneath.
    """
    wide, high = view.width, view.height
    full_wide, full_high = wide + 2 * _MARGIN, high + 2 * _MARGIN + _FOOT
    foot = high + _MARGIN
    return Markup(
        '<svg class="map {kind}" role="{role}" aria-label="{label}" width="{w}" height="{h}" '
        'viewBox="{x} {y} {w} {h}" font-family="system-ui, sans-serif" font-weight="700" '
        'text-anchor="middle">\n'
        '<svg x="{x}" y="{y}" width="{w}" height="{cut}" viewBox="{x} {y} {w} {cut}">\n{body}\n'
        '</svg>\n{scale}{north}\n</svg>'
    ).format(
        kind=frame.kind, role="group" if frame.links else "img", label=frame.label,
        x=figure(-_MARGIN), y=figure(-_MARGIN), w=figure(full_wide), h=figure(full_high),
        cut=figure(high + 2 * _MARGIN), body=body,
        scale=scale_svg(view, 6.0, foot + 18.0),
        north=north_svg(ground.projection, view, wide - 10.0, foot + 34.0, say),
    )
