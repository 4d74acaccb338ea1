"""The small map of a flag's page: the ground about its bags, their fixes, the track of that time.

Rule 1: the track is drawn within the time of the flag's bags and no longer.
Rule 2: a fix is drawn as large as its 68 % radius; ink only, so that it reads in grey.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from markupsafe import Markup

from sync.flags.evidence.presses import Press
from sync.geometry.grid import cell_square
from sync.geometry.trails import Trail
from sync.report.flag_case.parts import MOST_ROWS, Dossier
from sync.report.map_cell import CellSaid, Manner, cell_svg
from sync.report.map_frame import Frame, svg_of
from sync.report.map_signs import heavy_svg, outline_svg
from sync.report.map_view import Bounds, View, figure, meets, view_of
from sync.report.map_words import as_it_is, cell_words, day_words
from sync.settings import R68_PER_SIGMA

#: Side of the map. [units of drawing]
_WIDE, _HIGH = 330.0, 300.0
#: Shown about the fixes, and the least side. [m]
_ABOUT_M, _LEAST_M = 25.0, 90.0
#: A map larger than this shows no single bag any more: then the cell alone is drawn. [cells]
_MOST_CELLS = 4.0
_DOT = 2.2


def case_map(told: Dossier) -> Markup:
    """Draw the evidence of a flag.

    Parameters
    ----------
    told : Dossier
        The case.

    Returns
    -------
    Markup
        An `<svg>`; empty of a flag about no bags and no cell.
    """
    bounds = _bounds(told)
    if bounds is None:
        return Markup("")
    ground = told.register.crop.ground
    view = view_of(bounds, width=_WIDE, height=_HIGH, most_unit_m=float("inf"))
    rows: Mapping[str, Any] = {row["cell"]: row for row in told.document["cells"]}
    cells = [
        cell_svg(view, one, cell_square(ground.grid, name),
                 CellSaid(rows[name], cell_words(rows[name], 0), "", 0), Manner("case", None))
        for name, one in ground.cells.items() if name in rows and meets(view, one.shape)
    ]
    cell = told.case.flag.cell or ""
    heavy = heavy_svg(view, ground.cells[cell].shape) if cell in ground.cells else Markup("")
    drawn = (*cells, outline_svg(view, ground.outline), heavy,
             *(_trail(view, one) for one in told.case.trails), *_fixes(view, told))
    label = f"The bags of {told.case.flag.name} on the ground of {day_words(told.document['on'])}"
    return svg_of(ground, view, Markup("\n").join(drawn), Frame("map-case", label, links=False),
                  as_it_is)


def _bounds(told: Dossier) -> Bounds | None:
    """Choose the ground shown [m]: about the fixes, else about the cell."""
    grid = told.register.crop.ground.grid
    cell = told.case.flag.cell or ""
    square = cell_square(grid, cell) if cell in told.register.crop.ground.cells else None
    places = [place for one in told.case.presses if (place := _place(one)) is not None]
    if places:
        west, east = min(e for e, _ in places), max(e for e, _ in places)
        south, north = min(n for _, n in places), max(n for _, n in places)
        if max(east - west, north - south) <= _MOST_CELLS * grid.cell_m:
            return _widened((west, south, east, north))
    return None if square is None else _widened(square)


def _widened(bounds: Bounds) -> Bounds:
    west, south, east, north = bounds
    e, n = (west + east) / 2, (south + north) / 2
    wide = max(east - west + 2 * _ABOUT_M, _LEAST_M) / 2
    high = max(north - south + 2 * _ABOUT_M, _LEAST_M * _HIGH / _WIDE) / 2
    return e - wide, n - high, e + wide, n + high


def _place(press: Press) -> tuple[float, float] | None:
    placed = press.placed
    return None if placed.e is None or placed.n is None else (placed.e, placed.n)


def _trail(view: View, trail: Trail) -> Markup:
    points = [view.at(float(e), float(n)) for e, n in zip(trail.e, trail.n, strict=True)]
    corners = [f"{figure(x)} {figure(y)}" for x, y in points]
    path = "M" + "L".join(corners)
    return Markup(
        '<path class="halo" d="{0}" fill="none" stroke="#FFFFFF" stroke-width="3.5"/>'
        '<path class="trail" d="{0}" fill="none" stroke="#000000" stroke-width="1.2" '
        'stroke-dasharray="5 3"/>').format(path)


def _fixes(view: View, told: Dossier) -> Iterator[Markup]:
    """Draw each press as a dot, and each group's reach and number."""
    numbered = len(told.case.groups) <= MOST_ROWS
    by_name = {one.placed.bag.name: one for one in told.case.presses}
    for number, group in enumerate(told.case.groups, 1):
        own = [by_name[name] for name in group.records]
        if numbered:
            yield from _reach(view, own)
        for one in own:
            place = _place(one)
            if place is not None:
                x, y = view.at(*place)
                yield Markup(
                    '<circle class="bag" cx="{}" cy="{}" r="{}" fill="#000000" stroke="#FFFFFF" '
                    'stroke-width=".8"/>').format(figure(x), figure(y), _DOT)
        if numbered:
            yield from _number(view, number, own)


def _middle(own: Sequence[Press]) -> tuple[float, float] | None:
    places = [place for one in own if (place := _place(one)) is not None]
    if not places:
        return None
    return sum(e for e, _ in places) / len(places), sum(n for _, n in places) / len(places)


def _reach(view: View, own: Sequence[Press]) -> Iterator[Markup]:
    middle = _middle(own)
    sigmas = [one.placed.sigma_m for one in own if one.placed.sigma_m is not None]
    if middle is not None and sigmas:
        x, y = view.at(*middle)
        yield Markup(
            '<circle class="reach" cx="{}" cy="{}" r="{}" fill="none" stroke="#000000" '
            'stroke-width="1"/>').format(
                figure(x), figure(y), figure(R68_PER_SIGMA * max(sigmas) * view.unit_m))


def _number(view: View, number: int, own: Sequence[Press]) -> Iterator[Markup]:
    middle = _middle(own)
    if middle is not None:
        x, y = view.at(*middle)
        yield Markup(
            '<text class="word" x="{}" y="{}" font-size="11" fill="#000000" stroke="#FFFFFF" '
            'stroke-width="3" paint-order="stroke">{}</text>').format(
                figure(x), figure(y - 13.0 if number % 2 else y + 21.0), number)
