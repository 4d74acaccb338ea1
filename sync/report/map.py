"""The block as a map: one SVG that reads the same in colour, in grey and read aloud.

Rule 1: it shows the register's ground and the document's figures and works nothing out.
Rule 2: no style, no script: presentation attributes and class names, so that it may stand on a
page that forbids both; `MAP_CSS` says the rest.
Rule 3: whatever comes from people is escaped.
Rule 4: the same register gives the same bytes.
"""

import dataclasses
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import Any

from markupsafe import Markup

from sync.errors import FallowError
from sync.geometry.grid import cell_square
from sync.geometry.ground import Ground
from sync.register.build import Register
from sync.report.map_cell import CellSaid, Manner, cell_svg
from sync.report.map_css import MAP_CSS
from sync.report.map_frame import Frame, Size, block_view, cell_view, near_gate, svg_of
from sync.report.map_layers import Layer
from sync.report.map_looks import STATES
from sync.report.map_paint import state_paint, swatch, tone_paint
from sync.report.map_signs import flag_sign, gate_box, gate_svg, heavy_svg, outline_svg
from sync.report.map_view import View, meets
from sync.report.map_words import (
    Number,
    Say,
    as_it_is,
    cell_words,
    day_words,
    map_words,
    number_in,
    open_flags,
)

__all__ = ["MAP_CSS", "KeyLine", "block_map", "cell_map", "map_key"]

Href = Callable[[str], str]
_NO_NUMBERS: Mapping[str, str] = MappingProxyType({})


@dataclasses.dataclass(frozen=True)
class KeyLine:
    """A line of the key: a state's or class's name in the page's language, its look, its cells."""

    state: str
    name: str
    swatch: Markup
    count: int


def map_key(
    document: Mapping[str, Any], *, layer: Layer | None = None, say: Say = as_it_is
) -> list[KeyLine]:
    """Give the key of a map.

    Parameters
    ----------
    document : mapping
        The register's document.
    layer : Layer or None
        What the map is of; None is the states.
    say : callable
        Gives a word in the page's language.

    Returns
    -------
    list of KeyLine
        The states or classes in a fixed order, those without a cell too; then, where a cell has
        one, the sign of an open flag with the number of such cells.
    """
    if layer is None:
        counts = Counter(row["state"] for row in document["cells"])
        lines = [KeyLine(state, say(state), swatch(state_paint(state)), counts[state])
                 for state in STATES]
    else:
        counts = Counter(tone.key for tone, _ in layer.cells.values())
        lines = [KeyLine(tone.key, say(tone.words).format(**tone.values),
                         swatch(tone_paint(tone)), counts[tone.key]) for tone in layer.tones]
    flagged = len(open_flags(document, None if layer is None else layer.rules))
    if flagged:
        sign = Markup('<svg class="map swatch" width="36" height="24" viewBox="0 0 36 24" '
                      'aria-hidden="true">{}</svg>').format(flag_sign(9.0, 2.0, 20.0))
        lines.append(KeyLine("flag", say("open flag"), sign, flagged))
    return lines


def block_map(
    register: Register,
    document: Mapping[str, Any],
    *,
    number: Number = "none",
    layer: Layer | None = None,
    href: Href | None = None,
    size: Size = "block",
    prefix: str = "map",
    say: Say = as_it_is,
    printed: Mapping[str, str] | None = None,
) -> Markup:
    """Draw the whole block.

    Parameters
    ----------
    register : Register
        For the shapes of its ground.
    document : mapping
        Its document.
    number : {"none", "kg", "picked_pct", "rest_ends", "scrub", "water"}
        Printed in each cell; it changes no fill.
    layer : Layer or None
        Another map than that of the states: its classes are the fills, and without a number asked
        for its own figures are printed.
    href : callable or None
        Gives the link of a cell by its name; then each cell is a link with a label.
    size : {"block", "half", "cells"}
        The whole block on a page, half of it, or single cells.
    prefix : str
        Of the cells' ids; two maps on one page need two.
    say : callable
        Gives a word in the page's language.
    printed : mapping of str to str or None
        Numbers for some cells in the place of `number`; those have a heavy border.

    Returns
    -------
    Markup
        An `<svg>`; of a day without ground it has no cells.

    Raises
    ------
    ValueError
        If `number` or `size` is none of those named.
    """
    ground, gate = register.crop.ground, _gate(register)
    view = block_view(ground, gate, size)
    manner = Manner(prefix, href, (gate_box(view, gate),) if gate else ())
    drawn = (
        *(_cell(ground, said, view, manner)
          for said in _said(document, number, say, printed or {}, layer)),
        outline_svg(view, ground.outline),
        *(heavy_svg(view, ground.cells[cell].shape) for cell in printed or () if cell in
          ground.cells),
        gate_svg(view, gate, say) if gate else Markup(""),
    )
    frame = Frame(f"map-{size}", map_words(document, say, layer), href is not None)
    return svg_of(ground, view, Markup("\n").join(drawn), frame, say)


def cell_map(
    register: Register,
    document: Mapping[str, Any],
    cell: str,
    *,
    number: Number = "none",
    href: Href | None = None,
    prefix: str = "cell",
    say: Say = as_it_is,
) -> Markup:
    """Draw one cell and the cells about it, small.

    Parameters
    ----------
    cell : str
        Name of a cell of the block.
    register, document, number, href, prefix, say
        As for `block_map`.

    Returns
    -------
    Markup
        An `<svg>`; the cell asked about has a heavy border.

    Raises
    ------
    FallowError
        If the block has no such cell on that day.
    """
    ground = register.crop.ground
    if cell not in ground.cells:
        raise FallowError(f"cell {cell!r}: the block has no such cell on {register.on}")
    view = cell_view(ground, cell)
    near = [said for said in _said(document, number, say)
            if meets(view, ground.cells[said.row["cell"]].shape)]
    drawn = (
        *(_cell(ground, said, view, Manner(prefix, href)) for said in near),
        outline_svg(view, ground.outline), heavy_svg(view, ground.cells[cell].shape),
    )
    label = say("{cell} and its neighbours on {day}").format(
        cell=cell, day=day_words(document["on"], say))
    frame = Frame("map-cell", label, href is not None)
    return svg_of(ground, view, Markup("\n").join(drawn), frame, say)


def _said(
    document: Mapping[str, Any], number: Number, say: Say, own: Mapping[str, str] = _NO_NUMBERS,
    layer: Layer | None = None,
) -> Iterator[CellSaid]:
    flags = open_flags(document, None if layer is None else layer.rules)
    for row in document["cells"]:
        count, paint, told = flags[row["cell"]], None, ""
        printed = own.get(row["cell"], number_in(row, number))
        if layer is not None:
            tone, figures = layer.cells[row["cell"]]
            printed = printed if number != "none" else say(figures) if figures else ""
            paint, told = tone_paint(tone), say(tone.words).format(**tone.values)
        yield CellSaid(row, cell_words(row, count, say, number=printed, told=told), printed,
                       count, paint)


def _cell(ground: Ground, said: CellSaid, view: View, manner: Manner) -> Markup:
    name = said.row["cell"]
    return cell_svg(view, ground.cells[name], cell_square(ground.grid, name), said, manner)


def _gate(register: Register) -> tuple[float, float] | None:
    """Give the gate's place [m], where it lies near enough to be shown."""
    if register.block.gate is None:
        return None
    e, n = register.grounds.projection.to_m(*register.block.gate)
    place = float(e), float(n)
    return place if near_gate(register.crop.ground, place) else None
