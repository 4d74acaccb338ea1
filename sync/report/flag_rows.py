"""A flag as a row of the register's document.

Rule 1: a figure is rounded by its name, whatever rule it is of; a chance stays as computed.
"""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from fieldapp.record import stamp
from sync.flags.flag import Flag, Ruling
from sync.report.rounding import BAG_KG, BAGS, DENSITY, KG, M2, MM, PCT, RATE, rounded

#: Records named in the document; all of them are counted.
_NAMED = 50
_LAG_S = _R68_M = 0.1
#: A figure's step by its name, or by how its name ends.
_STEPS = {
    "bags": BAGS, "tallied": BAGS, "lifted": BAGS, "arrived": BAGS, "dried": BAGS, "short": BAGS,
    "kg_per_bag": BAG_KG, "usual_kg": BAG_KG, "lag_s": _LAG_S,
    "r68_m": _R68_M, "apart_m": M2,
}
_ENDINGS = {"_bags": BAGS, "kg": KG, "_m2": M2, "_pct": PCT, "_mm": MM}
#: Figures in the unit that the flag names.
_IN_UNIT = ("taken", "taken_low", "taken_high", "cap")
#: What only the rule tells apart.
_OF_RULE = {
    "density_assumed": {"value": DENSITY, "sd": DENSITY},
    "growth_assumed": {"value": RATE, "sd": RATE},
}


def flag_row(flag: Flag) -> dict[str, Any]:
    """Write one flag.

    Parameters
    ----------
    flag : Flag
        At full precision.

    Returns
    -------
    dict
        All keys of the contract, in its order; the first 50 record names.
    """
    return {
        "name": flag.name,
        "rule": flag.rule,
        "about": flag.about,
        "season": flag.season,
        "cell": flag.cell,
        "why": flag.why,
        "probability": flag.probability,
        "how_sure": flag.how_sure,
        "records": list(flag.records[:_NAMED]),
        "record_count": len(flag.records),
        "ruling": None if flag.ruling is None else _ruling(flag.ruling),
        "figures": _figures(flag),
    }


def is_settled(row: Mapping[str, Any]) -> bool:
    """Say whether a ruling on a flag's row stands; else the flag is open."""
    return row["ruling"] is not None and bool(row["ruling"]["stands"])


def _ruling(ruling: Ruling) -> dict[str, Any]:
    return {
        "says": ruling.says, "note": ruling.note, "by": ruling.by, "at": stamp(ruling.at),
        "record": ruling.record, "stands": ruling.stands,
    }


def _figures(flag: Flag) -> dict[str, Any]:
    steps = dict(_OF_RULE.get(flag.rule, {}))
    if "unit" in flag.figures:
        in_kg = str(flag.figures["unit"]).startswith("kg")
        steps.update(dict.fromkeys(_IN_UNIT, KG if in_kg else BAGS))
    return {
        key: _figure(key, value, steps, None) for key, value in flag.figures.items()
    }


def _figure(key: str, value: Any, steps: Mapping[str, float], outer: float | None) -> Any:
    """Write a figure; `outer` is the step of the range it stands in."""
    if isinstance(value, datetime):
        return stamp(value)
    if isinstance(value, date):
        return value.isoformat()
    step = steps.get(key, _step(key))
    step = outer if step is None else step
    if isinstance(value, Mapping):
        return {name: _figure(name, one, steps, step) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_figure(key, one, steps, step) for one in value]
    if isinstance(value, float) and step is not None:
        return rounded(value, step)
    return value


def _step(key: str) -> float | None:
    if key in _STEPS:
        return _STEPS[key]
    return next((step for ending, step in _ENDINGS.items() if key.endswith(ending)), None)
