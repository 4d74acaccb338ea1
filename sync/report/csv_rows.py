"""The register's cells as CSV (RFC 4180), safe to open in a spreadsheet."""

import csv
import io
from collections.abc import Mapping
from typing import Any

#: A text that begins so would be run as a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def flat(row: Mapping[str, Any]) -> dict[str, Any]:
    """Lay a row's nested values side by side: `standing_crop_kg_low` and so on.

    Parameters
    ----------
    row : mapping
        A cell row of the document.

    Returns
    -------
    dict
        Plain values. A nested value that is null gives one null column of its own name.
    """
    found: dict[str, Any] = {}
    for key, value in row.items():
        if isinstance(value, Mapping):
            for name, inner in flat(value).items():
                found[f"{key}_{name}"] = inner
        else:
            found[key] = value
    return found


_NESTED: dict[str, tuple[str, ...]] = {
    "cover_pct": ("value", "low", "high"),
    "depth_mm": ("value", "low", "high"),
    "standing_crop_t_ha": ("value", "low", "high"),
    "standing_crop_kg": ("value", "low", "high"),
    "last_picked": ("from", "to", "kg_value", "kg_low", "kg_high", "share_pct"),
    "next": ("on", "kg"),
    "picked_kg": ("value", "low", "high"),
}


def register_csv(document: Mapping[str, Any]) -> str:
    """Write one line a cell.

    Parameters
    ----------
    document : mapping
        The register's document.

    Returns
    -------
    str
        Header and rows, lines ended by CR LF; null is an empty field.
    """
    columns = [
        f"{key}_{name}" if key in _NESTED else key
        for key in (document["cells"][0] if document["cells"] else ())
        for name in _NESTED.get(key, ("",))
    ]
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=columns, extrasaction="ignore", restval="")
    writer.writeheader()
    for row in document["cells"]:
        writer.writerow({key: _safe(value) for key, value in flat(row).items()})
    return out.getvalue()


def _safe(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, str) and value.startswith(_FORMULA):
        return "'" + value
    return value
