"""Hours and cost of work in words and figures.

Rule 1: hours to 0.1, money to 1, a price of a change to two figures; a cost is said with its
currency, and without a rate the one line says where to write it.
"""

from sync.plan.upkeep import Price, Upkeep, WorkSum
from sync.report.flag_case.parts import season_words
from sync.report.speech import PLAIN, Speech
from sync.report.table import Shown

_NONE = "–"
HOURS = ("work", "season", "times", "ha", "hours", "h/ha")
#: What a change is counted in.
_ONE_OF = {"scrub": "point of scrub", "water": "mm of water table", "moss": "L/m² of moss"}
_GAIN = {"scrub": "{:.1f} points less scrub", "water": "the water {:.0f} mm higher",
         "moss": "{:.1f} L/m² more moss"}
NO_RATE = "No cost: write what an hour costs you as work_per_hour under [costs] of block.toml."


def upkeep_table(
    found: Upkeep, *, season_start: tuple[int, int], speech: Speech = PLAIN
) -> Shown:
    """Give hours by kind of work and season, and cost where there is a rate."""
    unit = found.currency or "cost"
    heads = HOURS if found.rate is None else (*HOURS, unit, f"{unit}/ha")
    return Shown(heads, tuple(_sum(one, found.rate, season_start, speech)
                              for one in found.sums), frozenset({0, 1}))


def _sum(
    one: WorkSum, rate: float | None, season_start: tuple[int, int], speech: Speech
) -> tuple[str, ...]:
    number = speech.number
    hours = _NONE if one.hours is None else number(one.hours, 1) + ("+" if one.unsaid else "")
    row = (speech.say(one.what.replace("_", " ")), season_words(one.season, season_start),
           str(one.times), number(one.ha, 2), hours,
           _NONE if one.hours_ha is None else number(one.hours_ha, 1))
    if rate is None:
        return row
    return (*row, *(_NONE if hours is None else number(hours * rate, 0)
                    for hours in (one.hours, one.hours_ha)))


def upkeep_words(found: Upkeep) -> list[str]:
    """Say what an hour costs, what hours are missing, and what each change took."""
    if not found.sums:
        return []
    lines = [NO_RATE] if found.rate is None else [
        f"An hour is {_money(found.rate, found)}: the owner's own rate."]
    unsaid = sum(one.unsaid for one in found.sums)
    if unsaid:
        lines.append(f"{unsaid} {'record names' if unsaid == 1 else 'records name'} no hours (+): "
                     "mend them at the shed.")
    return [*lines, *(price_words(one, found) for one in found.prices)]


def price_words(one: Price, found: Upkeep) -> str:
    """Say what a change took, for one of it on a hectare."""
    spent = f"{one.about}: {one.hours_ha:.1f} h/ha" + (
        "" if found.rate is None else f" ({_money(one.hours_ha * found.rate, found)})")
    if one.each is None:
        return f"{spent}; no change for the better can be told yet, so it has no price."
    gain = _GAIN[one.measure].format(one.gain)
    return f"{spent}, {gain}: {_each(one, found)} for one {_ONE_OF[one.measure]} on a hectare."


def _each(one: Price, found: Upkeep) -> str:
    rate = 1.0 if found.rate is None else found.rate
    unit = "h" if found.rate is None else found.currency or "of money"
    if one.low is None or one.high is None:
        return f"{_two(rate * (one.each or 0.0))} {unit} (one plot: no range)"
    return (f"{_two(rate * (one.each or 0.0))} {unit} (90 % range {_two(rate * one.low)} to "
            f"{_two(rate * one.high)})")


def _money(value: float, found: Upkeep) -> str:
    places = 0 if value >= 10.0 else 2
    return f"{value:,.{places}f} {found.currency}".strip()


def _two(value: float) -> str:
    """Write a value to two figures, and whole from ten on."""
    return f"{value:,.0f}" if value >= 10.0 else f"{float(f'{value:.2g}'):g}"
