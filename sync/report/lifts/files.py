"""Lifts as CSV, a line a lift, and as JSON."""

import json
from typing import Any

from sync.plan.lifts.driven import days_driven
from sync.plan.lifts.machine import driven_m
from sync.plan.lifts.values import LiftPlan, PileLifts, WetBag
from sync.report.csv_rows import csv_text
from sync.report.degrees import degrees_minutes
from sync.report.lifts.told import SAFETY, warning_lines
from sync.report.rounding import BAG_KG, HA, KG, M2, maybe, rounded

_COLUMNS = ("lift", "done", "batch", "stage", "day", "from", "bags", "about_kg", "most_kg",
            "place", "lat", "lon", "wet_bag_kg", "sd_kg", "weighed_on")
_DIGITS = 7


def lifts_csv(plan: LiftPlan) -> str:
    """Write a line a lift; piles without a lift have one without a number.

    Parameters
    ----------
    plan : LiftPlan
        Whole.

    Returns
    -------
    str
        As `register_csv`.
    """
    piles = {(one.pile.label, one.pile.season): one for one in plan.piles}
    rows = [
        {"lift": card.number, "done": "", "batch": card.batch, "stage": "lifted",
         "bags": _bags(card.bags), "about_kg": rounded(card.kg, KG),
         "most_kg": rounded(card.most_kg, KG),
         **_of_pile(plan, piles[card.pile.label, card.pile.season])}
        for card in plan.lifts
    ]
    rows += [
        {"lift": None, "done": "", "batch": None, "stage": None, "bags": _bags(one.pile.bags),
         "about_kg": None, "most_kg": None, **_of_pile(plan, one)}
        for one in plan.piles if not one.lifts
    ]
    return csv_text(_COLUMNS, rows)


def _of_pile(plan: LiftPlan, one: PileLifts) -> dict[str, Any]:
    place, wet = one.pile.place, one.wet
    return {
        "day": plan.on.isoformat(), "from": one.pile.label,
        "place": None if place is None else degrees_minutes(*place),
        "lat": None if place is None else round(place[0], _DIGITS),
        "lon": None if place is None else round(place[1], _DIGITS),
        "wet_bag_kg": None if wet is None else rounded(wet.kg, BAG_KG),
        "sd_kg": None if wet is None else rounded(wet.sd_kg, BAG_KG),
        "weighed_on": None if wet is None else wet.day.isoformat(),
    }


def lifts_json(plan: LiftPlan) -> str:
    """Write all of a plan for machines; null is what is not known."""
    told = {
        "lifts": 1, "block": plan.register.block.name, "on": plan.on.isoformat(),
        "limit_kg": plan.limit_kg, "currency": plan.register.block.costs.currency or None,
        "call_out": plan.register.block.costs.lift_call_out,
        "machine_call_out": plan.register.block.costs.machine_call_out,
        "safety": SAFETY, "warnings": warning_lines(plan),
        "landing_hazards": _hazards(plan.landing_hazards),
        "piles": [_pile(plan, one) for one in plan.piles],
        "cards": [{
            "lift": one.number, "batch": one.batch, "pile": one.pile.label,
            "season": one.pile.season, "bags": _bags(one.bags), "kg": rounded(one.kg, KG),
            "most_kg": rounded(one.most_kg, KG),
        } for one in plan.lifts],
        "driven": [{
            "record": one.name, "day": one.day.isoformat(), "cells": list(one.cells),
            "ha": rounded(one.area_ha, HA), "whole_cells": one.whole_cells,
        } for one in plan.driven],
    }
    return json.dumps(told, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _pile(plan: LiftPlan, one: PileLifts) -> dict[str, Any]:
    place, drive = one.pile.place, one.machine.drive
    return {
        "pile": one.pile.label, "season": one.pile.season, "bags": _bags(one.pile.bags),
        "bag_types": list(one.bag_types),
        "lat": None if place is None else round(place[0], _DIGITS),
        "lon": None if place is None else round(place[1], _DIGITS),
        "wet_bag": None if one.wet is None else _wet(one.wet), "sling": one.sling,
        "lifts": one.lifts, "cost": one.cost, "hazards": _hazards(one.hazards),
        "machine": {
            "trips": one.machine.trips, "cost": one.machine.cost,
            "way_m": None if drive is None else rounded(drive.length_m, M2),
            "driven_m": maybe(driven_m(one.machine), M2),
            "cells": [] if drive is None else [
                {"cell": cell, "m": rounded(m, M2),
                 "driven_on": [day.isoformat() for day in days_driven(plan.driven, cell)]}
                for cell, m in drive.cells],
        },
    }


def _wet(wet: WetBag) -> dict[str, Any]:
    return {"kg": rounded(wet.kg, BAG_KG), "sd_kg": rounded(wet.sd_kg, BAG_KG),
            "day": wet.day.isoformat(), "weighings": wet.weighings, "bags": _bags(wet.bags),
            "sd_assumed": wet.assumed, "of_this_pile": wet.own,
            "piles_weighed": [label for label, _ in wet.piles]}


def _hazards(near: tuple[tuple[str, float], ...]) -> list[dict[str, Any]]:
    return [{"name": name, "m": rounded(m, M2)} for name, m in near]


def _bags(bags: float) -> float | int:
    return rounded(bags, 0.1)
