"""The block, its classes and its permits as parts of the register's document."""

import math
from typing import Any

from fieldapp.record import stamp
from sync.block import Permit, season_of
from sync.crop.block_total import BlockTotal
from sync.crop.class_table import class_mean
from sync.picks.kilos import KgPerBag
from sync.register.build import Register
from sync.register.doubts import doubts_of
from sync.register.notices import Notice
from sync.register.permits import PermitToday
from sync.report.rounding import (
    BAG_KG,
    BAGS,
    DENSITY,
    HA,
    INDEX,
    KG,
    RATE,
    T_HA,
    T,
    maybe,
    range_of,
    rounded,
)
from sync.settings import RANGE_LEVEL
from sync.survey.density import of_class
from sync.survey.design.estimate import Estimate
from sync.survey.ranges import t_quantile


def block_part(register: Register) -> dict[str, Any]:
    """Write the block's figures.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Returns
    -------
    dict
        All keys of the contract, in its order.
    """
    ground, total, growth = register.crop.ground, register.total, register.crop.learned.growth
    open_m2 = sum(cell.open_m2 for cell in ground.cells.values())
    sd = math.sqrt(growth.variance)
    return {
        "name": register.block.name,
        "area_ha": rounded(ground.outline_area_m2 / 1e4, HA),
        "open_ha": rounded(open_m2 / 1e4, HA),
        "cell_count": len(ground.cells),
        "surveyed_ha": rounded(total.surveyed_m2 / 1e4 if total else 0.0, HA),
        "estimated_ha": rounded(total.estimated_m2 / 1e4 if total else 0.0, HA),
        "not_estimated_ha": rounded((total.not_estimated_m2 if total else open_m2) / 1e4, HA),
        "standing_crop_t": _total_t(total) if total else None,
        "may_take_t": _t(register.may_take_kg),
        "long_run_yearly_t": _t(register.long_run_kg),
        "growth_rate": {
            "value": rounded(growth.rate, RATE),
            "sd": rounded(sd, RATE),
            "assumed": sd >= register.tunables.growth_cv_enough * growth.rate,
        },
        "densities": _densities(register),
        "kg_per_bag": {name: _bag(kappa) for name, kappa in _kappas(register).items()},
    }


def _total_t(total: BlockTotal) -> dict[str, Any]:
    return range_of(
        total.kg, total.variance, T, quantile=t_quantile(total.df), unit=1000.0
    )


def _t(kg: float | None) -> float | int | None:
    return None if kg is None else rounded(kg / 1000.0, T)


def _densities(register: Register) -> dict[str, Any]:
    found = {}
    for name in sorted(register.crop.densities.classes):
        known = of_class(register.crop.densities, name)
        found[name] = {
            "value": rounded(known.mean_kg_m3, DENSITY),
            "sd": rounded(math.sqrt(known.variance), DENSITY),
            "clips": known.clips,
        }
    return found


def _kappas(register: Register) -> dict[str, KgPerBag]:
    season = season_of(register.on, register.block.season_start)
    return {
        name: kappa for (year, name), kappa in sorted(register.crop.weights.kappa.items())
        if year == season
    }


def _bag(kappa: KgPerBag) -> dict[str, Any]:
    return {
        "value": rounded(kappa.kg, BAG_KG),
        "sd": rounded(math.sqrt(kappa.variance), BAG_KG),
        "lots": kappa.lots,
    }


def class_rows(register: Register) -> list[dict[str, Any]]:
    """Write the ground classes, by name.

    The quadrats told are those that the class mean rests on: drawn by chance, made at rest.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Returns
    -------
    list of dict
        All keys of the contract, in its order.
    """
    rows = []
    frame_m2, doubts = register.block.frame_m**2, doubts_of(register)
    for name in sorted(register.crop.classes):
        cells = [one for one in register.crop.cells.values() if one.ground_class == name]
        found = class_mean(register.crop, name, frame_m2=frame_m2)
        rows.append({
            "ground_class": name,
            "cell_count": len(cells),
            "open_ha": rounded(sum(one.open_m2 for one in cells) / 1e4, HA),
            "quadrats": found.quadrats,
            "clips": sum(c.clip.ground_class == name for c in register.crop.clips),
            "mean_index": _interval(found.index, INDEX),
            "standing_crop_t_ha": _interval(found.crop_t_ha, T_HA),
            "estimator": found.estimator,
            "why": "; ".join([found.why, *(d.what for d in doubts if d.about == name)]),
        })
    return rows


def _interval(found: Estimate | None, step: float) -> dict[str, Any] | None:
    """Write an estimate with its 90 % interval by t, not under 0."""
    if found is None:
        return None
    low, high = found.interval(RANGE_LEVEL)
    return {
        "value": rounded(found.value, step),
        "low": rounded(max(0.0, low), step),
        "high": rounded(high, step),
    }


def permit_row(permit: PermitToday) -> dict[str, Any]:
    """Write a permit's year."""
    step = unit_step(permit.permit)
    taken = None
    if permit.taken is not None and permit.sd is not None:
        taken = range_of(
            permit.taken, permit.sd**2, step, quantile=t_quantile(permit.df)
        )
    return {
        "permit": permit.permit.name,
        "year": {"from": permit.first.isoformat(), "to": permit.last.isoformat()},
        "cap": maybe(permit.permit.cap, step),
        "cap_unit": permit.permit.cap_unit,
        "taken": taken,
        "left": maybe(permit.left, step),
        "cells": list(permit.cells),
        "notice": _notice(permit.notice),
        "filed": filed_row(permit),
    }


def unit_step(permit: Permit) -> float:
    """Give the step to which a permit's own unit is told."""
    return BAGS if permit.cap_unit in {"bags", "m3"} else KG


def filed_row(permit: PermitToday) -> dict[str, Any] | None:
    """Write the return that was filed, and whether the same would be told as taken now."""
    if permit.filed is None:
        return None
    seen, step = permit.filed.seen, unit_step(permit.permit)
    now = maybe(permit.filed.now, step)
    return {
        "year": seen.year,
        "at": seen.day.isoformat(),
        "known_by": None if seen.known_by is None else stamp(seen.known_by),
        "taken": seen.taken,
        "same": seen.taken == now,
        "taken_now": now,
        "record": seen.name,
    }


def _notice(notice: Notice | None) -> dict[str, Any] | None:
    if notice is None:
        return None
    return {
        "given": None if notice.given is None else notice.given.isoformat(),
        "start": None if notice.start is None else notice.start.isoformat(),
        "clear_days": notice.clear_days,
        "needed": notice.needed,
    }
