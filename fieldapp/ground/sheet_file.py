"""The ground sheet as a sealed file: `*.sheet.zip` of `manifest.json` and `sheet.json`.

Rule 1: a sheet that a phone would refuse is never packed.
Rule 2: the same sheet, program and key give the same bytes.
Rule 3: nothing is believed of a file whose form, sum or seal does not fit.
"""

import hashlib
import hmac
from collections.abc import Mapping
from datetime import date
from typing import Any

from fieldapp.ground.shapes import Shape
from fieldapp.ground.sheet import Cell, GroundError, Plot, Sheet
from fieldapp.ground.sheet_read import sheet_of
from fieldapp.handover.zips import ZipError, read_zip, same_seal, seal_of, write_zip
from fieldapp.record import canonical, stamp
from fieldapp.record.lines import FileError, LineError, parse_object

_MANIFEST = "manifest.json"
_SHEET = "sheet.json"
#: A block of 4 km with 1,600 ragged cells is some 2 MB. [bytes]
LONGEST_SHEET = 20_000_000


def pack_sheet(sheet_obj: Mapping[str, Any], *, program: str, key: bytes | None) -> bytes:
    """Make a ground sheet's file.

    Parameters
    ----------
    sheet_obj : mapping
        What `sheet.json` shall say.
    program : str
        The program's version.
    key : bytes or None
        The phone's pairing key; None leaves the file unsealed.

    Returns
    -------
    bytes
        The file, the same for the same arguments.

    Raises
    ------
    GroundError
        If a phone would refuse the sheet.
    """
    sheet = sheet_of(sheet_obj)
    body = canonical(sheet_obj) + b"\n"
    manifest: dict[str, Any] = {
        "sheet": 1, "id": sheet.sheet_id, "for": sheet.for_phone, "block": sheet.block_id,
        "program": program, "made_at": stamp(sheet.made_at),
        "sheet_sha256": hashlib.sha256(body).hexdigest(),
    }
    manifest["seal"] = None if key is None else seal_of(manifest, key)
    return write_zip({_MANIFEST: canonical(manifest) + b"\n", _SHEET: body})


def unpack_sheet(data: bytes, *, key: bytes | None) -> Sheet:
    """Read a ground sheet's file.

    Parameters
    ----------
    data : bytes
        The whole file.
    key : bytes or None
        This phone's pairing key; None where it was never paired.

    Returns
    -------
    Sheet
        Checked to the last field.

    Raises
    ------
    GroundError
        If the file is no sound zip, its parts contradict each other, the seal is not this key's
        (a phone with a key takes no unsealed sheet, one without a key none that is sealed), or
        `sheet_of` refuses what it says.
    """
    manifest, body = _parts(data)
    if key is None:
        if manifest.get("seal") is not None:
            raise GroundError("the sheet is sealed for a paired phone: pair this one first")
    elif not same_seal(manifest, key):
        raise GroundError("the sheet is not sealed with this phone's key: fetch it again")
    if not _same(manifest.get("sheet_sha256"), hashlib.sha256(body).hexdigest()):
        raise GroundError("the sheet's sum does not match its manifest: copy the file again")
    sheet = sheet_of(_object(body, _SHEET))
    said = {"sheet": 1, "id": sheet.sheet_id, "for": sheet.for_phone, "block": sheet.block_id,
            "made_at": stamp(sheet.made_at)}
    for name, value in said.items():
        if manifest.get(name) != value:
            raise GroundError(f"manifest.json {name}={ascii(manifest.get(name))[:60]} is not "
                              f"the sheet's {value!r}: make the file again")
    return sheet


def _parts(data: bytes) -> tuple[dict[str, Any], bytes]:
    try:
        entries = read_zip(data)
    except ZipError as error:
        raise GroundError(f"the file {error}") from None
    if set(entries) != {_MANIFEST, _SHEET}:
        raise GroundError(f"the file holds {ascii(sorted(entries))[:60]}: it is no ground sheet")
    for name, entry in entries.items():
        if entry.reason is not None:
            raise GroundError(f"{name} in the file: {entry.reason}")
    return _object(entries[_MANIFEST].content, _MANIFEST), entries[_SHEET].content


def _object(content: bytes, name: str) -> dict[str, Any]:
    try:
        return parse_object(content, longest=LONGEST_SHEET)
    except (LineError, FileError) as error:
        raise GroundError(f"{name}: {error}") from None


def _same(given: object, wanted: str) -> bool:
    return isinstance(given, str) and hmac.compare_digest(given.encode(), wanted.encode())


def sheet_json(sheet: Sheet) -> dict[str, Any]:
    """Write a sheet as `sheet.json` says it.

    Parameters
    ----------
    sheet : Sheet
        The values.

    Returns
    -------
    dict
        JSON values; `sheet_of` gives the same sheet back.
    """
    return {
        "sheet": 1, "id": sheet.sheet_id, "for": sheet.for_phone,
        "block": {"id": sheet.block_id, "name": sheet.block_name},
        "made_at": stamp(sheet.made_at), "good_until": stamp(sheet.good_until),
        "zone": sheet.zone, "cell_m": sheet.cell_m,
        "season_start": f"{sheet.season_start[0]:02}-{sheet.season_start[1]:02}",
        "map": {"at": list(sheet.map.at), "to_m": [list(row) for row in sheet.map.to_m_rows],
                "to_deg": [list(row) for row in sheet.map.to_deg_rows]},
        "outline": _lists(sheet.outline),
        "cells": [_cell_json(cell) for cell in sheet.cells],
        "closures": [{"shape": _lists(one.shape), "from": _day_json(one.since),
                      "until": _day_json(one.until), "why": one.why} for one in sheet.closures],
        "pegs": [{"name": peg.name, "at": list(peg.at)} for peg in sheet.pegs],
        "marks": [{"what": mark.what, "name": mark.name, "at": list(mark.at), "bags": mark.bags}
                  for mark in sheet.marks],
        "permits": [{"permit": one.permit, "left": one.left} for one in sheet.permits],
        "people": [{"code": one.code, "call": one.call} for one in sheet.people],
        "plots": [_plot_json(plot) for plot in sheet.plots],
        "bag_types": [{"type": one.name, "wet_kg": one.wet_kg, "dry_kg": one.dry_kg}
                      for one in sheet.bag_types],
        "probes": sheet.probes, "frame_m": sheet.frame_m, "check_in_min": sheet.check_in_min,
        "declination_deg": sheet.declination_deg,
        "gate": None if sheet.gate is None else list(sheet.gate),
        "label_from": sheet.label_from, "held": [list(span) for span in sheet.held],
        "held_of": sheet.held_of,
    }


def _cell_json(cell: Cell) -> dict[str, Any]:
    return {"cell": cell.name, "shape": _lists(cell.shape), "ground_class": cell.ground_class,
            "state": cell.state, "why": cell.why, "rest_ends": _day_json(cell.rest_ends),
            "then": cell.then, "left_kg": cell.left_kg, "left_bags": cell.left_bags}


def _plot_json(plot: Plot) -> dict[str, Any]:
    return {"plot": plot.name, "cell": plot.cell, "at": list(plot.at), "when": plot.when,
            "spare": plot.spare, "again": plot.again, "ground_class": plot.ground_class}


def _lists(shape: Shape) -> list[Any]:
    return [[[list(point) for point in ring] for ring in part] for part in shape]


def _day_json(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
