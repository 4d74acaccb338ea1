"""One cell as a row of the register's document.

Rule 1: every key is there, in the contract's order; null means none, never 0.
Rule 2: nothing is worked out here but ranges and shares of what the register holds.
"""

import math
from collections.abc import Sequence
from datetime import date
from typing import Any

from sync.crop.chain import CellCrop
from sync.crop.classes import JudgedPick
from sync.crop.today import CellToday
from sync.picks.made import Kg
from sync.register.build import Register, is_measured
from sync.register.latest_read import latest_read, latest_survey, level_of
from sync.report.rounding import HA, KG, MM, PCT, T_HA, maybe, range_of, rounded
from sync.survey.condition import scrub_of, water_of
from sync.survey.quadrats import mean_range
from sync.survey.ranges import t_quantile
from sync.survey.readings import Reading


def cell_row(register: Register, cell: str) -> dict[str, Any]:
    """Write one cell.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    cell : str
        Its name.

    Returns
    -------
    dict
        All keys of the contract, in its order.
    """
    ground = register.crop.ground.cells[cell]
    crop, today = register.crop.cells[cell], register.cells[cell]
    return {
        "cell": cell,
        "area_ha": rounded(ground.area_m2 / 1e4, HA),
        "open_ha": rounded(ground.open_m2 / 1e4, HA),
        "ground_class": ground.ground_class,
        "state": today.state,
        "why": today.why,
        **_survey_part(register, crop),
        **_crop_part(register, crop),
        **_allowed_part(crop, today),
        **_picked_part(register, crop, today),
        **_wet_part(latest_read(register, crop)),
    }


def _survey_part(register: Register, crop: CellCrop) -> dict[str, Any]:
    latest = latest_survey(register, crop)
    readings = latest.readings if latest else ()
    clips = [
        c for c in register.crop.clips
        if latest and c.cell == crop.cell and readings[0].day <= c.day <= latest.day
    ]
    return {
        "quadrats": len(readings),
        "by_eye": sum(not r.drawn for r in readings),
        "clips": len(clips),
        "surveyed_on": latest.day.isoformat() if latest else None,
        "crop_basis": _basis(crop),
        "crop_forecast": _forecast(crop),
        "cover_pct": _mean(
            [0.0 if r.bare else r.cover_pct for r in readings], high=100.0, step=PCT
        ),
        "depth_mm": _mean(_depths(readings), high=math.inf, step=MM),
    }


def _basis(crop: CellCrop) -> str:
    if crop.walked is None:
        return "none"
    return "measured" if is_measured(crop.readings) else "borrowed"


def _forecast(crop: CellCrop) -> bool | None:
    return None if crop.walked is None else crop.walked.forecast


def _depths(readings: Sequence[Reading]) -> list[float]:
    """Give the mean depth of each quadrat that has moss; zero probes are left out."""
    found = [[d for d in r.depth_mm if d > 0] for r in readings if not r.bare]
    return [sum(depths) / len(depths) for depths in found if depths]


def _mean(values: Sequence[float], *, high: float, step: float) -> dict[str, Any] | None:
    if not values:
        return None
    mean, low, top = mean_range(values, low_bound=0.0, high_bound=high)
    return {"value": rounded(mean, step), "low": maybe(low, step), "high": maybe(top, step)}


def _crop_part(register: Register, crop: CellCrop) -> dict[str, Any]:
    walked = crop.walked
    known = register.crop.classes[crop.ground_class].prediction
    if walked is None or known is None:
        return dict.fromkeys((
            "standing_crop_t_ha", "standing_crop_kg", "pickable_crop_kg", "rested_crop_kg"
        ))
    stand, t = walked.stand, t_quantile(known.df)
    return {
        "standing_crop_t_ha": range_of(
            stand.crop_kg, stand.crop_var, T_HA, quantile=t, unit=crop.open_m2 / 10.0
        ),
        "standing_crop_kg": range_of(stand.crop_kg, stand.crop_var, KG, quantile=t),
        "pickable_crop_kg": rounded(walked.pickable_kg, KG),
        "rested_crop_kg": rounded(stand.mark_kg, KG),
    }


def _allowed_part(crop: CellCrop, today: CellToday) -> dict[str, Any]:
    found = today.allowance
    if found is not None:
        pct: float | None = found.sustainable_pct
        binds: str | None = found.binds
        must_stay: float | None = found.must_stay_kg
    elif today.state == "ready":
        pct, binds, must_stay = None, None, None
    else:
        pct, binds = 0.0, today.state
        must_stay = crop.walked.stand.crop_kg if crop.walked is not None else None
    return {
        "sustainable_pct": maybe(pct, PCT),
        "binds": binds,
        "must_stay_kg": maybe(must_stay, KG),
        "may_take_kg": maybe(today.may_take_kg, KG),
        "left_kg": maybe(today.left_kg, KG),
    }


def _picked_part(register: Register, crop: CellCrop, today: CellToday) -> dict[str, Any]:
    over = today.picks.last_over
    ends = over.rest_ends if over is not None else None
    following = None
    if today.next_on is not None:
        following = {"on": today.next_on.isoformat(), "kg": maybe(today.next_kg, KG)}
    picked = pct = None
    # A pick whose kg nobody knows has no figure; it is not a pick of 0 kg.
    taken = today.picks.open_pick.made.whole if today.picks.open_pick is not None else None
    if taken is not None:
        picked = _kg(taken)
        if today.may_take_kg:
            pct = rounded(100.0 * taken.kg / today.may_take_kg, PCT)
    return {
        "last_picked": None if over is None else _last_picked(over),
        "rest_ends": _iso(ends),
        "next": following,
        "picked_kg": picked,
        "picked_pct_of_may_take": pct,
        "complete": crop.cell not in register.incomplete,
    }


def _kg(taken: Kg) -> dict[str, Any]:
    return range_of(taken.kg, taken.variance, KG, quantile=t_quantile(taken.df))


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _last_picked(pick: JudgedPick) -> dict[str, Any]:
    made = pick.made
    share = made.share_pct
    if share is None and made.whole is not None and pick.pickable_at_mark_kg:
        share = min(100.0, 100.0 * made.whole.kg / pick.pickable_at_mark_kg)
    return {
        "from": made.first.isoformat(),
        "to": made.last.isoformat(),
        "kg": None if made.whole is None else _kg(made.whole),
        "share_pct": maybe(share, PCT),
    }


def _wet_part(readings: Sequence[Reading]) -> dict[str, Any]:
    return {
        "scrub_pct": maybe(level_of(readings, scrub_of), PCT),
        "water_table_mm": maybe(level_of(readings, water_of), MM),
    }
