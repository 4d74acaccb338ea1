"""SEASONS on the page Plan, and the same alone to be printed: which cells in which season.

Rule 1: it shows what `fallow seasons` works out; the form says the wishes in words.
Rule 2: what cannot be read is said beside what was typed, and nothing is worked out.
"""

from collections.abc import Mapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from sync.errors import SettingsError
from sync.plan.seasons import Season, SeasonPlan, wishes_fit
from sync.plan.wishes import MOST_SEASONS, Wishes
from sync.report.seasons_rows import MEASURE_FIRST, MOST_COLUMNS, sum_rows
from sync.shed.browser.page import Page, page_of, show
from sync.shed.browser.seasons_form import fixed_words, typed_of, wishes_of
from sync.shed.doors import Visit
from sync.shed.rebuild import View
from sync.shed.seasons_desk import LIMIT_S, Made
from sync.shed.words import ShedWords, message

_SUMS = {"sum t": message("sum, t"), "90 % t": message("range, t"),
         "before t": message("picked before, t"), "cap t": message("cap leaves, t")}
#: What is said of a plan by how it was solved.
_SOLVED = {
    "optimal": message("No other plan is better by more than {gap} %."),
    "limit": message("Time ran out: another plan may be better, at most by {gap} %."),
    "infeasible": message("No plan keeps all these rules."),
    "nothing": message("Time ran out before a plan was found: ask for less."),
}
#: ... and of one whose search was cut off by time.
_IN_TURNS = message("So many cells are searched in turns cut off by time: another run may give "
                    "another plan, none better than this by more than {gap} %.")


async def seasons(visit: Visit) -> Response:
    """Show the seasons alone, to be printed."""
    page = await page_of(visit)
    if page.view is None:
        return await show(page, "seasons.html")
    part = await run_in_threadpool(seasons_part, page, page.view)
    return await show(page, "seasons.html", seasons=part)


async def plan_again(visit: Visit) -> Response:
    """Take the wishes and have the seasons worked out."""
    page = await page_of(visit)
    if page.view is None:
        return RedirectResponse(page.link("/plan"), 303)
    typed = {key: visit.said(key)[:400] for key in typed_of(Wishes())}
    wishes, wrong = wishes_of(page.words, typed)
    if wishes is not None:
        try:
            await run_in_threadpool(wishes_fit, page.view.register, wishes)
        except SettingsError as failure:
            wrong = list(failure.mistakes)
    if wrong or wishes is None:
        part = await run_in_threadpool(
            seasons_part, page, page.view, typed=typed, wrong=wrong)
        return await show(page, "seasons.html", status=422, seasons=part)
    visit.shed.seasons.ask(page.view, wishes)
    return RedirectResponse(page.link(
        "/plan/seasons" if visit.said("alone") else "/plan") + "#seasons", 303)


def seasons_part(
    page: Page, view: View, *, typed: Mapping[str, str] | None = None,
    wrong: list[str] | None = None,
) -> dict[str, Any]:
    """Give what the section of seasons shows.

    Parameters
    ----------
    page : Page
        Its words and links.
    view : View
        The register of the page.
    typed : mapping, optional
        What stands in the form; as asked last if left out.
    wrong : list of str, optional
        What could not be read of it.

    Returns
    -------
    dict
        Sentences, a table, the form.
    """
    words, state = page.words, page.visit.shed.seasons.state()
    asked = state.busy or (state.made.plan.wishes if state.made else Wishes())
    part: dict[str, Any] = {
        "alone": page.link("/plan/seasons"), "send": page.link("/plan/seasons"),
        "again": page.link("/plan") + "#seasons", "back": page.link("/plan"),
        "form": typed or typed_of(asked), "most": MOST_SEASONS,
        "wrong": wrong or [], "failed": state.wrong, "busy": state.busy is not None,
        "limit": words.number(LIMIT_S), "made": state.made is not None,
        "said": [], "clash": [], "table": None, "mind": [], "idle": [],
    }
    return part if state.made is None else part | _made(page, view, state.made)


def _made(page: Page, view: View, made: Made) -> dict[str, Any]:
    words, plan = page.words, made.plan
    drawn = plan.status in {"optimal", "limit"}
    return {
        "said": _said(words, plan, view, made.view), "clash": list(plan.clash),
        "table": _table(page, plan) if plan.picks else None,
        "mind": _mind(words, plan) if drawn else [], "idle": _idle(plan) if drawn else [],
    }


def _said(words: ShedWords, plan: SeasonPlan, view: View, by: View) -> list[str]:
    first, last = plan.seasons[0].span, plan.seasons[-1].span
    said = [words("Seasons {first} to {last}, by the register of {day}.",
                  first=str(first.season), last=str(last.season), day=words.day(plan.on)),
            words(_SOLVED[plan.status], gap=_gap(words, plan))]
    if plan.in_turns and plan.gap is not None:
        said.append(words(_IN_TURNS, gap=_gap(words, plan)))
    if by.mark != view.mark or by.register.on != view.register.on:
        said.append(words("The register has changed since: compute again."))
    if plan.status in {"optimal", "limit"} and not plan.picks:
        said.append(words("Nothing can be picked in these seasons by what is known."))
    return [*said, *_asked(words, plan.wishes)]


def _gap(words: ShedWords, plan: SeasonPlan) -> str:
    return words.number(100.0 * (plan.gap or 0.0), 1)


def _asked(words: ShedWords, wishes: Wishes) -> list[str]:
    said = []
    if wishes.even_pct is not None:
        said.append(words("Every season near the mean of all, within {pct} %.",
                          pct=words.number(wishes.even_pct, 1)))
    if wishes.at_least_t is not None:
        said.append(words("At least {t} t a season.", t=words.number(wishes.at_least_t, 1)))
    if wishes.no_neighbours:
        said.append(words("No two neighbours in one season."))
    if wishes.fixed:
        said.append(words("Fixed: {cells}.", cells=fixed_words(wishes)))
    if wishes.never:
        said.append(words("Never: {cells}.", cells=", ".join(wishes.never)))
    if wishes.with_unsurveyed:
        said.append(words("Cells nobody measured count by their class from the second season on."))
    return said


def _mind(words: ShedWords, plan: SeasonPlan) -> list[str]:
    said = []
    if any(pick.measure_first for pick in plan.picks):
        said.append(words("{m} = measure first: a cell gets one pick on a forecast, and the next "
                          "only on a survey.", m=MEASURE_FIRST))
    if plan.picks:
        said.append(words("kg shed-dry, by what is known. What the same picks would give if crop "
                          "and growth were known lies within the range nine times in ten."))
    said += [words("The cap of permit {permit} cannot be had in kg from the records; it is left "
                   "out.", permit=name) for name in plan.untold_caps]
    if plan.without_permit:
        said.append(words("No permit is in force in season {seasons}: nothing is planned there.",
                          seasons=", ".join(str(one) for one in plan.without_permit)))
    if plan.could_open_kg and not plan.wishes.with_unsurveyed:
        said.append(words("{n} cells nobody measured are not planned: a survey would open about "
                          "{t} t a pick, by their class's values.", n=len(plan.could_open_kg),
                          t=words.number(sum(plan.could_open_kg.values()) / 1000.0, 1)))
    return said


def _idle(plan: SeasonPlan) -> list[tuple[str, str]]:
    """Give why cells are not planned, and which; those nobody measured are told as a sum."""
    by_why: dict[str, list[str]] = {}
    for cell, why in plan.idle.items():
        if why != "unsurveyed":
            by_why.setdefault(why, []).append(cell)
    return [(why, ", ".join(cells)) for why, cells in by_why.items()]


def _table(page: Page, plan: SeasonPlan) -> dict[str, Any]:
    """Give a row a cell and a column a season, beyond so many seasons a row a season."""
    if len(plan.seasons) <= MOST_COLUMNS:
        return _by_cell(page, plan)
    words = page.words
    rows = []
    for one in plan.seasons:
        picks = [{"cell": p.cell, "href": page.cell(p.cell),
                  "kg": words.number(p.kg) + (MEASURE_FIRST if p.measure_first else "")}
                 for p in plan.picks if p.season == one.span.season]
        rows.append({"href": "", "name": str(one.span.season), "picks": picks, "boxes": [
            words.number(one.planned.kg / 1000.0, 1), _range(words, one)]})
    heads = (message("season"), message("sum, t"), message("range, t"),
             message("cells and kg"))
    return {"by_season": True, "heads": [words(one) for one in heads], "rows": rows, "sums": []}


def _by_cell(page: Page, plan: SeasonPlan) -> dict[str, Any]:
    words = page.words
    seasons = [one.span.season for one in plan.seasons]
    kept: dict[str, dict[int, str]] = {}
    for pick in plan.picks:
        mark = MEASURE_FIRST if pick.measure_first else ""
        kept.setdefault(pick.cell, {})[pick.season] = words.number(pick.kg) + mark
    classes = {pick.cell: pick.ground_class for pick in plan.picks}
    rows = [{"name": cell, "href": page.cell(cell),
             "boxes": [classes[cell], *(mine.get(one, "") for one in seasons)]}
            for cell, mine in sorted(kept.items(), key=lambda one: min(one[1]))]
    sums = [{"name": words(_SUMS.get(name, name)), "boxes": ["", *values]}
            for name, values in sum_rows(plan)]
    heads = [words("cell"), words("ground class"), *(str(one) for one in seasons)]
    return {"by_season": False, "heads": heads, "rows": rows, "sums": sums}


def _range(words: ShedWords, one: Season) -> str:
    found = {"low": one.planned.low_kg / 1000.0, "high": one.planned.high_kg / 1000.0}
    return words.spread(found, 1) if one.planned.kg > 0.0 else "–"
