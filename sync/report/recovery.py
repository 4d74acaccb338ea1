"""What regrew, in words and figures.

Rule 1: kg to 1, years and rates as the register rounds them; a range is said where there is one.
"""

import math

from sync.crop.narrow import QUADRATS, Narrowing
from sync.plan.recovery import Recovery, Regrew
from sync.report.speech import PLAIN, Speech
from sync.report.table import Shown

_NONE = "–"
COLUMNS = ("cell", "class", "picked until", "kg", "read", "years", "forecast kg", "measured kg",
           "surprise", "% of rested")
_LEFT = frozenset({0, 1, 2, 4})


def recovery_table(found: Recovery, speech: Speech = PLAIN) -> Shown:
    """Give the re-measured cells as a table; a * does not teach the growth rate."""
    return Shown(COLUMNS, tuple(_row(one, speech) for one in found.cells), _LEFT)


def _row(one: Regrew, speech: Speech) -> tuple[str, ...]:
    number = speech.number
    share = number(100.0 * one.measured_kg / one.mark_kg, 0) if one.mark_kg > 0.0 else _NONE
    return (
        one.cell + ("" if one.teaches else " *"), one.ground_class, speech.day(one.picked_to),
        _NONE if one.picked_kg is None else number(one.picked_kg, 0), speech.day(one.read_on),
        number(one.years, 1), f"{number(one.forecast_kg, 0)} ± {number(one.forecast_sd, 0)}",
        f"{number(one.measured_kg, 0)} ± {number(one.measured_sd, 0)}",
        speech.signed(one.surprise, 1), share,
    )


def recovery_words(found: Recovery, *, back_chance: float) -> list[str]:
    """Say what the cells show together, the growth rate, and what would narrow it."""
    return [*_together(found), *_rests(found, back_chance), *_growth(found)]


def _together(found: Recovery) -> list[str]:
    if not found.cells:
        return ["No cell was measured again after a pick yet."]
    measured = math.fsum(one.measured_kg for one in found.cells)
    forecast = math.fsum(one.forecast_kg for one in found.cells)
    far = sum(abs(one.surprise) > 2.0 for one in found.cells)
    number = len(found.cells)
    return [(f"{number} {'survey' if number == 1 else 'surveys'} after a pick: "
            f"{measured / 1000:.1f} t measured, {forecast / 1000:.1f} t forecast; {far} farther "
            "off than 2 standard deviations. A forecast uses the growth that the other cells "
            "teach; a measurement is by that survey's quadrats alone.")]


def _rests(found: Recovery, back_chance: float) -> list[str]:
    if not found.ended:
        return ["No rest has ended yet."]
    short = [one.cell for one in found.ended if one.chance_short >= back_chance]
    number = len(found.ended)
    return [(f"{number} {'rest has' if number == 1 else 'rests have'} ended; not grown back: "
            f"{', '.join(short) or 'none'}.")]


def _growth(found: Recovery) -> list[str]:
    learned = found.learned
    rate, sd = learned.growth.rate, math.sqrt(learned.growth.variance)
    cells = len(learned.regrown)
    alone = "" if learned.rate is None or learned.variance is None else (
        f" (they alone: {learned.rate:.2f} ± {math.sqrt(learned.variance):.2f})")
    lines = [(f"Growth {rate:.2f} ± {sd:.2f} a year: {learned.prior.rate:.2f} ± "
             f"{math.sqrt(learned.prior.variance):.2f} by the years of recovery, and "
             f"{cells} re-measured {'cell' if cells == 1 else 'cells'}{alone}.")]
    if sd < found.enough_sd:
        return [*lines, f"It is earned: its standard deviation is under {found.enough_sd:.2f}."]
    lines.append(f"It is earned under ± {found.enough_sd:.2f}. What would narrow it, "
                 f"{QUADRATS} drawn quadrats a cell, if new cells scatter as these do:")
    return [*lines, *(_narrowing(one) for one in found.narrowing)]


def _narrowing(one: Narrowing) -> str:
    when = "now" if one.years == 0 else f"in {one.years} year{'' if one.years == 1 else 's'}"
    if not one.cells:
        return f"  {when}: no cell that was picked would tell more (± {one.sd:.2f})"
    told = "enough" if one.enough else "not enough"
    return (f"  {when}: {len(one.cells)} {'cell' if len(one.cells) == 1 else 'cells'} "
            f"({', '.join(one.cells)}): ± {one.sd:.2f}, {told}")
