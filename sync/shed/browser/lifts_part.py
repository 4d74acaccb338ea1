"""LIFTS on the page Plan, and the same alone to be printed: piles, cards to tick, what to mind.

Rule 1: it shows what `fallow lifts` works out; without a hook limit it asks for one.
Rule 2: nothing is kept: a limit typed here holds for the page that is shown.
"""

from collections.abc import Iterator, Sequence
from typing import Any
from urllib.parse import urlencode

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from sync.block import MOST_HOOK_KG
from sync.errors import SettingsError
from sync.plan.lifts.plan import plan_lifts
from sync.plan.lifts.values import Lift, LiftPlan, PileLifts
from sync.register.build import Register
from sync.report.lifts.fetch import driven_before
from sync.report.lifts.form import from_words
from sync.report.lifts.rows import place_words
from sync.report.lifts.standing import hazards_marked, piles_waiting
from sync.shed.browser.lifts_said import bags_words, mind, said
from sync.shed.browser.page import Page, page_of, show
from sync.shed.doors import Visit
from sync.shed.words import ShedWords, message

_PILES = (message("pile"), message("bags"), message("wet bag, kg"), message("weighed"),
          message("a sling"), message("lifts"), message("about kg"), message("place"))
_CARDS = (message("lift"), message("done"), message("note as"), message("from"), message("bags"),
          message("about kg"), message("95 of 100 under, kg"), message("place"))
_FETCH = (message("pile"), message("lifts"), message("by air"), message("trips"),
          message("by machine"), message("m one way"), message("over, m"),
          message("driven over before"))


async def lifts(visit: Visit) -> Response:
    """Show the lifts alone, to be printed."""
    page = await page_of(visit)
    if page.view is None:
        return await show(page, "lifts.html")
    part = await run_in_threadpool(lifts_part, page, page.view.register)
    return await show(page, "lifts.html", lifts=part)


def lifts_part(page: Page, register: Register) -> dict[str, Any]:
    """Give what the section of lifts shows.

    Parameters
    ----------
    page : Page
        Its words, and the hook limit that its address may name.
    register : Register
        Of the page's day.

    Returns
    -------
    dict
        Sentences, tables, and the address of the page that shows them alone.
    """
    words, typed = page.words, page.visit.request.query_params.get("limit_kg", "")
    limit = _limit_of(typed)
    wrong = [] if limit is not None or not typed.strip() else [
        words("“{limit}” is no hook limit: write kg, above 0 and at most {most}",
              limit=typed[:20], most=words.number(MOST_HOOK_KG))]
    piles = piles_waiting(register)
    part: dict[str, Any] = {
        "alone": page.link("/plan/lifts", limit_kg=typed if limit is not None else ""),
        "back": page.link("/plan"), "limit": "", "on": register.on.isoformat(),
        "wrong": wrong, "said": [], "mind": [], "piles": None, "cards": None, "fetch": None,
        "bags": bool(piles),
    }
    try:
        plan = plan_lifts(register, piles, hazards_marked(register), limit_kg=limit)
    except SettingsError:
        part["wrong"] = [*wrong, words("No hook limit is known: write it here, or in block.toml "
                                       "under [lifts] as hook_limit_kg.")]
        part["piles"] = _table(words, _PILES[:2], [
            (one.label, bags_words(words, one.bags)) for one in piles])
        return part
    return part | _planned(words, plan)


def _limit_of(typed: str) -> float | None:
    try:
        limit = float(typed.replace(",", "."))
    except ValueError:
        return None
    return limit if 0.0 < limit <= MOST_HOOK_KG else None


def _planned(words: ShedWords, plan: LiftPlan) -> dict[str, Any]:
    return {
        "limit": f"{plan.limit_kg:g}",
        "said": list(said(words, plan)),
        "mind": list(mind(words, plan)),
        "piles": _table(words, _PILES, [_pile(words, one) for one in plan.piles]),
        "cards": _table(words, _CARDS, list(_cards(words, plan))),
        "fetch": _table(words, _FETCH, [_fetch(words, plan, one) for one in plan.piles]),
    }


def _pile(words: ShedWords, one: PileLifts) -> tuple[str, ...]:
    wet = one.wet
    return (
        one.pile.label, bags_words(words, one.pile.bags),
        "–" if wet is None else f"{words.number(wet.kg)} ± {words.number(wet.sd_kg)}",
        words.day(None if wet is None else wet.day), words.number(one.sling),
        words.number(one.lifts),
        words.number(None if wet is None else one.pile.bags * wet.kg), _place(words, one),
    )


def _cards(words: ShedWords, plan: LiftPlan) -> Iterator[tuple[str, ...]]:
    places = {(one.pile.label, one.pile.season): _place(words, one) for one in plan.piles}
    for card in plan.lifts:
        yield (str(card.number), "☐", _to_form(plan, card), from_words(card.pile.label),
               bags_words(words, card.bags), words.number(card.kg), words.number(card.most_kg),
               places[card.pile.label, card.pile.season])


def _to_form(plan: LiftPlan, card: Lift) -> Markup:
    """Lead from a card to the batch form, filled in."""
    asked = {"day": plan.on.isoformat(), "batch": card.batch, "stage": "lifted",
             "bags": f"{card.bags:g}", "from": from_words(card.pile.label)}
    return Markup('<a href="/type/batch?{}">{}</a>').format(urlencode(asked), card.batch)


def _fetch(words: ShedWords, plan: LiftPlan, one: PileLifts) -> tuple[str, ...]:
    drive = one.machine.drive
    over = ", ".join(f"{cell} {words.number(m)}" for cell, m in (drive.cells if drive else ()))
    days = ", ".join(f"{words.day(day)}: {' '.join(cells)}"
                     for day, cells in driven_before(plan, one))
    return (one.pile.label, words.number(one.lifts), words.number(one.cost),
            words.number(one.machine.trips), words.number(one.machine.cost),
            words.number(None if drive is None else drive.length_m), over or "–", days or "–")


def _place(words: ShedWords, one: PileLifts) -> str:
    return words("not known") if one.pile.place is None else place_words(one)


def _table(
    words: ShedWords, heads: tuple[str, ...], rows: Sequence[tuple[str, ...]]
) -> dict[str, Any] | None:
    return {"heads": [words(one) for one in heads], "rows": rows} if rows else None
