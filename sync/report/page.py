"""The report as one page that needs nothing else: for a council, a landowner, a statistician.

Rule 1: it shows the register's document and works nothing out.
Rule 2: whatever people typed is escaped.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from jinja2 import Environment, StrictUndefined

from sync.register.doubts import Doubt
from sync.report.page_template import PAGE
from sync.report.table import block_facts, register_table

_NONE = "–"
#: What a reader has to know of every figure, whatever the block.
HOW = (
    ("A quadrat's index is its cover times the mean depth of its sound strand, in litres of solid "
     "moss on a square metre; what a reader sees is mended by second readings where there are "
     "any."),
    ("A cell's index is the mean of its own quadrats drawn towards its class, the more the fewer "
    "they are; a cell nobody measured has the class mean and the range of a cell about it."),
    ("Crop is open ground × density × index. Density comes from dried clips and, where they are "
    "few, from an assumed level; what it leaves unknown is shared by all cells."),
    ("Between surveys a picked cell grows back towards its rested crop and never past it; a new "
    "survey is weighed against that forecast."),
    ("What may be taken is the least of what comes back in the rest period with 3 chances in 4, "
    "what the share kept and the living layer leave, and what a permit allows."),
    "`fallow why` tells the sums behind every figure of a cell, with the names of the records.",
)


def report_page(document: Mapping[str, Any], doubts: Sequence[Doubt]) -> str:
    """Write the report.

    Parameters
    ----------
    document : mapping
        The register's document.
    doubts : sequence of Doubt
        What the data say against the assumptions.

    Returns
    -------
    str
        HTML, complete.
    """
    page = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, keep_trailing_newline=True,
    ).from_string(PAGE)
    return page.render(
        block=document["block"], on=document["on"], known_by=document["known_by"],
        totals=block_facts(document), doubts=[_capital(one.what) for one in doubts],
        classes=[_class(row) for row in document["classes"]],
        flags=[_flag(flag) for flag in document["flags"]], cells=register_table(document),
        how=HOW, sums=document["made_of"],
    )


def _class(row: Mapping[str, Any]) -> dict[str, str]:
    return {
        "name": row["ground_class"], "cells": str(row["cell_count"]),
        "open_ha": f"{row['open_ha']:.2f}", "quadrats": str(row["quadrats"]),
        "clips": str(row["clips"]), "index": _range(row["mean_index"], 1),
        "crop": _range(row["standing_crop_t_ha"], 2), "estimator": row["estimator"],
        "why": row["why"],
    }


def _range(found: Mapping[str, Any] | None, places: int) -> str:
    if found is None:
        return _NONE
    return (f"{found['value']:.{places}f} ({found['low']:.{places}f}–"
            f"{found['high']:.{places}f})")


def _flag(flag: Mapping[str, Any]) -> dict[str, str]:
    ruling = flag["ruling"]
    said = "open"
    if ruling is not None:
        stands = "" if ruling["stands"] else " (it has changed since: open again)"
        note = f", {ruling['note']}" if ruling["note"] else ""
        said = f"{ruling['says']} by {ruling['by']}{note}{stands}"
    return {"name": flag["name"], "how_sure": flag["how_sure"],
            "why": _capital(flag["why"]), "ruling": said}


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
