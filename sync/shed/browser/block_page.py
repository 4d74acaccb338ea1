"""S1, the block: totals, map, key and the table of cells.

Rule 1: filters and order change what of the table is shown, never a figure.
"""

import dataclasses
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from sync.report.csv_rows import register_csv
from sync.report.map import block_map, map_key
from sync.report.map_frame import Size
from sync.report.map_layers import LayerName, layer_of
from sync.report.map_words import Number, open_flags
from sync.shed.browser.page import Page, page_of, show
from sync.shed.doors import Visit
from sync.shed.rebuild import View
from sync.shed.words import STATE_WORDS, ShedWords, message

_NUMBERS: Mapping[Number, str] = MappingProxyType({
    "none": message("none"), "kg": message("kg"), "picked_pct": message("picked %"),
    "rest_ends": message("rest ends"), "scrub": message("scrub %"),
    "water": message("water table mm")})
#: What the map may be of.
_LAYERS: Mapping[LayerName, str] = MappingProxyType({
    "scrub": message("scrub"), "scrub_change": message("change of scrub"),
    "water": message("water"), "water_change": message("change of water"),
    "work": message("work done"), "rested": message("crop come back")})
_SIZES: Mapping[Size, str] = MappingProxyType({
    "block": message("block"), "half": message("half"), "cells": message("cells")})
#: Columns of the table: key, head, whether a number.
_COLUMNS = (
    ("cell", message("cell"), False), ("state", message("state"), False),
    ("class", message("class"), False), ("area", message("open ha"), True),
    ("crop", message("t/ha (range)"), True), ("take", message("may take kg"), True),
    ("left", message("left kg"), True), ("ends", message("rest ends"), True),
)
_ABOUT = ("number", "layer", "size", "state", "class", "sort", "down")


@dataclasses.dataclass(frozen=True)
class Total:
    """One figure of the block: its name, value with unit, and range."""

    name: str
    value: str
    spread: str


async def block(visit: Visit) -> Response:
    """Show the block."""
    page = await page_of(visit)
    if page.view is None:
        return await show(page, "block.html")
    more = await run_in_threadpool(_more, page, page.view)
    return await show(page, "block.html", **more)


async def block_csv(visit: Visit) -> Response:
    """Give the cells as CSV."""
    page = await page_of(visit)
    if page.view is None:
        return RedirectResponse("/block", 303)
    name = f"cells-{page.view.register.on.isoformat()}.csv"
    return Response(register_csv(page.view.document), media_type="text/csv; charset=utf-8",
                    headers={"Content-Disposition": f'attachment; filename="{name}"'})


async def compute(visit: Visit) -> Response:
    """Begin to work the register out again."""
    visit.shed.rebuilder.ask()
    return RedirectResponse(visit.back, 303)


def _more(page: Page, view: View) -> dict[str, Any]:
    words = page.words
    document = view.document
    asked = {key: page.visit.request.query_params.get(key, "") for key in _ABOUT}
    number: Number = next((key for key in _NUMBERS if key == asked["number"]), "none")
    size: Size = next((key for key in _SIZES if key == asked["size"]), "block")
    name: LayerName | None = next((key for key in _LAYERS if key == asked["layer"]), None)
    layer = None if name is None else layer_of(name, view.register, document, view.watched)
    return {
        "layers": [("", words("states")), *((key, words(said)) for key, said in _LAYERS.items())],
        "layer": name or "",
        "shown": None if layer is None else (words(layer.title), words(layer.caption)),
        "totals": block_totals(document, words),
        "not_surveyed_ha": document["block"]["open_ha"] - document["block"]["surveyed_ha"],
        "numbers": [(key, words(name)) for key, name in _NUMBERS.items()], "number": number,
        "sizes": [(key, words(name), _link(page, asked, size=key))
                  for key, name in _SIZES.items()],
        "size": size, "kept": _hidden(page, asked, {"number", "layer"}),
        "kept_by_table": _hidden(page, asked, {"state", "class"}),
        "map": block_map(view.register, document, number=number, layer=layer, size=size,
                         href=page.cell, say=words.on_map),
        "key_lines": map_key(document, layer=layer, say=words.on_map),
        "states": [(key, words(name)) for key, name in STATE_WORDS.items()],
        "state": asked["state"], "ground_class": asked["class"],
        "classes": sorted({row["ground_class"] for row in document["cells"]}),
        "heads": _heads(page, asked), "rows": _rows(page, document, asked),
        "csv": page.link("/block.csv"),
    }


def block_totals(document: Mapping[str, Any], words: ShedWords) -> list[Total]:
    """Give the block's figures for the top of the page.

    Parameters
    ----------
    document : mapping
        The register's document.
    words : ShedWords
        The language.

    Returns
    -------
    list of Total
        Standing crop, may take, long run, growth, then each permit.
    """
    block = document["block"]
    crop, growth = block["standing_crop_t"], block["growth_rate"]
    assumed = words("assumed") if growth["assumed"] else words("measured")
    totals = [
        Total(words("Standing crop"),
              _t(words, crop and crop["value"]),
              "" if crop is None else f"{words.spread(crop, 1)} t"),
        Total(words("May be taken now"), _t(words, block["may_take_t"]), ""),
        Total(words("In the long run, a year"), _t(words, block["long_run_yearly_t"]), ""),
        Total(words("Growth rate, a year"), words.number(growth["value"], 2),
              f"± {words.number(growth['sd'], 2)} ({assumed})"),
    ]
    for permit in document["permits"]:
        unit = words((permit["cap_unit"] or "").replace("_", " "))
        totals.append(Total(
            words("Permit {name}: left", name=permit["permit"]),
            f"{words.number(permit['left'])} {unit}".strip(),
            words("of {cap}", cap=f"{words.number(permit['cap'])} {unit}".strip())))
    return totals


def _t(words: ShedWords, value: float | None) -> str:
    return words.number(value, 1) + ("" if value is None else " t")


def _link(page: Page, asked: Mapping[str, str], **changed: str) -> str:
    return page.link("/block", **{**asked, **changed})


def _hidden(page: Page, asked: Mapping[str, str], own: set[str]) -> list[tuple[str, str]]:
    """Give what a form keeps of the address, apart from its own fields."""
    kept = [(key, value) for key, value in asked.items() if value and key not in own]
    return kept if page.on is None else [*kept, ("on", page.on.isoformat())]


def _heads(page: Page, asked: Mapping[str, str]) -> list[dict[str, Any]]:
    heads = []
    for key, name, number in _COLUMNS:
        here = (asked["sort"] or "cell") == key
        down = here and not asked["down"]
        heads.append({
            "name": page.words(name), "number": number,
            "sorted": ("descending" if asked["down"] else "ascending") if here else "",
            "href": _link(page, asked, sort=key, down="1" if down else "") + "#cells",
        })
    return heads


def _rows(
    page: Page, document: Mapping[str, Any], asked: Mapping[str, str]
) -> list[dict[str, Any]]:
    flagged = set(open_flags(document))
    kept = [(place, row) for place, row in enumerate(document["cells"])
            if asked["state"] in {"", row["state"]}
            and asked["class"] in {"", row["ground_class"]}]
    key = asked["sort"] or "cell"
    known = [pair for pair in kept if _sort_key(pair, key) is not None]
    unknown = [pair for pair in kept if _sort_key(pair, key) is None]
    known.sort(key=lambda pair: _sort_key(pair, key), reverse=bool(asked["down"]))
    return [_row(page, row, flagged) for _, row in (*known, *unknown)]


def _sort_key(pair: tuple[int, Mapping[str, Any]], key: str) -> Any:
    place, row = pair
    crop = row["standing_crop_t_ha"]
    return {
        "cell": place, "state": row["state"], "class": row["ground_class"],
        "area": row["open_ha"], "crop": crop and crop["value"], "take": row["may_take_kg"],
        "left": row["left_kg"], "ends": row["rest_ends"],
    }.get(key, place)


def _row(page: Page, row: Mapping[str, Any], flagged: set[str]) -> dict[str, Any]:
    words = page.words
    crop = row["standing_crop_t_ha"]
    said = "–" if crop is None else (
        f"{words.number(crop['value'], 1)} ({words.spread(crop, 1)})")
    return {
        "cell": row["cell"], "href": page.cell(row["cell"]), "flags": row["cell"] in flagged,
        "boxes": (
            words.state(row["state"]), row["ground_class"], words.number(row["open_ha"], 2), said,
            words.number(row["may_take_kg"]), words.number(row["left_kg"]),
            words.day(row["rest_ends"]),
        ),
    }
