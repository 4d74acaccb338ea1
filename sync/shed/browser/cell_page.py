"""S2, a cell: every figure with where it came from, and what happened there.

Rule 1: a figure stands beside its range, its basis and its records, or a dash.
"""

import dataclasses
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from sync.geometry.grid import cell_index
from sync.plan.works import works_of
from sync.register.build import Register
from sync.register.why import why_cell
from sync.report.map import cell_map
from sync.report.page_flags import flag_title
from sync.shed.browser.page import Page, page_of, show
from sync.shed.doors import Visit
from sync.shed.rebuild import View
from sync.shed.words import ShedWords, message

_BASIS = {"measured": message("measured"), "borrowed": message("borrowed from its class"),
          "none": message("no figure")}
BINDS = {
    "resting": message("resting"), "closed": message("closed"),
    "unsurveyed": message("not surveyed"), "regrowth": message("regrowth"),
    "living_layer": message("living layer"), "share_kept": message("share that must stay"),
    "permit": message("permit"), "taken": message("taken"),
}
#: Records named in a row; the rest are on the page of the pick.
_NAMED = 12


@dataclasses.dataclass(frozen=True)
class Fact:
    """One figure of a cell: name, value, range, where it came from, records behind it."""

    name: str
    value: str
    spread: str = ""
    basis: str = ""
    records: tuple[str, ...] = ()


@dataclasses.dataclass(frozen=True)
class Happened:
    """One thing that happened in a cell, with its records; `order` is its day."""

    order: date
    day: str
    what: str
    records: tuple[str, ...]


async def cell(visit: Visit) -> Response:
    """Show a cell."""
    page = await page_of(visit)
    name = visit.request.path_params["cell"].upper()
    if page.view is None:
        return await show(page, "cell.html")
    if name not in page.view.register.cells:
        sentence = page.words("The block has no cell {cell} on this day.", cell=name[:12])
        return await show(page, "message.html", status=404, heading=page.words("No such cell"),
                          sentence=sentence, reasons="", bad=True, back=page.link("/block"))
    more = await run_in_threadpool(_more, page, page.view, name)
    return await show(page, "cell.html", **more)


def _more(page: Page, view: View, name: str) -> dict[str, Any]:
    words, document = page.words, view.document
    row = next(one for one in document["cells"] if one["cell"] == name)
    counts = view.register.merged.counts
    return {
        "row": row, "headline": _headline(row, words),
        "facts": list(cell_facts(view.register, row, words)),
        "map": cell_map(view.register, document, name, prefix="cell", say=words.on_map),
        "neighbours": [(one, page.cell(one)) for one in _beside(view.register, name)],
        "flags": [{"title": flag_title(flag["rule"], words),
                   "href": page.link("/flags") + "#" + flag_id(flag["name"])}
                  for flag in document["flags"] if flag["cell"] == name],
        "how": why_cell(view.register, name),
        "history": sorted(_history(view.register, name, words), key=lambda one: one.order,
                          reverse=True),
        "records_of": lambda names: records_of(names, counts),
    }


def flag_id(name: str) -> str:
    """Write a flag's name as an id on its page."""
    return "flag-" + "".join(sign if sign.isalnum() else "-" for sign in name)


def records_of(
    names: Sequence[str], counts: Callable[[str], bool], *, count: int | None = None
) -> Markup:
    """Write links to the first records and how many more there are; void ones struck through."""
    parts = []
    for name in names[:_NAMED]:
        link = Markup('<a href="/record/{0}">{0}</a>').format(name)
        parts.append(link if counts(name) else Markup("<s>{}</s>").format(link))
    more = (len(names) if count is None else count) - min(len(names), _NAMED)
    if more > 0:
        parts.append(Markup("+{}").format(more))
    return Markup(" ").join(parts)


def _headline(row: Mapping[str, Any], words: ShedWords) -> str:
    if row["state"] == "resting" and row["rest_ends"]:
        return words("resting until {day}", day=words.day(row["rest_ends"]))
    return words.state(row["state"])


def cell_facts(
    register: Register, row: Mapping[str, Any], words: ShedWords
) -> Iterator[Fact]:
    """Give a cell's figures.

    Parameters
    ----------
    register : Register
        For the names of the records behind them.
    row : mapping
        The cell's, of the document.
    words : ShedWords
        The language.

    Yields
    ------
    Fact
        From the survey to what may be taken.
    """
    quadrats = tuple(r.name for r in _readings(register, row))
    measured = words("measured, {n} quadrats on {day}", n=row["quadrats"],
                     day=words.day(row["surveyed_on"])) if row["quadrats"] else ""
    yield Fact(words("cover"), _value(row["cover_pct"], "%", words),
               words.spread(row["cover_pct"]), measured, quadrats)
    yield Fact(words("depth"), _value(row["depth_mm"], "mm", words),
               words.spread(row["depth_mm"]), measured, quadrats)
    basis = words(_BASIS[row["crop_basis"]])
    if row["crop_forecast"]:
        basis += ", " + words("forecast since the last survey")
    crop = row["standing_crop_t_ha"]
    yield Fact(words("standing crop"), _value(crop, "t/ha", words, 1), words.spread(crop, 1),
               basis)
    whole = row["standing_crop_kg"]
    yield Fact(words("standing crop, whole cell"), _value(whole, "kg", words),
               words.spread(whole), basis)
    yield Fact(words("rested crop"), _of(row["rested_crop_kg"], "kg", words))
    binds = words("binds: {what}", what=words(BINDS[row["binds"]])) if row["binds"] else ""
    yield Fact(words("sustainable harvest"), _of(row["sustainable_pct"], "%", words, 1),
               basis=binds)
    yield Fact(words("may be taken"), _of(row["may_take_kg"], "kg", words), basis=binds)
    yield Fact(words("left"), _of(row["left_kg"], "kg", words))
    picked = row["picked_kg"]
    if picked is not None:
        yield Fact(words("picked in the open pick"), _value(picked, "kg", words),
                   words.spread(picked), "" if row["complete"] else words("records missing"))
    last = row["last_picked"]
    if last is not None:
        kg = last["kg"]
        yield Fact(words("last picked"), f"{words.day(last['from'])} – {words.day(last['to'])}",
                   _kg_words(kg, words), words("rest ends {day}",
                                               day=words.day(row["rest_ends"])))
    following = row["next"]
    if following is not None and row["state"] != "ready":
        yield Fact(words("next pick, by what is known"), words.day(following["on"]), "",
                   _of(following["kg"], "kg", words))
    yield Fact(words("scrub"), _of(row["scrub_pct"], "%", words))
    yield Fact(words("water table"), _of(row["water_table_mm"], "mm", words))


def _kg_words(kg: Mapping[str, Any] | None, words: ShedWords) -> str:
    """Write the kg of a pick; one that was weighed whole has no range."""
    if kg is None:
        return ""
    sure = kg["low"] == kg["high"]
    return f"{words.number(kg['value']) if sure else words.spread(kg)} kg"


def _readings(register: Register, row: Mapping[str, Any]) -> list[Any]:
    crop = register.crop.cells[row["cell"]]
    return [r.reading for r in crop.readings
            if row["surveyed_on"] and r.reading.day.isoformat() == row["surveyed_on"]]


def _value(found: Mapping[str, Any] | None, unit: str, words: ShedWords, digits: int = 0) -> str:
    return _of(None if found is None else found["value"], unit, words, digits)


def _of(value: float | None, unit: str, words: ShedWords, digits: int = 0) -> str:
    return words.number(value, digits) + ("" if value is None else f" {unit}")


def _beside(register: Register, name: str) -> list[str]:
    """Give the neighbours that are there, by column and row."""
    column, row = cell_index(name)
    return [one for one in sorted(register.cells, key=cell_index)
            if abs(cell_index(one)[0] - column) + abs(cell_index(one)[1] - row) == 1]


def _history(register: Register, name: str, words: ShedWords) -> Iterator[Happened]:
    yield from _picks(register, name, words)
    for indexed in register.crop.cells[name].readings:
        quadrat = indexed.reading
        said = words("bare: no moss") if quadrat.bare else words(
            "quadrat: cover {cover} %, depths {depths} mm",
            cover=words.number(quadrat.cover_pct),
            depths=" ".join(map(str, quadrat.depth_mm)) or "–")
        again = tuple(one.name for one in quadrat.again)
        yield Happened(quadrat.day, words.day(quadrat.day), said, (quadrat.name, *again))
    for work in works_of(register):
        if name in work.cells:
            done = words(work.seen.what.replace("_", " "))
            yield Happened(work.seen.day, words.day(work.seen.day),
                           words("work: {what}", what=done), (work.seen.name,))


def _picks(register: Register, name: str, words: ShedWords) -> Iterator[Happened]:
    for pick in register.crop.cells[name].picks:
        made = pick.made
        kg = "" if made.whole is None else f", {words.number(made.whole.kg)} kg"
        said = words("touched") if pick.touch else words("picked")
        span = words.day(made.first) if made.first == made.last else (
            f"{words.day(made.first)} – {words.day(made.last)}")
        yield Happened(made.last, span, said + kg, made.records)
