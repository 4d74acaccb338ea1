"""The report: for a council, a landowner, a statistician; by itself or within a page of the shed.

Rule 1: it shows register and document; all it works out is what is left of open ground once the
surveyed is taken off.
Rule 2: whatever people typed is escaped.
Rule 3: the body has no style and no script; the page by itself brings its style sheet along.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any

from markupsafe import Markup

from sync.plan.seasons import SeasonPlan
from sync.plan.watched import Watched, watched_of
from sync.register.build import Register
from sync.register.doubts import Doubt
from sync.report.map import MAP_CSS, block_map, map_key
from sync.report.map_layers import LayerName, layer_of
from sync.report.map_words import NUMBER_WORDS, Number, Say, as_it_is, day_words
from sync.report.page_css import REPORT_CSS, foot_css
from sync.report.page_flags import by_weight, flag_shown, sentence
from sync.report.page_noted import noted_by
from sync.report.page_seasons import seasons_section
from sync.report.page_template import BODY, PAGE
from sync.report.page_watched import watched_sections
from sync.report.table import Fact, block_facts, register_table
from sync.report.template import page_environment

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
    ("The command fallow why tells the sums behind every figure of a cell, with the names of the "
    "records."),
)


def report_body(
    register: Register,
    document: Mapping[str, Any],
    doubts: Sequence[Doubt],
    *,
    number: Number = "none",
    layers: Sequence[LayerName] = (),
    watched: Watched | None = None,
    seasons: SeasonPlan | None = None,
    href: Callable[[str], str] | None = None,
    prefix: str = "cell",
    say: Say = as_it_is,
) -> Markup:
    """Write the report without a page about it.

    Parameters
    ----------
    register : Register
        For the map, and who noted what.
    document : mapping
        Its document.
    doubts : sequence of Doubt
        What the data say against the assumptions.
    number : {"none", "kg", "picked_pct", "rest_ends", "scrub", "water"}
        Printed in each cell of the map.
    layers : sequence of str
        Other maps that follow that of the states.
    watched : Watched or None
        Of the register, if it is worked out already.
    seasons : SeasonPlan or None
        Of the register, if one is wanted in it.
    href : callable or None
        Gives the link of a cell; without it the map leads to the rows of the table of cells.
    prefix : str
        Of the ids of those rows.
    say : callable
        Gives a fixed sentence or word in the page's language; the reasons that the register
        itself gives stay as they are.

    Returns
    -------
    Markup
        One `<div class="report">`, to be styled by `REPORT_CSS` and `MAP_CSS`.
    """
    watched = watched or watched_of(register)
    to_cell = href or (lambda cell: f"#{prefix}-{cell}")
    return Markup(page_environment().from_string(BODY).render(
        block=document["block"], day=day_words(document["on"], say),
        known_by=document["known_by"], say=say, href=to_cell, prefix=prefix,
        linked=href is not None, key=map_key(document, say=say),
        map=block_map(register, document, number=number, href=to_cell, say=say),
        number_words="" if number == "none" else say(NUMBER_WORDS[number]),
        totals=_totals(document, say), doubts=[sentence(one.what) for one in doubts],
        classes=[_class(row) for row in document["classes"]],
        flags=[flag_shown(one, register.block.zone, say)
               for one in by_weight(document["flags"])],
        cells=register_table(document), noted=noted_by(register), how=HOW,
        watched=[*watched_sections(register, watched),
                 *([seasons_section(seasons, document["block"]["name"])] if seasons else [])],
        layers=[_layer(one, register, document, watched, to_cell, say) for one in layers],
        sums=document["made_of"],
    ))


def report_page(
    register: Register,
    document: Mapping[str, Any],
    doubts: Sequence[Doubt],
    *,
    number: Number = "none",
    layers: Sequence[LayerName] = (),
    seasons: SeasonPlan | None = None,
    made_on: date | None = None,
    lang: str = "en",
    say: Say = as_it_is,
) -> str:
    """Write the report as a page that needs nothing else.

    Parameters
    ----------
    register, document, doubts, number, layers, seasons, say
        As for `report_body`.
    made_on : date or None
        Told at the foot of each printed page.
    lang : str
        Of the page.

    Returns
    -------
    str
        HTML, complete.
    """
    name, day = document["block"]["name"], day_words(document["on"], say)
    foot = say("register of {day}").format(day=day)
    title = f"{name}: {foot}"
    if made_on is not None:
        made = day_words(made_on.isoformat(), say)
        foot = " · ".join((foot, say("made on {day}").format(day=made)))
    return page_environment().from_string(PAGE).render(
        lang=lang, name=name, title=title,
        css=Markup(REPORT_CSS + MAP_CSS + foot_css(name, foot)),
        body=report_body(register, document, doubts, number=number, layers=layers,
                         seasons=seasons, say=say),
    )


def _layer(
    name: LayerName, register: Register, document: Mapping[str, Any], watched: Watched,
    href: Callable[[str], str], say: Say,
) -> dict[str, Any]:
    layer = layer_of(name, register, document, watched)
    return {"title": say(layer.title), "caption": say(layer.caption),
            "key": map_key(document, layer=layer, say=say),
            "map": block_map(register, document, layer=layer, href=href, prefix=f"map-{name}",
                             say=say)}


def _totals(document: Mapping[str, Any], say: Say) -> list[Fact]:
    """Give the block's facts, and after what is surveyed what is not."""
    block = document["block"]
    left = max(0.0, block["open_ha"] - block["surveyed_ha"])
    borrowed = max(0.0, block["estimated_ha"] - block["surveyed_ha"])
    said = say("{left} ha of open ground; on {borrowed} ha the crop is borrowed from its class, "
               "{none} ha is not counted").format(
                   left=f"{left:.2f}", borrowed=f"{borrowed:.2f}",
                   none=f"{block['not_estimated_ha']:.2f}")
    facts = []
    for fact in block_facts(document):
        facts.append(fact)
        if fact.name == "surveyed":
            facts.append(Fact(say("not surveyed"), said))
    return facts


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
