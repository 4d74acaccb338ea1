"""LIFTS on the page Plan, and the same alone to be printed: piles, cards to tick, what to mind.

Rule 1: it shows what `fallow lifts` works out; without a hook limit it asks for one.
Rule 2: nothing is kept: a limit typed here holds for the page that is shown.
"""

import dataclasses
from collections.abc import Iterator, Sequence
from typing import Any
from urllib.parse import urlencode

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from sync.errors import SettingsError
from sync.picks.lift import load_kg
from sync.plan.lifts.plan import plan_lifts
from sync.plan.lifts.values import Lift, LiftPlan, PileLifts, WetBag
from sync.register.build import Register
from sync.report.lifts.fetch import driven_before
from sync.report.lifts.form import from_words
from sync.report.lifts.rows import place_words
from sync.report.lifts.standing import hazards_marked, piles_waiting
from sync.shed.browser.page import Page, page_of, show
from sync.shed.doors import Visit
from sync.shed.words import ShedWords, message

#: No hook of a helicopter carries more. [kg]
_MOST_KG = 20_000.0
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
              limit=typed[:20], most=words.number(_MOST_KG))]
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
            (one.label, _bags(words, one.bags)) for one in piles])
        return part
    return part | _planned(words, plan)


def _limit_of(typed: str) -> float | None:
    try:
        limit = float(typed.replace(",", "."))
    except ValueError:
        return None
    return limit if 0.0 < limit <= _MOST_KG else None


def _planned(words: ShedWords, plan: LiftPlan) -> dict[str, Any]:
    return {
        "limit": f"{plan.limit_kg:g}",
        "said": [*_head(words, plan), *_basis(words, plan), *_cost(words, plan)],
        "mind": list(_mind(words, plan)),
        "piles": _table(words, _PILES, [_pile(words, one) for one in plan.piles]),
        "cards": _table(words, _CARDS, list(_cards(words, plan))),
        "fetch": _table(words, _FETCH, [_fetch(words, plan, one) for one in plan.piles]),
    }


def _head(words: ShedWords, plan: LiftPlan) -> Iterator[str]:
    t = sum(one.kg for one in plan.lifts) / 1000.0
    if plan.lifts:
        yield words("For {day}: {bags} bags on piles, {lifts} lifts, about {t} t wet.",
                    day=words.day(plan.on), bags=_bags(words, plan.bags),
                    lifts=len(plan.lifts), t=words.number(t, 1))


def _basis(words: ShedWords, plan: LiftPlan) -> Iterator[str]:
    """Say once for each weighing which sling it gives, whichever pile its bags were of."""
    known = {(dataclasses.replace(one.wet, own=True), one.sling)
             for one in plan.piles if one.wet is not None}
    for wet, sling in sorted(known, key=lambda pair: (pair[0].day, pair[0].kg)):
        yield words("A wet bag: {kg} ± {sd} kg, by {n} weighings on {day}.",
                    kg=words.number(wet.kg), sd=words.number(wet.sd_kg), n=wet.weighings,
                    day=words.day(wet.day))
        if wet.assumed:
            yield words("Too few were weighed to tell a spread: the ± is assumed.")
        yield _sling(words, wet, sling or 0, plan.limit_kg)


def _sling(words: ShedWords, wet: WetBag, sling: int, limit_kg: float) -> str:
    limit = words.number(limit_kg)
    over = words.number(load_kg(sling + 1, wet.kg, wet.sd_kg))
    if sling == 0:
        return words("A single bag may weigh {over} kg, more than the hook's {limit} kg: share "
                     "bags out into lighter ones, or ask for another hook.",
                     over=over, limit=limit)
    return words("Bags a sling under the hook's {limit} kg: {sling}; 95 of 100 such loads weigh "
                 "no more than {most} kg, one bag more would be {over} kg.", limit=limit,
                 sling=sling, most=words.number(load_kg(sling, wet.kg, wet.sd_kg)), over=over)


def _cost(words: ShedWords, plan: LiftPlan) -> Iterator[str]:
    costs = plan.register.block.costs
    known = [one.cost for one in plan.piles if one.cost is not None]
    if known:
        whole = sum(known) + (costs.lift_call_out or 0.0)
        yield words("By the owner's rates all lifts cost {cost} {unit}, the coming included.",
                    cost=words.number(whole), unit=costs.currency)


def _mind(words: ShedWords, plan: LiftPlan) -> Iterator[str]:
    for day in sorted({one.wet.day for one in plan.piles if one.wet is not None}):
        if (plan.on - day).days > plan.register.tunables.weighing_days:
            yield words("The weighing of {day} is {n} days old: rain makes bags heavier. Weigh "
                        "again before loading.", day=words.day(day), n=(plan.on - day).days)
    never = ", ".join(one.pile.label for one in plan.piles if one.wet is None)
    if never:
        yield words("No bag like those of {piles} was ever weighed wet, so no sling is told: "
                    "weigh ten bags one by one and note each as a batch.", piles=never)
    for one in plan.piles:
        if one.pile.place is None:
            yield words("{pile}: nobody marked it, so its place is not known. It is counted.",
                        pile=one.pile.label)
        if len(one.bag_types) > 1:
            yield words("{pile}: bags of more than one type lie there ({types}).",
                        pile=one.pile.label, types=", ".join(one.bag_types))
        for name, metres in one.hazards:
            yield words("{pile}: {name} is {m} m away.", pile=one.pile.label, name=name,
                        m=words.number(metres))
    for name, metres in plan.landing_hazards:
        yield words("Landing: {name} is {m} m away.", name=name, m=words.number(metres))


def _pile(words: ShedWords, one: PileLifts) -> tuple[str, ...]:
    wet = one.wet
    return (
        one.pile.label, _bags(words, one.pile.bags),
        "–" if wet is None else f"{words.number(wet.kg)} ± {words.number(wet.sd_kg)}",
        words.day(None if wet is None else wet.day), words.number(one.sling),
        words.number(one.lifts),
        words.number(None if wet is None else one.pile.bags * wet.kg), _place(words, one),
    )


def _cards(words: ShedWords, plan: LiftPlan) -> Iterator[tuple[str, ...]]:
    places = {(one.pile.label, one.pile.season): _place(words, one) for one in plan.piles}
    for card in plan.lifts:
        yield (str(card.number), "☐", _to_form(plan, card), from_words(card.pile.label),
               _bags(words, card.bags), words.number(card.kg), words.number(card.most_kg),
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


def _bags(words: ShedWords, bags: float) -> str:
    return words.number(bags, 0 if bags == int(bags) else 1)


def _table(
    words: ShedWords, heads: tuple[str, ...], rows: Sequence[tuple[str, ...]]
) -> dict[str, Any] | None:
    return {"heads": [words(one) for one in heads], "rows": rows} if rows else None
