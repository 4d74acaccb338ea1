"""A pile by air or by machine: what each costs, and what would be driven over.

Rule 1: cost alone is compared; what a machine does to the moss is said beside it.
"""

from collections.abc import Iterator
from datetime import date

from sync.plan.lifts.driven import Driven, days_driven
from sync.plan.lifts.machine import driven_m, under_wheels_ha
from sync.plan.lifts.values import LiftPlan, PileLifts
from sync.report.lifts.rows import currency_of, money
from sync.report.lifts.told import MOSS, day_plain
from sync.report.plots_table import Rows

_NONE = "–"


def fetch_rows(plan: LiftPlan) -> Rows:
    """Give helicopter and machine for each pile, without what the coming costs."""
    unit = currency_of(plan)
    head = ("pile", "lifts", f"by air {unit}", "trips", f"by machine {unit}", "m one way",
            "km driven", "cheaper")
    return Rows(head, 1, tuple(_fetch(one) for one in plan.piles))


def _fetch(one: PileLifts) -> tuple[str, ...]:
    drive, driven = one.machine.drive, driven_m(one.machine)
    return (
        one.pile.label, _NONE if one.lifts is None else str(one.lifts), money(one.cost),
        _NONE if one.machine.trips is None else str(one.machine.trips), money(one.machine.cost),
        _NONE if drive is None else f"{drive.length_m:.0f}",
        _NONE if driven is None else f"{driven / 1000.0:.1f}", cheaper(one),
    )


def cheaper(one: PileLifts) -> str:
    """Say which is cheaper; a dash where either cost is not known."""
    if one.cost is None or one.machine.cost is None or one.machine.drive is None:
        return _NONE
    if one.cost == one.machine.cost:
        return "the same"
    return "by air" if one.cost < one.machine.cost else "by machine"


def fetch_lines(plan: LiftPlan) -> list[str]:
    """Say what the coming costs, which ground a machine would cross, what is missing."""
    lines = [*_coming(plan), *_lacking(plan)]
    lines += [line for one in plan.piles for line in _way(plan, one)]
    return [*lines, MOSS]


def _coming(plan: LiftPlan) -> Iterator[str]:
    costs, unit = plan.register.block.costs, currency_of(plan)
    by_air = [one.cost for one in plan.piles if one.cost is not None]
    by_machine = [one.machine.cost for one in plan.piles if one.machine.cost is not None]
    if len(by_air) == len(by_machine) == len(plan.piles):
        air = sum(by_air) + (costs.lift_call_out or 0.0)
        machine = sum(by_machine) + (costs.machine_call_out or 0.0)
        yield (f"With the coming, all of them cost {money(air)} {unit} by air, "
               f"{money(machine)} {unit} by machine.")


def _lacking(plan: LiftPlan) -> Iterator[str]:
    costs = plan.register.block.costs
    lacks = [key for key, value in (("machine_trip_each", costs.machine_trip_each),
                                    ("machine_bags", costs.machine_bags)) if value is None]
    if lacks:
        yield f"No cost by machine: block.toml [costs] has no {' and no '.join(lacks)}."
    if plan.landing is None:
        yield "No way of a machine: block.toml has no gate."


def _way(plan: LiftPlan, one: PileLifts) -> Iterator[str]:
    drive = one.machine.drive
    if drive is None:
        if one.pile.place is not None and plan.landing is not None:
            yield f"{one.pile.label}: no way from the gate but over closed ground."
        return
    wide = plan.register.tunables.machine_wide_m
    ha = under_wheels_ha(one.machine, wide) or 0.0
    cells = ", ".join(f"{cell} {m:.0f} m{_state(plan, cell)}" for cell, m in drive.cells)
    yield (f"{one.pile.label} by machine: over {cells or 'no cell of the block'}; "
           f"{ha:.2f} ha under the wheels, {wide:g} m wide.")
    for day, driven in driven_before(plan, one):
        yield f"{one.pile.label}: already driven over on {day_plain(day)}: {', '.join(driven)}."


def driven_before(plan: LiftPlan, one: PileLifts) -> list[tuple[date, tuple[str, ...]]]:
    """Give the days on which cells of a pile's way were driven over, and those cells."""
    drive = one.machine.drive
    on_way = [] if drive is None else [cell for cell, _ in drive.cells]
    days = {day for cell in on_way for day in days_driven(plan.driven, cell)}
    return [(day, tuple(cell for cell in on_way if day in days_driven(plan.driven, cell)))
            for day in sorted(days)]


def _state(plan: LiftPlan, cell: str) -> str:
    state = plan.register.cells[cell].state
    return f" ({state})" if state in {"resting", "closed"} else ""


def driven_lines(plan: LiftPlan) -> list[str]:
    """Say what was driven over before; a line a record."""
    if not plan.driven:
        return ["No ground is noted as driven over."]
    return ["Driven over before:", *(_driven(one) for one in plan.driven)]


def _driven(one: Driven) -> str:
    most = "at most " if one.whole_cells else ""
    return f"{day_plain(one.day)}: {', '.join(one.cells)}, {most}{one.area_ha:.2f} ha [{one.name}]"
