"""The cells of a ground sheet, and what closes ground now or on a day to come.

Rule 1: a cell's `then` is what is under its rest or closing; the phone lifts those by date.
Rule 2: a cell that nothing known will open again names no `then` and stays closed.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from sync.block import Permit, bag_kg_on, day_after, holds_on, permit_of, season_of
from sync.crop.allow import bags_left
from sync.crop.today import surveyed_since
from sync.geometry.coords import rings_m
from sync.geometry.shapes import Shape, shape_of, union_of
from sync.register.build import Register

#: First and last day; None is open.
Span = tuple[date | None, date | None]


def sheet_cells(register: Register, document: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Write the cells.

    Parameters
    ----------
    register : Register
        Of the sheet's day.
    document : mapping
        Its document.

    Returns
    -------
    list of dict
        In the document's order; shapes in metres from the grid's origin.
    """
    left = left_bags(register)
    return [_cell(register, row, left[row["cell"]]) for row in document["cells"]]


def left_bags(register: Register) -> dict[str, int | None]:
    """Give the whole bags of the usual type that are left in each cell.

    Parameters
    ----------
    register : Register
        Of the sheet's day.

    Returns
    -------
    dict of str to int or None
        By column and row; None where the cell has no figure.
    """
    kg_a_bag = _usual_kg(register)
    return {name: None if one.left_kg is None else bags_left(one.left_kg, kg_a_bag)
            for name, one in register.cells.items()}


def _cell(register: Register, row: Mapping[str, Any], left: int | None) -> dict[str, Any]:
    name = row["cell"]
    return {
        "cell": name,
        "shape": _rings(register, register.crop.ground.cells[name].shape),
        "ground_class": row["ground_class"],
        "state": row["state"],
        "why": row["why"],
        "rest_ends": row["rest_ends"],
        "then": _then(register, name),
        "left_kg": row["left_kg"],
        "left_bags": left,
    }


def _usual_kg(register: Register) -> float:
    season = season_of(register.on, register.block.season_start)
    usual = bag_kg_on(register.block.bags, None, register.on).name
    return register.crop.weights.kappa[season, usual].kg


def _then(register: Register, name: str) -> str | None:
    today = register.cells[name]
    opens = today.state == "resting" or (today.state == "closed" and _ends(register, name))
    if not opens:
        return None
    measured = surveyed_since(register.crop.cells[name], today.picks.last_over)
    return "ready" if measured else "unsurveyed"


def _ends(register: Register, name: str) -> bool:
    """Say whether anything that closes a cell today has a last day."""
    ground = register.crop.ground.cells[name]
    spans: list[Span] = [(closing.since, closing.until) for closing in ground.closings]
    spans += _without_permit(register, ground.parcel)
    return any(until is not None for since, until in spans if holds_on(register.on, since, until))


def sheet_closures(register: Register) -> list[dict[str, Any]]:
    """Write what closes ground: the owner's closures, holds after spraying, lapsed permits.

    Parameters
    ----------
    register : Register
        Of the sheet's day; what ended before it is left out, what is to come is not.

    Returns
    -------
    list of dict
        Shapes in metres from the grid's origin, first and last day, and why.
    """
    return [*_closures(register), *_sprayed(register), *_lapsed(register)]


def _closures(register: Register) -> Iterator[dict[str, Any]]:
    for one in register.block.closures:
        if one.until is None or one.until >= register.on:
            shape = shape_of(register.grounds.projection, one.geometry, "closures.geojson")
            why = str(one.properties.get("why") or "closed")
            yield _closing(register, shape, (one.since, one.until), why)


def _sprayed(register: Register) -> Iterator[dict[str, Any]]:
    cells = register.crop.ground.cells
    for one in register.events.sprayings:
        if not one.since <= register.on <= one.until:
            continue
        shapes = [cells[cell].shape for cell in one.cells if cell in cells]
        if one.outline is not None:
            shapes.append(shape_of(register.grounds.projection, one.outline, one.name))
        if shapes:
            why = "sprayed" + (f" with {one.product}" if one.product else "")
            yield _closing(register, union_of(shapes), (one.since, one.until), why)


def _lapsed(register: Register) -> Iterator[dict[str, Any]]:
    by_parcel: dict[str | None, list[Shape]] = defaultdict(list)
    for cell in register.crop.ground.cells.values():
        by_parcel[cell.parcel].append(cell.shape)
    for parcel, shapes in sorted(by_parcel.items(), key=lambda item: item[0] or ""):
        for span in _without_permit(register, parcel):
            yield _closing(register, union_of(shapes), span, "no permit in force")


def _without_permit(register: Register, parcel: str | None) -> list[Span]:
    """Give the spans, not over yet, in which no permit holds for a parcel; none if none needs."""
    if not register.block.permits:
        return []
    return [
        (since, until) for since, until in _gaps(permit_of(register.block.permits, parcel))
        if until is None or until >= register.on
    ]


def _gaps(permits: Sequence[Permit]) -> Iterator[Span]:
    start = date.min
    for since, until in sorted((p.since or date.min, p.until or date.max) for p in permits):
        if since > start:
            yield None if start == date.min else start, since - timedelta(days=1)
        if until == date.max:
            return
        start = max(start, day_after(until))
    yield None if start == date.min else start, None


def _closing(register: Register, shape: Shape, span: Span, why: str) -> dict[str, Any]:
    since, until = span
    return {
        "shape": _rings(register, shape),
        "from": None if since is None else since.isoformat(),
        "until": None if until is None else until.isoformat(),
        "why": why,
    }


def _rings(register: Register, shape: Shape) -> list[Any]:
    grid = register.block.grid
    return rings_m(shape, origin=(grid.origin_e, grid.origin_n))
