"""The ground sheet of one phone: what it needs to answer "may I pick here?" with no signal.

Rule 1: metres count from the grid's origin.
Rule 2: it carries what a later day needs too: ends of rests, closings to come, permits that lapse.
Rule 3: never other people's tracks, names or figures of pay.
"""

import itertools
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from fieldapp.record import stamp
from sync.block import Permit, bag_kg_on, holds_on, season_of
from sync.crop.allow import bags_left
from sync.crop.today import surveyed_since
from sync.geometry.coords import rings_m
from sync.geometry.shapes import Shape, bounds_of, shape_of, union_of
from sync.geometry.sheet_map import fit_map
from sync.register.build import Register
from sync.register.permits import covers
from sync.report.rounding import rounded

_FORM = 1
_KEPT_STATES = {"resting", "closed"}


def ground_sheet(
    register: Register,
    document: Mapping[str, Any],
    *,
    phone: str,
    made_at: datetime,
    held: Sequence[tuple[int, int]],
    sheet_id: str,
) -> dict[str, Any]:
    """Write a phone's ground sheet.

    Parameters
    ----------
    register : Register
        Of the day it is made on.
    document : mapping
        The register's document.
    phone : str
        Phone code.
    made_at : datetime
        UTC.
    held : sequence of (int, int)
        Spans of that phone's numbers at the shed.
    sheet_id : str
        Eight hex digits.

    Returns
    -------
    dict
        `sheet.json`.
    """
    block, ground = register.block, register.crop.ground
    fitted = fit_map(ground.projection, block.grid, bounds_of(ground.outline))
    return {
        "sheet": _FORM,
        "id": sheet_id,
        "block": {"id": block.block_id, "name": block.name},
        "for": phone,
        "made_at": stamp(made_at),
        "good_until": stamp(made_at + timedelta(days=register.tunables.sheet_days)),
        "zone": block.zone,
        "season_start": f"{block.season_start[0]:02d}-{block.season_start[1]:02d}",
        "map": {
            "at": list(fitted.at),
            "to_m": [list(row) for row in fitted.to_m],
            "to_deg": [list(row) for row in fitted.to_deg],
        },
        "cell_m": block.grid.cell_m,
        "outline": _rings(register, ground.outline),
        "cells": [_cell(register, row) for row in document["cells"]],
        "closures": [*_closings(register), *_lapsing(register)],
        "permits": [
            {"permit": row["permit"], "left": row["left"]} for row in document["permits"]
        ],
        **_marks(register),
        "people": [
            {"code": one.code, "call": one.call} for one in block.people
            if holds_on(register.on, one.since, one.until)
        ],
        "plots": _plots(register),
        "probes": block.probes,
        "frame_m": block.frame_m,
        "check_in_min": block.check_in_min,
        "declination_deg": block.declination_deg,
        "gate": None if block.gate is None else _point(register, *block.gate),
        "bag_types": _bag_types(register),
        "label_from": 1 + max(_label_numbers(register, phone), default=0),
        "held": [list(span) for span in held],
    }


def held_spans(numbers: Iterable[int]) -> tuple[tuple[int, int], ...]:
    """Give ascending numbers as spans, first and last of each."""
    spans: list[tuple[int, int]] = []
    for number in numbers:
        if spans and number == spans[-1][1] + 1:
            spans[-1] = (spans[-1][0], number)
        else:
            spans.append((number, number))
    return tuple(spans)


def _rings(register: Register, shape: Shape) -> list[Any]:
    grid = register.block.grid
    return rings_m(shape, origin=(grid.origin_e, grid.origin_n))


def _point(register: Register, lat: float, lon: float) -> list[float]:
    e, n = register.grounds.projection.to_m(lat, lon)
    grid = register.block.grid
    return [round(float(e) - grid.origin_e, 2), round(float(n) - grid.origin_n, 2)]


def _cell(register: Register, row: Mapping[str, Any]) -> dict[str, Any]:
    name = row["cell"]
    today, crop = register.cells[name], register.crop.cells[name]
    then = None
    if today.state in _KEPT_STATES:
        then = "ready" if surveyed_since(crop, today.picks.last_over) else "unsurveyed"
    left_bags = None if today.left_kg is None else bags_left(today.left_kg, _usual_kg(register))
    return {
        "cell": name,
        "shape": _rings(register, register.crop.ground.cells[name].shape),
        "ground_class": row["ground_class"],
        "state": row["state"],
        "why": row["why"],
        "rest_ends": row["rest_ends"],
        "then": then,
        "left_kg": row["left_kg"],
        "left_bags": left_bags,
    }


def _usual_kg(register: Register) -> float:
    season = season_of(register.on, register.block.season_start)
    usual = bag_kg_on(register.block.bags, None, register.on).name
    return register.crop.weights.kappa[season, usual].kg


def _closings(register: Register) -> Iterator[dict[str, Any]]:
    """Give closings on the owner's map and holds from records, also those still to come."""
    projection, ground = register.grounds.projection, register.crop.ground
    for one in register.block.closures:
        if one.until is None or one.until >= register.on:
            shape = shape_of(projection, one.geometry, "closure")
            yield _closing(register, shape, one.since, one.until,
                           str(one.properties.get("why") or "closed"))
    for spraying in register.events.sprayings:
        if spraying.until < register.on:
            continue
        shapes = [ground.cells[c].shape for c in spraying.cells if c in ground.cells]
        if spraying.outline is not None:
            shapes.append(shape_of(projection, spraying.outline, "spraying"))
        if shapes:
            yield _closing(register, union_of(shapes), spraying.since, spraying.until, "sprayed")


def _closing(
    register: Register, shape: Shape, since: date | None, until: date | None, why: str
) -> dict[str, Any]:
    return {
        "shape": _rings(register, shape),
        "from": None if since is None else since.isoformat(),
        "until": None if until is None else until.isoformat(),
        "why": why,
    }


def _lapsing(register: Register) -> Iterator[dict[str, Any]]:
    """Give the ground that no permit covers, now or from a day on."""
    if not register.block.permits:
        return
    ground = register.crop.ground
    by_day: dict[date | None, list[Shape]] = defaultdict(list)
    for name, cell in ground.cells.items():
        mine = [p for p in register.block.permits if covers(p, ground, name)]
        day = _lapses(mine, register.on)
        if day is not None:
            by_day[day].append(cell.shape)
    for day, shapes in sorted(by_day.items(), key=lambda item: item[0] or date.min):
        since = None if day is None or day <= register.on else day
        yield _closing(register, union_of(shapes), since, None, "permit not in force")


def _lapses(permits: Sequence[Permit], on: date) -> date | None:
    """Give the first day from `on` without a permit in force; None where that never comes."""
    day = on
    while True:
        holding = [p for p in permits if holds_on(day, p.since, p.until)]
        if not holding:
            return day
        untils = [p.until for p in holding]
        if any(until is None for until in untils):
            return None
        day = max(until for until in untils if until is not None) + timedelta(days=1)


def _marks(register: Register) -> dict[str, Any]:
    pegs, marks = [], []
    waiting = _waiting_bags(register)
    for one in register.events.marks:
        if one.where is None or one.day > register.on:
            continue
        at = _point(register, one.where.lat, one.where.lon)
        what, name = one.record["what"], one.record["name"]
        if what == "peg":
            pegs.append({"name": name, "at": at})
        elif what != "pile":
            marks.append({"what": what, "name": name, "at": at, "bags": None})
        elif waiting.get(name, 0.0) > 0.0:
            marks.append({"what": what, "name": name, "at": at, "bags": waiting[name]})
    return {"pegs": pegs, "marks": marks}


def _waiting_bags(register: Register) -> dict[str, float]:
    """Count the bags of this season on each pile that no lot was dried from."""
    season = season_of(register.on, register.block.season_start)
    start = register.block.season_start
    dried = {label for lot in register.known.lots for label in lot.labels}
    found: dict[str, float] = defaultdict(float)
    for bag in register.events.bags:
        if bag.pile is None or bag.day > register.on or season_of(bag.day, start) != season:
            continue
        if (bag.pile, season) not in dried:
            found[bag.pile] += bag.bags
    return found


def _plots(register: Register) -> list[dict[str, Any]]:
    """Give the plots still to be read: once, and by a second person where that is asked."""
    asked_again = {plot.name for plot in register.block.plots if plot.again}
    read = {
        one.plot for one in register.known.readings
        if one.again or one.plot not in asked_again
    }
    cells = register.crop.ground.cells
    return [
        {
            "plot": plot.name, "cell": plot.cell, "at": _point(register, plot.lat, plot.lon),
            "when": plot.when, "spare": plot.spare, "again": plot.again,
            "ground_class": cells[plot.cell].ground_class,
        }
        for plot in register.block.plots if plot.name not in read and plot.cell in cells
    ]


def _bag_types(register: Register) -> list[dict[str, Any]]:
    season = season_of(register.on, register.block.season_start)
    names = dict.fromkeys(bag.name for bag in register.block.bags)
    return [
        {"type": name, "wet_kg": None,
         "dry_kg": rounded(register.crop.weights.kappa[season, name].kg, 0.1)}
        for name in names
    ]


def _label_numbers(register: Register, phone: str) -> Iterator[int]:
    """Give the numbers of this phone's labels that any record names."""
    own = re.compile(rf"\A{re.escape(phone.upper())}-0*([0-9]{{1,9}})\Z")
    events = register.events
    labels = itertools.chain(
        (bag.pile for bag in events.bags),
        (clip.label for clip in events.clips),
        (quadrat.clip for quadrat in events.quadrats),
        (one.record["name"] for one in events.marks),
        events.batch_sources,
        *events.batch_sources.values(),
    )
    for label in labels:
        found = own.match(label) if label else None
        if found:
            yield int(found.group(1))
