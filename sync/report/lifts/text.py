"""Lifts on a terminal: safety, what it rests on, piles, cards, what is to be noted."""

from collections.abc import Iterator

from sync.plan.lifts.values import LiftPlan
from sync.report.lifts.fetch import driven_lines, fetch_lines, fetch_rows
from sync.report.lifts.rows import card_rows, money, pile_rows
from sync.report.lifts.told import (
    RECORD,
    SAFETY,
    basis_lines,
    head_line,
    warning_lines,
)
from sync.report.plots_table import folded, plain_table


def lifts_text(plan: LiftPlan) -> str:
    """Write a plan of lifts.

    Parameters
    ----------
    plan : LiftPlan
        Whole.

    Returns
    -------
    str
        Lines of 100 characters at most, but for names that people gave.
    """
    return "\n".join(_lines(plan)) + "\n"


def _lines(plan: LiftPlan) -> Iterator[str]:
    yield from folded(head_line(plan))
    if not plan.piles:
        return
    yield from folded(SAFETY)
    for line in (*basis_lines(plan), *warning_lines(plan)):
        yield from folded(line)
    yield ""
    yield from plain_table(pile_rows(plan))
    yield from (part for line in cost_lines(plan) for part in folded(line))
    if plan.lifts:
        yield ""
        yield from plain_table(card_rows(plan))
        yield ""
        yield from folded(RECORD)
    yield ""
    yield from plain_table(fetch_rows(plan))
    for line in (*fetch_lines(plan), *driven_lines(plan)):
        yield from folded(line)


def cost_lines(plan: LiftPlan) -> list[str]:
    """Say what all lifts cost with the coming, or which rate is missing."""
    costs = plan.register.block.costs
    known = [one.cost for one in plan.piles if one.cost is not None]
    if not plan.lifts:
        return []
    if not known:
        return [("No cost: block.toml [costs] has no lift_each, nor lift_minute with "
                 "lift_minutes.")]
    unit = f" {costs.currency}" if costs.currency else ""
    text = f"All lifts {money(sum(known))}{unit}"
    if costs.lift_call_out is not None:
        whole = sum(known) + costs.lift_call_out
        text += f", with the coming ({money(costs.lift_call_out)}) {money(whole)}{unit}"
    return [text + "; by the owner's rates of block.toml."]
