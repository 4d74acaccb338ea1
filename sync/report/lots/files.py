"""Lots as CSV, a line a lot, and all of a season as JSON.

Rule 1: what is not known is empty, or null; never 0.
"""

import json
from collections.abc import Mapping
from typing import Any

from fieldapp.record import stamp
from sync.picks.ledger.balance import Balance, balance_of_days, balance_of_piles
from sync.picks.ledger.trace import LotTold
from sync.plan.lots.clean import Estimate, GroundTold
from sync.plan.lots.season import LotsOfSeason, kg_a_bag_of
from sync.plan.lots.supply import Supply
from sync.report.csv_rows import csv_text
from sync.report.rounding import BAG_KG, BAGS, KG, PCT, maybe, rounded
from sync.settings import RANGE_LEVEL

_STAGES = ("tallied", "lifted", "arrived", "dried")
_COLUMNS = ("lot", "season", "tallied_from", "tallied_to", "lifted", "arrived", "dried", "bags",
            "dry_kg", "kg_per_bag", "kg_per_bag_low", "kg_per_bag_high", "moist_pct", "pure_pct",
            "cells", "piles", "persons", "unknown_share", "records")
_SHARE = 4
_BALANCE = ("tallied", "surplus", "lifted", "arrived", "dried", "no_pile", "on_piles",
            "on_the_way", "at_the_shed", "short_on_the_way", "short_at_the_shed")


def lots_csv(told: LotsOfSeason) -> str:
    """Write a line a lot.

    Parameters
    ----------
    told : LotsOfSeason
        Whole.

    Returns
    -------
    str
        As `register_csv`; shares stand behind their names, the largest first.
    """
    return csv_text(_COLUMNS, (_flat(told, lot) for lot in told.lots))


def _flat(told: LotsOfSeason, lot: LotTold) -> dict[str, Any]:
    kg = kg_a_bag_of(lot, told.register)
    days = {stage: lot.days[stage][0].isoformat() if stage in lot.days else None
            for stage in _STAGES}
    shares = lot.shares
    return {
        "lot": lot.label, "season": lot.season, "tallied_from": days["tallied"],
        "tallied_to": lot.days["tallied"][1].isoformat() if "tallied" in lot.days else None,
        "lifted": days["lifted"], "arrived": days["arrived"], "dried": days["dried"],
        "bags": rounded(lot.bags, BAGS), "dry_kg": maybe(lot.dry_kg, BAG_KG),
        "kg_per_bag": None if kg is None else rounded(kg.value, BAG_KG),
        "kg_per_bag_low": None if kg is None else rounded(kg.low, BAG_KG),
        "kg_per_bag_high": None if kg is None else rounded(kg.high, BAG_KG),
        "moist_pct": maybe(lot.moist_pct, PCT), "pure_pct": maybe(lot.pure_pct, PCT),
        "cells": _in_words(shares.cells),
        "piles": _in_words({label: share for (label, _), share in shares.piles.items()}),
        "persons": _in_words(shares.persons), "unknown_share": round(shares.unknown, _SHARE),
        "records": " ".join(lot.records),
    }


def _in_words(shares: Mapping[str, float]) -> str:
    return "; ".join(f"{name} {share:.{_SHARE}f}" for name, share in shares.items()
                     if round(share, _SHARE))


def lots_json(told: LotsOfSeason) -> str:
    """Write all of a season for machines; null is what is not known.

    Parameters
    ----------
    told : LotsOfSeason
        Whole.

    Returns
    -------
    str
        Bags to a tenth, kg to 1, kg a bag and % to a tenth, shares to four digits.
    """
    register, piles = told.register, balance_of_piles(told.ledger)
    days = balance_of_days(told.ledger, told.season)
    document = {
        "lots": 1, "block": register.block.name, "on": register.on.isoformat(),
        "known_by": None if register.known_by is None else stamp(register.known_by),
        "season": told.season, "pure_pct": told.pure_pct, "range_level": RANGE_LEVEL,
        "balance": _balance(told.balance),
        "by_pile": [{"pile": label, **_balance(one)}
                    for (label, season), one in sorted(piles.items()) if season == told.season],
        "by_day": [{"day": day.isoformat(), **_balance(one)}
                   for day, one in sorted(days.items())],
        "rows": [_lot(told, lot) for lot in told.lots],
        "classes": [_ground(one) for one in told.classes],
        "cells": [_ground(one) for one in told.cells],
        "dried": {"kg": rounded(told.dried.kg, KG), "told_kg": rounded(told.dried.told_kg, KG),
                  "pure_kg": rounded(told.dried.pure_kg, KG),
                  "mixed_kg": rounded(told.dried.mixed_kg, KG),
                  "mean_pure_pct": maybe(told.dried.mean_pct, PCT)},
        "ready": _supply(told.ready),
        "allowed": None if told.allowed is None else _supply(told.allowed),
    }
    return json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _balance(one: Balance) -> dict[str, Any]:
    return {field: rounded(getattr(one, field), BAGS) for field in _BALANCE}


def _lot(told: LotsOfSeason, lot: LotTold) -> dict[str, Any]:
    shares = lot.shares
    return {
        "lot": lot.label,
        "days": {stage: [day.isoformat() for day in lot.days[stage]] if stage in lot.days
                 else None for stage in _STAGES},
        "bags": rounded(lot.bags, BAGS), "dry_kg": maybe(lot.dry_kg, BAG_KG),
        "kg_per_bag": _estimate(kg_a_bag_of(lot, told.register)),
        "moist_pct": maybe(lot.moist_pct, PCT), "pure_pct": maybe(lot.pure_pct, PCT),
        "part_left": round(lot.part_left, _SHARE),
        "piles": _shares({label: share for (label, _), share in shares.piles.items()}),
        "cells": _shares(shares.cells),
        "days_shares": _shares({day.isoformat(): share for day, share in shares.days.items()}),
        "persons": _shares(shares.persons), "in_no_cell": round(shares.in_no_cell, _SHARE),
        "unknown": round(shares.unknown, _SHARE), "records": list(lot.records),
    }


def _shares(shares: Mapping[str, float]) -> dict[str, float]:
    return {name: told for name, share in shares.items() if (told := round(share, _SHARE))}


def _estimate(one: Estimate | None) -> dict[str, Any] | None:
    return None if one is None else {
        "value": rounded(one.value, BAG_KG), "low": rounded(one.low, BAG_KG),
        "high": rounded(one.high, BAG_KG)}


def _ground(one: GroundTold) -> dict[str, Any]:
    return {
        "name": one.name, "ground_class": one.ground_class, "lots": rounded(one.lots, BAGS),
        "pure_pct": _estimate(one.pure_pct), "kg_per_bag": _estimate(one.kg_a_bag),
        "chance": one.chance}


def _supply(one: Supply) -> dict[str, Any]:
    return {
        "kg": rounded(one.kg, KG), "untold_kg": rounded(one.untold_kg, KG),
        "pure_kg": {"value": rounded(one.pure_kg, KG), "low": rounded(one.low_kg, KG),
                    "high": rounded(one.high_kg, KG)}, "cells": one.cells}
