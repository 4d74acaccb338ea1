"""The ground sheet of one phone: what it needs to answer "may I pick here?" with no signal.

Rule 1: metres count from the grid's origin.
Rule 2: it carries what a later day needs too: ends of rests, closings to come, permits that lapse.
Rule 3: never other people's tracks, names or figures of pay.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from fieldapp.record import stamp
from sync.block import holds_on, season_of
from sync.geometry.coords import rings_m
from sync.geometry.shapes import bounds_of
from sync.geometry.sheet_map import fit_map
from sync.register.build import Register
from sync.report.rounding import BAG_KG, rounded
from sync.report.sheet_ground import sheet_cells, sheet_closures
from sync.report.sheet_labels import label_from
from sync.report.sheet_places import place_m, sheet_marks, sheet_pegs
from sync.report.sheet_plots import sheet_plots

_FORM = 1


def ground_sheet(
    register: Register,
    document: Mapping[str, Any],
    *,
    phone: str,
    device: str | None,
    made_at: datetime,
    held: Sequence[tuple[int, int]],
    sheet_id: str,
) -> dict[str, Any]:
    """Write a phone's ground sheet.

    Parameters
    ----------
    register : Register
        Of the local day of `made_at`: states and figures are that day's.
    document : mapping
        The register's document.
    phone : str
        Phone code.
    device : str or None
        The install that uses its key now; None before its first hand-over.
    made_at : datetime
        UTC.
    held : sequence of (int, int)
        Spans of that device's numbers at the shed.
    sheet_id : str
        Eight hex digits.

    Returns
    -------
    dict
        `sheet.json`.
    """
    block, grid = register.block, register.block.grid
    return {
        "sheet": _FORM,
        "id": sheet_id,
        "block": {"id": block.block_id, "name": block.name},
        "for": phone,
        "made_at": stamp(made_at),
        "good_until": stamp(made_at + timedelta(days=register.tunables.sheet_days)),
        "zone": block.zone,
        "season_start": f"{block.season_start[0]:02d}-{block.season_start[1]:02d}",
        "map": _map(register),
        "cell_m": grid.cell_m,
        "outline": rings_m(register.crop.ground.outline, origin=(grid.origin_e, grid.origin_n)),
        "cells": sheet_cells(register, document),
        "closures": sheet_closures(register),
        "pegs": sheet_pegs(register),
        "marks": sheet_marks(register),
        "permits": [
            {"permit": row["permit"], "left": row["left"]} for row in document["permits"]
        ],
        "people": [
            {"code": one.code, "call": one.call} for one in block.people
            if holds_on(register.on, one.since, one.until)
        ],
        "plots": sheet_plots(register),
        "probes": block.probes,
        "frame_m": block.frame_m,
        "check_in_min": block.check_in_min,
        "declination_deg": block.declination_deg,
        "gate": None if block.gate is None else place_m(register, *block.gate),
        "bag_types": _bag_types(register),
        "label_from": label_from(register, phone),
        "held": [list(span) for span in held],
        "held_of": device,
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


def _map(register: Register) -> dict[str, Any]:
    ground = register.crop.ground
    fitted = fit_map(ground.projection, register.block.grid, bounds_of(ground.outline))
    return {
        "at": list(fitted.at),
        "to_m": [list(row) for row in fitted.to_m],
        "to_deg": [list(row) for row in fitted.to_deg],
    }


def _bag_types(register: Register) -> list[dict[str, Any]]:
    """Give the bag types, the usual first; the wet weight changes with the rain, so none is told.

    A phone judges a wet weight by what it weighed itself that day.
    """
    season = season_of(register.on, register.block.season_start)
    kappa = register.crop.weights.kappa
    return [
        {"type": name, "wet_kg": None, "dry_kg": rounded(kappa[season, name].kg, BAG_KG)}
        for name in dict.fromkeys(bag.name for bag in register.block.bags)
    ]
