"""A flag as a row of the register's document."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from fieldapp.record import stamp
from sync.flags.flag import Flag, Ruling
from sync.report.rounding import BAGS, DENSITY, KG, M2, rounded

#: Records named in the document; all of them are counted.
_NAMED = 50
_STEPS = {"bags": BAGS, "paper_bags": BAGS, "kg": KG, "area_m2": M2, "lag_s": 0.1,
          "value": DENSITY, "sd": DENSITY}


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
        "figures": {key: _figure(key, value) for key, value in flag.figures.items()},
    }


def _ruling(ruling: Ruling) -> dict[str, Any]:
    return {
        "says": ruling.says, "note": ruling.note, "by": ruling.by, "at": stamp(ruling.at),
        "record": ruling.record, "stands": ruling.stands,
    }


def _figure(key: str, value: Any) -> Any:
    if isinstance(value, datetime):
        return stamp(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {name: _figure(name, one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_figure(key, one) for one in value]
    if isinstance(value, float) and key in _STEPS:
        return rounded(value, _STEPS[key])
    return value
