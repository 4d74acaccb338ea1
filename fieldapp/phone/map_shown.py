"""What a map shows at one moment, as plain values.

Rule 1: all lengths and places are in metres on one plane, x east and y north.
"""

import dataclasses
from datetime import date
from typing import Literal

from fieldapp.ground import Band
from fieldapp.ground.shapes import Box, Point, Shape
from fieldapp.ground.slices import Quad
from fieldapp.phone.track_line import Piece

How = Literal["fresh", "weak", "stale", "lost"]
Standing = Literal["left", "done", "skipped"]


@dataclasses.dataclass(frozen=True)
class Ground:
    """A piece of ground of one look: a cell, or closed ground within cells.

    Attributes
    ----------
    name : str
        A cell's; empty for closed ground.
    band : Band
        Its state today.
    shape : Shape
        Its rings. [m]
    pieces : tuple of Quad
        The same, cut into trapezoids. [m]
    at : Point
        A place within it for its name. [m]
    box : Box
        West, south, east and north. [m]
    """

    name: str
    band: Band
    shape: Shape
    pieces: tuple[Quad, ...]
    at: Point
    box: Box


@dataclasses.dataclass(frozen=True)
class Me:
    """One's own place [m], its 68 % radius [m], and whether it can be believed.

    A `lost` one is where the phone was last.
    """

    x: float
    y: float
    acc_m: float
    how: How


@dataclasses.dataclass(frozen=True)
class PlotShown:
    """A plot and whether it is left to do. [m]."""

    name: str
    x: float
    y: float
    standing: Standing


@dataclasses.dataclass(frozen=True)
class MarkShown:
    """A pile, hazard, drain, weed, peg or other mark. [m]."""

    what: str
    name: str
    x: float
    y: float


@dataclasses.dataclass(frozen=True)
class MapShown:
    """All that the map shows at one moment.

    Attributes
    ----------
    cells, closed : tuple of Ground
        The cells; ground closed today, of which parts may lie in cells that are not.
    outline : Shape
        The block's; empty without a sheet.
    track : tuple of Piece
        One's own way. [m]
    centre : Point
        The middle of the map. [m]
    span_m : tuple of float
        Width and height that must be seen; a height of 0 leaves it to the width. [m]
    bar_m : float
        Length of the scale bar. [m]
    north_deg : float
        True north, clockwise from straight up. [deg]
    back_deg : float or None
        Outside the block the way back, clockwise from straight up. [deg]
    sheet_day : date or None
        When the sheet was made; None without one.
    """

    cells: tuple[Ground, ...]
    closed: tuple[Ground, ...]
    outline: Shape
    me: Me | None
    plots: tuple[PlotShown, ...]
    marks: tuple[MarkShown, ...]
    track: tuple[Piece, ...]
    centre: Point
    span_m: tuple[float, float]
    bar_m: float
    north_deg: float
    back_deg: float | None
    sheet_day: date | None
