"""What a block yields, earns and asks for in work, in plain words with ranges.

Rule 1: what a permit allows holds earnings and work down; the ground's own figure stands beside.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from sync.flags.permit import UNITS
from sync.register.land import Land
from sync.report.land.money import Rates, Triple, earning, missing
from sync.report.map_words import day_words
from sync.report.table import Fact

_NOT_KNOWN = "Not known yet"


def yield_facts(document: Mapping[str, Any], land: Land, rates: Rates | None) -> list[Fact]:
    """Tell what a block yields.

    Parameters
    ----------
    document : mapping
        The register's document.
    land : Land
        Its figures for a landowner.
    rates : Rates or None
        The owner's; None where none are written down.

    Returns
    -------
    list of Fact
        Unescaped, in English.
    """
    return [_ground(document), _standing(document), *_yearly(land), *_permits(document),
            *_earns(document, land, rates or Rates("", None, None)), *_work(document, land)]


def _ground(document: Mapping[str, Any]) -> Fact:
    block = document["block"]
    borrowed = max(0.0, block["estimated_ha"] - block["surveyed_ha"])
    said = (f"{block['area_ha']:.1f} ha, {block['open_ha']:.1f} ha of it open to picking in "
            f"principle. Moss measured on {block['surveyed_ha']:.1f} ha")
    if borrowed >= 0.05:
        said += f"; on {borrowed:.1f} ha estimated from like ground"
    if block["not_estimated_ha"] >= 0.05:
        said += f"; on {block['not_estimated_ha']:.1f} ha nothing is known and nothing is counted"
    return Fact("Ground", said + ".")


def _standing(document: Mapping[str, Any]) -> Fact:
    block = document["block"]
    crop = block["standing_crop_t"]
    if crop is None:
        return Fact("Moss standing", f"{_NOT_KNOWN}: no quadrat has been laid.")
    ha = block["estimated_ha"]
    each = f"; {crop['value'] / ha:.1f} t a hectare" if ha > 0 else ""
    return Fact("Moss standing",
                f"{crop['value']:,.0f} t (between {crop['low']:,.0f} and {crop['high']:,.0f})"
                f"{each}.")


def _yearly(land: Land) -> Iterator[Fact]:
    yearly = land.yearly
    if yearly is None:
        yield Fact("A year, for good", f"{_NOT_KNOWN}: it follows from measured moss.")
        return
    ha = yearly.open_m2 / 1e4
    kg = (yearly.kg, yearly.low_kg, yearly.high_kg)
    yield Fact(
        "A year, for good",
        f"{_tonnes(kg)} a year can be taken year after year under the block's rules of rest and "
        f"share kept; {yearly.kg / ha:,.0f} kg a hectare of open ground (between "
        f"{yearly.low_kg / ha:,.0f} and {yearly.high_kg / ha:,.0f}). Measuring alone is good to "
        f"± {100 * 1.645 * yearly.moss_cv:.0f} %; how fast moss grows back weighs more: at the "
        f"slow end {yearly.slow_kg / 1000:,.1f} t, at the fast end {yearly.fast_kg / 1000:,.1f} "
        "t.")


def _permits(document: Mapping[str, Any]) -> Iterator[Fact]:
    for one in document["permits"]:
        cap = "no cap" if one["cap"] is None else (
            f"{one['cap']:,.0f} {UNITS[one['cap_unit']]} a permit year")
        taken = "not known" if one["taken"] is None else f"{one['taken']['value']:,.0f}"
        since = day_words(one["year"]["from"])
        yield Fact("Permit", f"{one['permit']}: {cap}; taken since {since}: {taken}.")


def _held(document: Mapping[str, Any], kg: Triple) -> tuple[Triple, bool]:
    """Hold a year's moss to the permits' caps in dry kg; says whether one binds."""
    permits = document["permits"]
    caps = [one["cap"] for one in permits if one["cap"] is not None
            and one["cap_unit"] in {"kg_dry", None}]
    if not caps or len(caps) < len(permits):  # one without such a cap may allow more
        return kg, False
    cap = float(sum(caps))
    value, low, high = (min(one, cap) for one in kg)
    return (value, low, high), cap < kg[0]


def _earns(document: Mapping[str, Any], land: Land, rates: Rates) -> Iterator[Fact]:
    name = "May earn"
    wanted = missing(rates)
    if land.yearly is None:
        yield Fact(name, f"{_NOT_KNOWN}: it follows from the yearly tonnes.")
        return
    held, binds = _held(document, (land.yearly.kg, land.yearly.low_kg, land.yearly.high_kg))
    found = earning(held, rates)
    ask = "" if not wanted else (
        f"The owner has not written down: {', '.join(wanted)} (block.toml, [costs]).")
    if found is None:
        yield Fact(name, f"Not worked out, and no price is guessed. {ask}")
        return
    of = "what the permit allows" if binds else "the long-run tonnes"
    said = f"{_money(found.sales, rates.currency)} a year of sales, of {of} ({_tonnes(held)})"
    if found.after_picking is not None:
        said += f"; {_money(found.after_picking, rates.currency)} after picking"
    yield Fact(name, f"{said}, at the owner's own price and cost, taken as sure. Lifting, drying "
               f"and freight are not in it. {ask}".strip())


def _work(document: Mapping[str, Any], land: Land) -> Iterator[Fact]:
    work = land.work
    days_a_t = work.days_a_t
    if days_a_t is None:
        yield Fact("Days of work", f"{_NOT_KNOWN}: no bag has been tallied.")
        return
    seasons = f"{work.seasons} season{'' if work.seasons == 1 else 's'}"
    said = (f"So far {work.picker_days:,} days of a person picking gave "
            f"{work.kg / 1000:,.1f} t in {seasons}: {days_a_t:,.0f} days a tonne")
    if land.yearly is not None:
        kg = (land.yearly.kg, land.yearly.low_kg, land.yearly.high_kg)
        held, binds = _held(document, kg)
        value, low, high = (one / 1000.0 * days_a_t for one in held)
        between = "" if high - low < 1 else f" (between {low:,.0f} and {high:,.0f})"
        what = "for what the permit allows" if binds else "for the long-run tonnes"
        said += f", so {value:,.0f} days a year{between} {what}"
    yield Fact("Days of work", f"{said}. Measuring took {work.survey_days:,} days besides.")


def _tonnes(kg: Triple) -> str:
    value, low, high = (one / 1000.0 for one in kg)
    if high - low < 0.05:
        return f"{value:,.1f} t"
    return f"{value:,.1f} t (between {low:,.1f} and {high:,.1f})"


def _money(amount: Triple, currency: str) -> str:
    value, low, high = amount
    head = f"{currency} ".lstrip()
    if abs(high - low) < 1:
        return f"{head}{value:,.0f}"
    return f"{head}{value:,.0f} (between {low:,.0f} and {high:,.0f})"
