"""What a plan of lifts says in sentences: the safety line first, then what it rests on.

Rule 1: the pilot decides; nothing here says that a load is safe.
Rule 2: what is missing is said with what to do about it.
"""

from collections.abc import Sequence
from datetime import date

from sync.block import season_of
from sync.picks.lift import load_kg
from sync.plan.lifts.values import LiftPlan, PileLifts, WetBag

SAFETY = (
    "The pilot decides what flies and when. Nobody stands or walks under a load or rides on it; "
    "stand where the pilot sees you, well clear once it is hooked on, and nobody goes near a "
    "turning rotor unless waved in. A full wet bag is for two to lift. Local codes hold."
)
RECORD = (
    "Once it has flown, note each lift, at the shed under Batch or by the form that --form FILE "
    "fills in: batch (note as), stage lifted, bags, from (the pile; a label with blanks ends in "
    "|), wet_kg where the hook has a scale. The pile shrinks by it."
)
WEIGH = (
    "weigh ten bags, one by one, and note each as a batch: stage weighed, bags 1, from the "
    "pile, wet_kg (fallow form DIR batch)"
)
MOSS = (
    "A machine presses moss and peat together, and what it drove over may take years to come "
    "back: keep to one way, off resting cells, and note it as work, driven, with its cells."
)


def day_plain(day: date) -> str:
    """Write a day in English, such as 28 Jan 2026."""
    return f"{day.day} {day:%b} {day.year}"


def pile_name(plan: LiftPlan, label: str, season: int) -> str:
    """Give a pile's label, with its season where that is not the present one."""
    now = season_of(plan.on, plan.register.block.season_start)
    return label if season == now else f"{label} of {season}"


def wet_words(wet: WetBag) -> str:
    """Write a wet bag's weight, such as 88 ± 9 kg."""
    return f"{wet.kg:.0f} ± {wet.sd_kg:.0f} kg"


def head_line(plan: LiftPlan) -> str:
    """Say how much waits and how many lifts that is."""
    bags = f"{_n(plan.bags, 'bag')} on {_n(len(plan.piles), 'pile')}"
    name = f"{plan.register.block.name}, lifts of {day_plain(plan.on)}: "
    if not plan.piles:
        return name + "no bag waits on any pile."
    if not plan.lifts:
        return f"{name}{bags}."
    kg = sum(one.kg for one in plan.lifts)
    return f"{name}{bags}, {_n(len(plan.lifts), 'lift')}, about {kg / 1000.0:.1f} t wet."


def basis_lines(plan: LiftPlan) -> list[str]:
    """Say which weighing each sling rests on, with its sum."""
    whose = "asked for" if plan.limit_asked else "block.toml"
    lines = [f"Hook limit {plan.limit_kg:g} kg ({whose})."]
    told: dict[str, list[PileLifts]] = {}
    for one in plan.piles:
        if one.wet is not None:
            told.setdefault(_basis(one.wet, one.sling, plan.limit_kg), []).append(one)
    for text, piles in told.items():
        whose = f" For {_labels(piles)}." if len(told) > 1 else ""
        lines.append(text + whose + _whose_bags(plan, piles))
    return lines


def _whose_bags(plan: LiftPlan, piles: Sequence[PileLifts]) -> str:
    """Say which piles' bags were weighed, where those of some pile alone do not tell it."""
    others = [one for one in piles if one.wet is not None and not one.wet.own]
    if not others or others[0].wet is None:
        return ""
    weighed = others[0].wet.piles
    if not weighed:
        return " Of which piles the weighed bags were is not noted."
    asked = [(one.pile.label, one.pile.season) for one in others]
    named, few, none = ([pile_name(plan, *one) for one in some] for some in (
        weighed, [one for one in asked if one in weighed],
        [one for one in asked if one not in weighed]))
    return (f" The weighed bags were of {_and(named)}"
            + (f"; of {_and(few)} alone too few were weighed" if few else "")
            + (f"; of {_and(none)} none was weighed that day" if none else "") + ".")


def _and(names: Sequence[str]) -> str:
    return " and ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)


def _labels(piles: Sequence[PileLifts]) -> str:
    return ", ".join(one.pile.label for one in piles)


def _basis(wet: WetBag, sling: int | None, limit_kg: float) -> str:
    text = (f"Wet bag {wet_words(wet)}, by {_n(wet.weighings, 'weighing')} of "
            f"{_n(wet.bags, 'bag')} on {day_plain(wet.day)}")
    if wet.assumed:
        text += ", too few to tell a spread: the ± is assumed"
    if not sling:
        most = load_kg(1, wet.kg, wet.sd_kg)
        return (f"{text}. No bag may hang: 95 of 100 weigh up to {most:.0f} kg, more than the "
                f"{limit_kg:g} kg.")
    return (f"{text}. {_n(sling, 'bag')} a sling: 95 of 100 such loads weigh no more than "
            f"{load_kg(sling, wet.kg, wet.sd_kg):.0f} kg; of {sling + 1} bags it would be "
            f"{load_kg(sling + 1, wet.kg, wet.sd_kg):.0f} kg.")


def warning_lines(plan: LiftPlan) -> list[str]:
    """Say what to mind: old weighings, missing weighings and places, hazards, mixed piles."""
    lines = []
    for one in plan.piles:
        lines += _warnings(plan, one)
    old = sorted({one.wet.day for one in plan.piles
                  if one.wet is not None and _age(plan, one.wet) > _most(plan)})
    lines[:0] = [f"The weighing of {day_plain(day)} is {_n((plan.on - day).days, 'day')} old: "
                 "rain makes bags heavier. Weigh again before you load." for day in old]
    never = [one.pile.label for one in plan.piles if one.wet is None]
    if never:
        lines.insert(0, f"No bag like those of {', '.join(never)} has been weighed wet, so no "
                        f"sling can be told: {WEIGH}.")
    lines += [f"Hazard near the landing: {name}, {m:.0f} m." for name, m in plan.landing_hazards]
    return lines


def _warnings(plan: LiftPlan, one: PileLifts) -> list[str]:
    label, lines = one.pile.label, []
    if one.sling == 0:
        lines.append(f"{label}: a single bag may be over the hook limit; share bags out into "
                     "lighter ones, or ask for another hook.")
    if one.pile.place is None:
        lines.append(f"{label}: its place is not known, for nobody marked it; mark the pile on a "
                     "phone. It is counted.")
    if len(one.bag_types) > 1:
        lines.append(f"{label}: bags of more than one type lie there "
                     f"({', '.join(one.bag_types)}); the weighing is of any of them.")
    return lines + [f"{label}: hazard {name}, {m:.0f} m away." for name, m in one.hazards]


def _age(plan: LiftPlan, wet: WetBag) -> int:
    return (plan.on - wet.day).days


def _most(plan: LiftPlan) -> int:
    return plan.register.tunables.weighing_days


def _n(count: float, thing: str) -> str:
    return f"{count:g} {thing}{'' if count == 1 else 's'}"
