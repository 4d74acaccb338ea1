"""The register as a person at the shed reads it on a terminal: plain rows, no drawing.

Rule 1: it shows the document and works nothing out.
"""

import dataclasses
from collections import Counter
from collections.abc import Mapping
from typing import Any

from sync.flags.permit import UNITS
from sync.report.flag_rows import is_settled


@dataclasses.dataclass(frozen=True)
class Shown:
    """A table: column heads, rows of text, and which columns (by number) stand to the left."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    left: frozenset[int]


_COLUMNS = ("cell", "class", "open ha", "state", "crop t", "90 % range", "sust. %", "may take kg",
            "left kg", "binds", "rest ends", "next", "flags")
#: What a narrow terminal goes without.
_SPARED = frozenset({"class", "open ha", "may take kg", "binds", "next"})
_LEFT = frozenset({"cell", "class", "state", "binds", "rest ends", "next", "flags"})
_NONE = "–"


def register_table(document: Mapping[str, Any], *, narrow: bool = False) -> Shown:
    """Give the cells as a table.

    Parameters
    ----------
    document : mapping
        The register's document.
    narrow : bool
        Leave out what a narrow terminal has no room for.

    Returns
    -------
    Shown
        One row a cell; a star where its picked kg may lack something, a ! for each flag that no
        ruling settles.
    """
    flags = Counter(
        flag["cell"] for flag in document["flags"]
        if flag["cell"] and not is_settled(flag)
    )
    kept = [i for i, name in enumerate(_COLUMNS) if not (narrow and name in _SPARED)]
    rows = [_row(row, flags) for row in document["cells"]]
    return Shown(
        tuple(_COLUMNS[i] for i in kept),
        tuple(tuple(row[i] for i in kept) for row in rows),
        frozenset(place for place, i in enumerate(kept) if _COLUMNS[i] in _LEFT),
    )


def _row(row: Mapping[str, Any], flags: Mapping[str, int]) -> tuple[str, ...]:
    crop = row["standing_crop_kg"]
    return (
        row["cell"],
        row["ground_class"],
        f"{row['open_ha']:.2f}",
        row["state"] + ("" if row["complete"] else " *"),
        _NONE if crop is None else f"{crop['value'] / 1000:.1f}",
        _NONE if crop is None else f"{crop['low'] / 1000:.1f}–{crop['high'] / 1000:.1f}",
        _number(row["sustainable_pct"], 1),
        _number(row["may_take_kg"], 0),
        _number(row["left_kg"], 0),
        row["binds"] or _NONE,
        row["rest_ends"] or _NONE,
        _next(row),
        "!" * flags.get(row["cell"], 0),
    )


def _next(row: Mapping[str, Any]) -> str:
    """Say from when it may be picked by what is known; of a ready cell that is now."""
    return _NONE if row["next"] is None or row["state"] == "ready" else str(row["next"]["on"])


def _number(value: float | None, places: int) -> str:
    return _NONE if value is None else f"{value:,.{places}f}"


@dataclasses.dataclass(frozen=True)
class Fact:
    """One figure of the block: what it is of, and what is said of it."""

    name: str
    said: str


def block_facts(document: Mapping[str, Any]) -> list[Fact]:
    """Say the block's figures, ground first.

    Parameters
    ----------
    document : mapping
        The register's document.

    Returns
    -------
    list of Fact
        Permits last.
    """
    block = document["block"]
    states = Counter(row["state"] for row in document["cells"])
    growth = block["growth_rate"]
    return [
        Fact("ground", f"{block['open_ha']:.2f} ha open of {block['area_ha']:.2f} ha in "
             f"{block['cell_count']} cells"),
        Fact("cells", ", ".join(f"{states[s]} {s}" for s in
                                ("ready", "taken", "resting", "unsurveyed", "closed")
                                if states[s])),
        Fact("surveyed", f"{block['surveyed_ha']:.2f} ha, estimated {block['estimated_ha']:.2f} "
             f"ha, not estimated {block['not_estimated_ha']:.2f} ha"),
        Fact("standing crop", f"{_range(block['standing_crop_t'])} t shed-dry"),
        Fact("may take now", f"{_number(block['may_take_t'], 1)} t{_of_cells(document)}; in the "
             f"long run {_number(block['long_run_yearly_t'], 1)} t a year"),
        Fact("growth", f"{growth['value']:.2f} ± {growth['sd']:.2f} a year"
             + (" (assumed)" if growth["assumed"] else "")),
        Fact("density kg/m³", ", ".join(
            f"{name} {d['value']:.1f} ± {d['sd']:.1f} ({d['clips']} clips)"
            for name, d in block["densities"].items())),
        Fact("kg a bag", ", ".join(
            f"{name} {b['value']:.1f} ± {b['sd']:.1f} ({b['lots']} lots)"
            for name, b in block["kg_per_bag"].items())),
        *(_permit(permit) for permit in document["permits"]),
    ]


#: Said with a colon on a terminal, for what follows is a list.
_LISTS = frozenset({"cells", "density kg/m³", "kg a bag"})


def block_lines(document: Mapping[str, Any]) -> list[str]:
    """Say the block's figures, a line each.

    Parameters
    ----------
    document : mapping
        The register's document.

    Returns
    -------
    list of str
        For the head of the page.
    """
    ground, *facts = block_facts(document)
    head = f"{document['block']['name']} on {document['on']}: {ground.said}"
    lines = [f"{one.name}{':' if one.name in _LISTS else ''} {one.said}" for one in facts]
    return [head, *lines, *(_class_line(row) for row in document["classes"]
                            if row["standing_crop_t_ha"] is not None)]


def _class_line(row: Mapping[str, Any]) -> str:
    return (
        f"{row['ground_class']} at rest: {_range(row['mean_index'])} L/m², "
        f"{_range(row['standing_crop_t_ha'], 2)} t/ha by {row['estimator']}"
    )


def _permit(permit: Mapping[str, Any]) -> Fact:
    return Fact("permit", (
        f"{permit['permit']} from {permit['year']['from']}: taken "
        f"{_range(permit['taken'], 0)} of {_number(permit['cap'], 0)} "
        f"{UNITS.get(permit['cap_unit'], '')}, left {_number(permit['left'], 0)}"
    ))


def _range(found: Mapping[str, Any] | None, places: int = 1) -> str:
    if found is None:
        return _NONE
    return (f"{found['value']:,.{places}f} (90 % {found['low']:,.{places}f} to "
            f"{found['high']:,.{places}f})")


def _of_cells(document: Mapping[str, Any]) -> str:
    """Say what the cells still have, where a permit's cap leaves less of it for all."""
    left_t = sum(row["left_kg"] or 0 for row in document["cells"]) / 1000
    may_take_t = document["block"]["may_take_t"]
    if may_take_t is None or left_t <= may_take_t + 0.1:
        return ""
    return f" ({left_t:,.1f} t left in the cells, a permit's cap binds)"
