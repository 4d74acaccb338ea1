"""The register's cells as CSV (RFC 4180), safe to open in a spreadsheet.

Rule 1: the columns are the same for every register, whatever is null in it.
"""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

#: A text that begins so would be run as a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_RANGE = ("value", "low", "high")
#: Keys of a cell row in the contract's order, each with the keys inside it.
_COLUMNS: Mapping[str, tuple[str, ...]] = {
    "cell": (), "area_ha": (), "open_ha": (), "ground_class": (), "state": (), "why": (),
    "quadrats": (), "by_eye": (), "clips": (), "surveyed_on": (), "crop_basis": (),
    "crop_forecast": (), "cover_pct": _RANGE, "depth_mm": _RANGE,
    "standing_crop_t_ha": _RANGE, "standing_crop_kg": _RANGE, "pickable_crop_kg": (),
    "rested_crop_kg": (), "sustainable_pct": (), "binds": (), "must_stay_kg": (),
    "may_take_kg": (), "left_kg": (),
    "last_picked": ("from", "to", "kg_value", "kg_low", "kg_high", "share_pct"),
    "rest_ends": (), "next": ("on", "kg"), "picked_kg": _RANGE, "picked_pct_of_may_take": (),
    "complete": (), "scrub_pct": (), "water_table_mm": (),
}


def flat(row: Mapping[str, Any]) -> dict[str, Any]:
    """Lay a row's nested values side by side: `standing_crop_kg_low` and so on.

    Parameters
    ----------
    row : mapping
        A cell row of the document.

    Returns
    -------
    dict
        Plain values, the same keys for every row; those within a null are null.
    """
    laid = _laid(row)
    return {column: laid.get(column) for column in flat_columns()}


def flat_columns() -> list[str]:
    """Give the names of a flat row's values, in order."""
    return [
        f"{key}_{name}" if name else key
        for key, inner in _COLUMNS.items() for name in inner or ("",)
    ]


def _laid(row: Mapping[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in row.items():
        if isinstance(value, Mapping):
            found.update({f"{key}_{name}": one for name, one in _laid(value).items()})
        else:
            found[key] = value
    return found


def register_csv(document: Mapping[str, Any]) -> str:
    """Write one line a cell.

    Parameters
    ----------
    document : mapping
        The register's document.

    Returns
    -------
    str
        Header and rows, lines ended by CR LF; null is an empty field, truth `true` or `false`.

    References
    ----------
    .. [1] RFC 4180, *Common Format and MIME Type for CSV Files*, 2005, section 2.
    """
    return csv_text(flat_columns(), (flat(row) for row in document["cells"]))


def csv_text(columns: Sequence[str], rows: Iterable[Mapping[str, Any]]) -> str:
    """Write rows as CSV that a spreadsheet opens and takes for no formula.

    Parameters
    ----------
    columns : sequence of str
        Names of the values, in order.
    rows : iterable of mapping
        The values by name, every column in each.

    Returns
    -------
    str
        As `register_csv`.
    """
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(columns), lineterminator="\r\n")
    writer.writeheader()
    for row in rows:
        writer.writerow({key: _field(value) for key, value in row.items()})
    return out.getvalue()


def _field(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str) and value.startswith(_FORMULA):
        return "'" + value
    return value
