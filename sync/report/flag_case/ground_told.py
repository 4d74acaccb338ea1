"""The ground behind a flag: the rest that was running, what closed it, what it allowed.

Rule 1: a rule is told as it stood on its day, with the day it holds from.
"""

from collections.abc import Iterator

import numpy as np

from sync.flags.evidence.case import LastPick
from sync.geometry.shapes import distance_m
from sync.report.flag_case.parts import Dossier, Section, say_day, say_span


def ground_section(told: Dossier) -> Section | None:
    """Tell the ground that a flag is about; None where there is nothing to tell."""
    said = tuple(_said(told))
    return Section("The ground", said) if said else None


def _said(told: Dossier) -> Iterator[str]:
    case = told.case
    if case.last_pick is not None:
        yield _last_pick(str(case.flag.cell), case.last_pick)
    if case.flag.rule == "early_pick":
        yield _early(told)
    elif case.flag.rule == "over_pick":
        yield from _over(told)
    elif case.flag.rule == "closed_ground":
        yield from _closings(told)
    elif case.flag.rule == "outside_block":
        yield from _outside(told)


def _last_pick(cell: str, pick: LastPick) -> str:
    weight = "kg unknown"
    if pick.kg is not None and pick.bags is not None and pick.sd_kg is not None:
        give_or_take = f" ± {pick.sd_kg:,.0f}" if pick.sd_kg >= 0.5 else ""
        weight = f"{pick.bags:,.1f} bags, {pick.kg:,.0f}{give_or_take} kg shed-dry"
    since = "" if pick.rule_since is None else f" since {say_day(pick.rule_since)}"
    ends = "" if pick.rest_ends is None else f": its rest ends on {say_day(pick.rest_ends)}"
    return (
        f"Before that {cell} was picked on {say_span(pick.first, pick.last)} ({weight}). The "
        f"block's rule{since} is a rest of {pick.rest_months} months from the last day of a "
        f"pick{ends}, the first day on which it may be picked again.")


def _early(told: Dossier) -> str:
    figures = told.case.flag.figures
    area = "" if figures["area_m2"] is None else (
        f" About {figures['area_m2']:,.0f} m² were picked twice, by the share of what was "
        "pickable that each pick took.")
    return (f"Picking on {say_day(figures['picked_from'])} is {figures['days_early']:,} days "
            f"before its rest ends, {say_day(figures['rest_ends'])}.{area}")


def _over(told: Dossier) -> Iterator[str]:
    flag, row = told.case.flag, told.row
    figures, kg = row["figures"], row["figures"]["kg"]
    first = flag.figures["picked_from"]
    spread = "weighed dry" if kg["low"] == kg["high"] else (
        f"90 % {kg['low']:,.0f} to {kg['high']:,.0f}")
    yield (
        f"On {say_day(first)}, the first day of the pick, {figures['may_take_kg']:,.0f} kg might "
        f"be taken. {kg['value']:,.0f} kg ({spread}) were, "
        f"{figures['over_kg']:,.0f} kg more. The sums behind the first figure: fallow why DIR "
        f"{flag.cell} --on {first.isoformat()}.")


def _closings(told: Dossier) -> Iterator[str]:
    flag, register = told.case.flag, told.register
    day = flag.figures["picked_from"]
    for one in register.grounds.on(day).closures_of(str(flag.cell)):
        since = "from ever" if one.since is None else f"from {say_day(one.since)}"
        until = "without an end" if one.until is None else f"through {say_day(one.until)}"
        source = "by a record" if one.hold else "on the owner's map"
        yield f"Closed {source}, {since} {until}: {one.why}."
    cell = register.grounds.on(day).cells.get(str(flag.cell))
    if cell is not None:
        yield (f"On {say_day(day)} {cell.open_m2 / 1e4:.2f} of {flag.cell}'s "
               f"{cell.area_m2 / 1e4:.2f} ha were open.")


def _outside(told: Dossier) -> Iterator[str]:
    off = []
    for one in told.case.presses:
        placed = one.placed
        if placed.e is not None and placed.n is not None:
            outline = told.register.grounds.on(placed.bag.day).outline
            off.append(distance_m(outline, placed.e, placed.n))
    if off:
        yield (f"The fixes at the presses lie {min(off):,.0f} to {max(off):,.0f} m outside the "
               f"outline of that day, {float(np.median(off)):,.0f} m in the middle; 0 m is on or "
               "within it.")
