"""`sheet.json` of a ground sheet, read with distrust.

Rule 1: nothing from outside is believed: each field is checked, and the refusal names it and shows
what stood there.
Rule 2: unknown fields are passed over, so that a newer shed can say more to an older phone.
"""

import math
import re
from datetime import date, datetime
from typing import get_args
from zoneinfo import ZoneInfo

from fieldapp.ground.reading import (
    between,
    each,
    field,
    fields,
    items,
    matching,
    maybe,
    number,
    one_of,
    text,
    truth,
    whole,
    whole_between,
    wrong,
)
from fieldapp.ground.shapes import Point, Ring, Shape, box_of
from fieldapp.ground.sheet import (
    BagType,
    Cell,
    Closure,
    GroundMap,
    Mark,
    Peg,
    PermitLeft,
    PersonOnSheet,
    Plot,
    Row,
    Sheet,
    State,
)
from fieldapp.record import CELL, DAY, DEVICE, PERSON, RecordError, instant

STATES: tuple[State, ...] = get_args(State)
_THEN: tuple[State, ...] = ("ready", "unsurveyed")
MARKS = ("pile", "hazard", "drain", "weed", "peg", "other")
WHENS = ("survey", "before_pick", "after_pick")
#: No block reaches this far from its sheet's origin. [m]
FARTHEST_M = 1e6
#: The map's two halves undo each other this well at the block's corners. [m]
MAP_WITHIN_M = 1.0
_MAX_SEQ = 2**53 - 1
_SHEET_ID = re.compile(r"\A[0-9a-f]{8}\Z")
_PHONE = re.compile(r"\A[a-z][a-z0-9]{0,7}\Z")
_ZONE = re.compile(r"\A[A-Za-z0-9_+-]{1,30}(?:/[A-Za-z0-9_+-]{1,30}){0,2}\Z")
_SEASON = re.compile(r"\A[0-9]{2}-[0-9]{2}\Z")


def sheet_of(obj: object) -> Sheet:
    """Read `sheet.json`.

    Parameters
    ----------
    obj : object
        What its JSON said, unchecked.

    Returns
    -------
    Sheet
        The same, every field within its limits.

    Raises
    ------
    GroundError
        Naming the first field that is missing or wrong, and what stood there.
    """
    top = fields(obj, "sheet.json")
    if field(top, "sheet", whole) != 1:
        raise wrong("sheet", top["sheet"], "must be 1: update the app")
    block = field(top, "block", fields)
    sheet = Sheet(
        sheet_id=field(top, "id", matching(_SHEET_ID)),
        block_id=field(block, "id", text, "block."),
        block_name=field(block, "name", text, "block."),
        for_phone=field(top, "for", matching(_PHONE)),
        made_at=field(top, "made_at", _instant), good_until=field(top, "good_until", _instant),
        zone=field(top, "zone", _zone), season_start=field(top, "season_start", _season),
        map=field(top, "map", _map), cell_m=field(top, "cell_m", between(25, FARTHEST_M)),
        outline=field(top, "outline", _shape),
        cells=field(top, "cells", each(_cell)), closures=field(top, "closures", each(_closure)),
        pegs=field(top, "pegs", each(_peg)), marks=field(top, "marks", each(_mark)),
        permits=field(top, "permits", each(_permit)), people=field(top, "people", each(_person)),
        plots=field(top, "plots", each(_plot)), bag_types=field(top, "bag_types", each(_bag_type)),
        probes=field(top, "probes", whole_between(1, 20)),
        frame_m=field(top, "frame_m", between(0.1, 2)),
        check_in_min=field(top, "check_in_min", whole_between(0, 10_000)),
        declination_deg=field(top, "declination_deg", between(-180, 180)),
        gate=field(top, "gate", maybe(_point)),
        label_from=field(top, "label_from", whole_between(1, _MAX_SEQ)),
        held=field(top, "held", each(_span)),
        held_of=maybe(matching(DEVICE))(top.get("held_of"), "held_of"),
    )
    _hold_together(sheet)
    return sheet


def _hold_together(sheet: Sheet) -> None:
    """Check what no single field can say: names said once, a map that undoes itself."""
    once: tuple[tuple[str, list[object]], ...] = (
        ("cells", [cell.name for cell in sheet.cells]),
        ("plots", [(plot.name, plot.when, plot.again) for plot in sheet.plots]),
        ("people", [person.code for person in sheet.people]))
    for what, names in once:
        if len(set(names)) < len(names):
            twice = next(name for name in names if names.count(name) > 1)
            raise wrong(what, twice, "stands twice")
    if not sheet.bag_types:
        raise wrong("bag_types", [], "must name the usual bag first")
    west, south, east, north = box_of(sheet.outline)
    for x, y in ((west, south), (east, south), (east, north), (west, north)):
        back = sheet.map.to_m(*sheet.map.to_deg(x, y))
        if not math.hypot(back[0] - x, back[1] - y) <= MAP_WITHIN_M:
            raise wrong("map", [x, y], f"to_deg and to_m lead to {back} instead")


def _cell(value: object, path: str) -> Cell:
    obj = fields(value, path)
    dot = path + "."
    return Cell(
        name=field(obj, "cell", matching(CELL), dot), shape=field(obj, "shape", _shape, dot),
        ground_class=field(obj, "ground_class", maybe(text), dot),
        state=field(obj, "state", one_of(STATES), dot),
        why=field(obj, "why", text, dot), rest_ends=field(obj, "rest_ends", maybe(_day), dot),
        then=field(obj, "then", maybe(one_of(_THEN)), dot),
        left_kg=field(obj, "left_kg", maybe(between(0, 1e9)), dot),
        left_bags=field(obj, "left_bags", maybe(whole_between(0, 10**9)), dot))


def _closure(value: object, path: str) -> Closure:
    obj = fields(value, path)
    dot = path + "."
    return Closure(field(obj, "shape", _shape, dot), field(obj, "from", maybe(_day), dot),
                   field(obj, "until", maybe(_day), dot), field(obj, "why", text, dot))


def _peg(value: object, path: str) -> Peg:
    obj = fields(value, path)
    return Peg(field(obj, "name", text, path + "."), field(obj, "at", _point, path + "."))


def _mark(value: object, path: str) -> Mark:
    obj = fields(value, path)
    dot = path + "."
    return Mark(field(obj, "what", one_of(MARKS), dot), field(obj, "name", text, dot),
                field(obj, "at", _point, dot), field(obj, "bags", maybe(between(0, 1e6)), dot))


def _permit(value: object, path: str) -> PermitLeft:
    obj = fields(value, path)
    return PermitLeft(field(obj, "permit", text, path + "."),
                      field(obj, "left", maybe(between(-1e12, 1e12)), path + "."))


def _person(value: object, path: str) -> PersonOnSheet:
    obj = fields(value, path)
    return PersonOnSheet(field(obj, "code", matching(PERSON), path + "."),
                         field(obj, "call", text, path + "."))


def _plot(value: object, path: str) -> Plot:
    obj = fields(value, path)
    dot = path + "."
    return Plot(field(obj, "plot", text, dot), field(obj, "cell", matching(CELL), dot),
                field(obj, "at", _point, dot), field(obj, "when", one_of(WHENS), dot),
                field(obj, "spare", truth, dot), field(obj, "again", truth, dot),
                field(obj, "ground_class", maybe(text), dot))


def _bag_type(value: object, path: str) -> BagType:
    obj = fields(value, path)
    dot = path + "."
    return BagType(field(obj, "type", text, dot),
                   field(obj, "wet_kg", maybe(between(0, 1e4)), dot),
                   field(obj, "dry_kg", maybe(between(0, 1e4)), dot))


def _map(value: object, path: str) -> GroundMap:
    obj = fields(value, path)
    at = items(obj.get("at"), path + ".at")
    if len(at) != 2:
        raise wrong(path + ".at", at, "must be latitude and longitude")
    return GroundMap(
        (between(-90, 90)(at[0], path + ".at"), between(-180, 180)(at[1], path + ".at")),
        field(obj, "to_m", _rows, path + "."), field(obj, "to_deg", _rows, path + "."))


def _rows(value: object, path: str) -> tuple[Row, Row]:
    rows = items(value, path)
    if len(rows) != 2 or any(not isinstance(row, list) or len(row) != 6 for row in rows):
        raise wrong(path, value, "must be two rows of six numbers")
    first, second = (_row([number(factor, path) for factor in row]) for row in rows)
    return first, second


def _row(factors: list[float]) -> Row:
    one, a, b, aa, ab, bb = factors
    return one, a, b, aa, ab, bb


def _shape(value: object, path: str) -> Shape:
    parts = items(value, path)
    if not parts or any(not items(part, path) for part in parts):
        raise wrong(path, value, "must hold at least one ring")
    return tuple(tuple(_ring(ring, path) for ring in part) for part in parts)


def _ring(value: object, path: str) -> Ring:
    ring = tuple(_point(point, path) for point in items(value, path))
    if len(ring) < 4 or ring[0] != ring[-1]:
        raise wrong(path, value, "a ring needs four points, the last on the first")
    return ring


def _point(value: object, path: str) -> Point:
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise wrong(path, value, "must be x and y")
    x, y = (between(-FARTHEST_M, FARTHEST_M)(one, path) for one in value)
    return x, y


def _span(value: object, path: str) -> tuple[int, int]:
    span = items(value, path)
    if len(span) != 2:
        raise wrong(path, value, "must be two numbers")
    first, last = (whole_between(1, _MAX_SEQ)(one, path) for one in span)
    if first > last:
        raise wrong(path, value, "must run upwards")
    return first, last


def _zone(value: object, path: str) -> str:
    name = matching(_ZONE)(value, path)
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise wrong(path, value, "is no time zone") from None
    return name


def _season(value: object, path: str) -> tuple[int, int]:
    text = matching(_SEASON)(value, path)
    try:
        day = date.fromisoformat(f"2023-{text}")
    except ValueError:
        raise wrong(path, value, "must be a day of every year, MM-DD") from None
    return day.month, day.day


def _instant(value: object, path: str) -> datetime:
    try:
        return instant(text(value, path))
    except RecordError:
        raise wrong(path, value, "must be an instant such as 2026-01-09T05:00:00.000Z") from None


def _day(value: object, path: str) -> date:
    try:
        return date.fromisoformat(matching(DAY)(value, path))
    except ValueError:
        raise wrong(path, value, "must be a day such as 2026-01-15") from None
