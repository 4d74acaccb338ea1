"""How a block is kept: rest, share that stays, water, scrub, and what was never touched.

Rule 1: a flag is told with how sure it is and with its ruling; nothing is softened.
Rule 2: ground that nobody noted anything on is called that, and not untouched nature.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from sync.block import rule_on
from sync.register.build import Register
from sync.register.land import Land, Median
from sync.report.flag_rows import is_settled
from sync.report.map_words import day_words
from sync.report.page_flags import RULING_WORDS
from sync.report.table import Fact

_EARLY, _OVER = 3, 3


def kept_facts(register: Register, document: Mapping[str, Any], land: Land) -> list[Fact]:
    """Tell how a block is kept.

    Parameters
    ----------
    register : Register
        For its rules.
    document : mapping
        Its document.
    land : Land
        Its figures for a landowner.

    Returns
    -------
    list of Fact
        Unescaped, in English.
    """
    return [_rules(register), _rest(document, land), _over(document), _regrown(register),
            _water(document, land.water_mm), _scrub(document, land.scrub_pct),
            *_touched(document, land)]


def _rules(register: Register) -> Fact:
    rule = rule_on(register.block.rules, register.on)
    return Fact("Rules", (
        f"After a pick a cell rests {rule.rest_months} months; {rule.keep_pct:g} % of the "
        f"pickable moss stays, and {rule.living_layer_mm:g} mm of living strand everywhere. A "
        "permit's stricter rule holds where there is one."))


def _rest(document: Mapping[str, Any], land: Land) -> Fact:
    touched = land.touched
    early = [one for one in document["flags"] if one["rule"] == "early_pick"]
    if not touched.picks and not touched.past_picks:
        return Fact("Rest kept", "Nothing has been picked that anybody noted.")
    said = [f"{_picks(touched.picks)} since records began"]
    if touched.past_picks:
        said[0] += f" and {touched.past_picks:,} before, typed in"
    said[0] += (f"; {touched.resting_cells:,} cells ({touched.resting_ha:.1f} ha) rest today.")
    if not early:
        said.append("No pick is known to have come before a rest ended.")
    else:
        said.append(f"Before a rest ended: {len(early):,}. " + "; ".join(
            _flagged(one) for one in early[:_EARLY]) + _more(early, _EARLY) + ".")
    return Fact("Rest kept", " ".join(said))


def _picks(count: int) -> str:
    return f"{count:,} pick{'' if count == 1 else 's'} of a cell"


def _flagged(flag: Mapping[str, Any]) -> str:
    figures = flag["figures"]
    return (f"{flag['cell']} on {day_words(figures['picked_from'])}, {figures['bags']:,.0f} bags, "
            f"{figures['days_early']:,} days early ({flag['how_sure']}; {_ruled(flag)})")


def _ruled(flag: Mapping[str, Any]) -> str:
    if not is_settled(flag):
        return "the owner has not ruled yet"
    return f"ruled: {RULING_WORDS[flag['ruling']['says']][1]}"


def _more(flags: Sequence[object], most: int) -> str:
    return f"; and {len(flags) - most} more" if len(flags) > most else ""


def _over(document: Mapping[str, Any]) -> Fact:
    over = [one for one in document["flags"] if one["rule"] == "over_pick"]
    if not over:
        return Fact("Not over-picked", "No pick of this season or the last is known to have taken "
                    "more than it might.")
    said = "; ".join(
        f"{one['cell']} by {one['figures']['over_kg']:,.0f} kg over "
        f"{one['figures']['may_take_kg']:,.0f} ({one['how_sure']}; {_ruled(one)})"
        for one in over[:_OVER])
    return Fact("Over-picked", f"{said}{_more(over, _OVER)}.")


def _regrown(register: Register) -> Fact:
    cells = len(register.crop.learned.regrown)
    growth = register.crop.learned.growth
    if not cells:
        return Fact("Grows back", "Not measured yet: no cell was measured again after its pick. "
                    "Until then growth is the owner's word.")
    return Fact("Grows back", (
        f"{cells} cells were measured again after a pick; with the owner's experience they say a "
        f"growth rate of {growth.rate:.2f} ± {growth.variance**0.5:.2f} a year. A cell is not "
        "picked a second time before it is measured again."))


def _water(document: Mapping[str, Any], found: Median | None) -> Fact:
    dry = sorted(one["about"] for one in document["flags"] if one["rule"] == "drying")
    said = "No water table was read." if found is None else (
        f"The water stands {_depth(found.value)} ({_of(found)}).")
    return Fact("Water", f"{said} {_named(dry, 'flagged as drying')}")


def _depth(mm: float) -> str:
    if mm > 0:
        return f"{mm:,.0f} mm above the moss surface"
    return f"{-mm:,.0f} mm below the moss surface"


def _scrub(document: Mapping[str, Any], found: Median | None) -> Fact:
    spreading = sorted(one["about"] for one in document["flags"]
                       if one["rule"] == "scrub_spreading")
    said = "No scrub was read." if found is None else (
        f"Scrub covers {found.value:.0f} % of the ground ({_of(found)}).")
    return Fact("Scrub", f"{said} {_named(spreading, 'flagged as spreading')}")


def _named(about: Sequence[str], what: str) -> str:
    return f"Nowhere {what}." if not about else f"{what.capitalize()}: {', '.join(about[:8])}."


def _of(found: Median) -> str:
    """Say what a median is of."""
    first, last = (day_words(day.isoformat()) for day in (found.first, found.last))
    span = first if first == last else f"{first} to {last}"
    return f"median of {found.cells:,} cells, each by its latest reading, {span}"


def _touched(document: Mapping[str, Any], land: Land) -> Iterator[Fact]:
    touched, block = land.touched, document["block"]
    closed = max(0.0, block["area_ha"] - block["open_ha"])
    yield Fact("Never picked", (
        f"{_share(touched.never_picked_ha, touched.open_ha)} of the open ground, as far as "
        f"anybody noted; another {closed:.1f} ha is closed to picking today."))
    yield Fact("Nothing noted", (
        f"On {_share(touched.neither_ha, touched.open_ha)} there is neither a pick nor a quadrat: "
        "nobody of ours has worked there. Moss there is estimated at best, and none of it may be "
        "picked before it is measured."))


def _share(ha: float, whole_ha: float) -> str:
    part = f" ({100 * ha / whole_ha:.0f} %)" if whole_ha > 0 else ""
    return f"{ha:.1f} ha{part}"


def open_questions(document: Mapping[str, Any]) -> Iterator[str]:
    """Say what the register itself calls assumed."""
    for one in document["flags"]:
        if one["rule"] in {"growth_assumed", "density_assumed"}:
            yield one["why"]
