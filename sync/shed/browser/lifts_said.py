"""What the section of lifts says in sentences, in the reader's language.

Rule 1: a weighing is told once, with the piles whose bags were weighed where others rest on it.
"""

from collections.abc import Iterator

from sync.picks.lift import load_kg
from sync.plan.lifts.values import LiftPlan, PileLifts, WetBag
from sync.shed.words import ShedWords


def said(words: ShedWords, plan: LiftPlan) -> Iterator[str]:
    """Say how much is lifted, which weighing each sling rests on, and what it costs.

    Parameters
    ----------
    words : ShedWords
        The reader's.
    plan : LiftPlan
        Whole.

    Yields
    ------
    str
        Sentences, unescaped.
    """
    yield from _head(words, plan)
    yield from _basis(words, plan)
    yield from _cost(words, plan)


def _head(words: ShedWords, plan: LiftPlan) -> Iterator[str]:
    t = sum(one.kg for one in plan.lifts) / 1000.0
    if plan.lifts:
        yield words("For {day}: {bags} bags on piles, {lifts} lifts, about {t} t wet.",
                    day=words.day(plan.on), bags=bags_words(words, plan.bags),
                    lifts=len(plan.lifts), t=words.number(t, 1))


def _basis(words: ShedWords, plan: LiftPlan) -> Iterator[str]:
    """Say once for each weighing which sling it gives, and whose bags stand in for whose."""
    told: dict[str, list[PileLifts]] = {}
    for one in plan.piles:
        if one.wet is not None:
            told.setdefault(" ".join(_weighing(words, one.wet, one.sling or 0, plan.limit_kg)),
                            []).append(one)
    for text, piles in told.items():
        yield text
        others = [one for one in piles if one.wet is not None and not one.wet.own]
        if others and others[0].wet is not None:
            weighed = ", ".join(label for label, _ in others[0].wet.piles)
            yield words("Bags of {weighed} were weighed; of {piles} too few were, or none, so "
                        "those stand in.", piles=", ".join(one.pile.label for one in others),
                        weighed=weighed or words("piles not noted"))


def _weighing(words: ShedWords, wet: WetBag, sling: int, limit_kg: float) -> Iterator[str]:
    yield words("A wet bag: {kg} ± {sd} kg, by {n} weighings on {day}.",
                kg=words.number(wet.kg), sd=words.number(wet.sd_kg), n=wet.weighings,
                day=words.day(wet.day))
    if wet.assumed:
        yield words("Too few were weighed to tell a spread: the ± is assumed.")
    yield _sling(words, wet, sling, limit_kg)


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


def mind(words: ShedWords, plan: LiftPlan) -> Iterator[str]:
    """Say what to mind: old and missing weighings, missing places, mixed piles, hazards."""
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


def bags_words(words: ShedWords, bags: float) -> str:
    """Write a number of bags; halves count."""
    return words.number(bags, 0 if bags == int(bags) else 1)
