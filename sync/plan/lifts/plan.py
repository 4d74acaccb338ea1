"""The lifts of a day: piles, slings, order, hazards, cost, and what a machine would do.

Rule 1: no figure is made up: without a weighing there is no sling, without a rate no cost.
Rule 2: every pile with bags is told, also one without a place or without a sling.
"""

import math
from collections.abc import Sequence

from sync.block import Costs, season_of
from sync.errors import SettingsError
from sync.geometry.ways import straight_between
from sync.picks.lift import bags_per_lift, lifts_of_piles
from sync.plan.lifts.cards import cards_of
from sync.plan.lifts.driven import driven_of
from sync.plan.lifts.machine import Drives, by_machine, drives_of
from sync.plan.lifts.values import (
    Hazard,
    LiftPlan,
    Pile,
    PileLifts,
    PlaceDeg,
    WetBag,
    to_m,
)
from sync.plan.lifts.wet_bag import Weighing, types_by_pile, weighings_of, wet_bag_of
from sync.plan.plots.rounds import short_round
from sync.register.build import Register


def plan_lifts(
    register: Register,
    piles: Sequence[Pile],
    hazards: Sequence[Hazard],
    *,
    limit_kg: float | None = None,
) -> LiftPlan:
    """Plan the lifts of all piles that wait.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    piles : sequence of Pile
        Bags that wait on that day.
    hazards : sequence of Hazard
        Marked until that day.
    limit_kg : float, optional
        What the hook may carry; the block's if left out. [kg]

    Returns
    -------
    LiftPlan
        Piles in the order of a short round from the gate over those whose place is known.

    Raises
    ------
    SettingsError
        If nobody said what the hook may carry.
    """
    limit = limit_kg if limit_kg is not None else register.block.hook_limit_kg
    if limit is None:
        raise SettingsError([
            ("block.toml [lifts] hook_limit_kg: missing; write what the hook may carry, such as "
             "hook_limit_kg = 620, or say it by --limit-kg")])
    weighings, types = weighings_of(register), types_by_pile(register)
    ordered = _in_order(register, piles)
    drives = drives_of(register, ordered)
    planned = tuple(
        _pile_lifts(register, pile, types.get((pile.label, pile.season), frozenset()), weighings,
                    hazards, drives, limit)
        for pile in ordered
    )
    gate = register.block.gate
    return LiftPlan(
        register, limit, limit_kg is not None, planned,
        cards_of(planned, register.on, _labels_used(register)), gate,
        () if gate is None else _near(register, gate, hazards), driven_of(register),
    )


def lift_cost(costs: Costs, lifts: int | None) -> float | None:
    """Give the cost of lifts by the owner's rate, without the coming; None without a rate.

    Parameters
    ----------
    costs : Costs
        A rate a lift; else one a minute and the minutes a lift.
    lifts : int or None
        How many.
    """
    if lifts is None:
        return None
    if costs.lift_each is not None:
        return lifts * costs.lift_each
    if costs.lift_minute is not None and costs.lift_minutes is not None:
        return lifts * costs.lift_minute * costs.lift_minutes
    return None


def _pile_lifts(
    register: Register, pile: Pile, types: frozenset[str], weighings: Sequence[Weighing],
    hazards: Sequence[Hazard], drives: Drives, limit_kg: float,
) -> PileLifts:
    wet = wet_bag_of(pile, types, weighings, register.tunables)
    sling = None if wet is None else _sling(wet, limit_kg)
    lifts = lifts_of_piles([pile.bags], sling) if sling else None
    near = () if pile.place is None else _near(register, pile.place, hazards)
    return PileLifts(pile, tuple(sorted(types)), wet, sling, lifts,
                     lift_cost(register.block.costs, lifts), near,
                     by_machine(register.block.costs, pile, drives))


def _sling(wet: WetBag, limit_kg: float) -> int:
    return bags_per_lift(wet.kg, wet.sd_kg, limit_kg=limit_kg)


def _in_order(register: Register, piles: Sequence[Pile]) -> list[Pile]:
    """Order piles by a short round from the gate; those without a place last, by name."""
    by_name = sorted(piles, key=lambda pile: (pile.season, pile.label))
    placed = [pile for pile in by_name if pile.place is not None]
    gate = register.block.gate
    start = gate if gate is not None else placed[0].place if placed else None
    if start is None:
        return by_name
    places = [start, *(pile.place for pile in placed if pile.place is not None)]
    apart = straight_between([to_m(register, place) for place in places])
    order = short_round(apart, range(1, len(places)))
    return [*(placed[i - 1] for i in order), *(p for p in by_name if p.place is None)]


def _near(
    register: Register, place: PlaceDeg, hazards: Sequence[Hazard]
) -> tuple[tuple[str, float], ...]:
    at = to_m(register, place)
    far = [(one.name, math.dist(at, to_m(register, one.place))) for one in hazards]
    return tuple(sorted(((name, m) for name, m in far if m <= register.tunables.hazard_near_m),
                        key=lambda one: (one[1], one[0])))


def _labels_used(register: Register) -> set[str]:
    start = register.block.season_start
    season = season_of(register.on, start)
    return {one.record["batch"] for one in register.merged.by_kind["batch"]
            if season_of(one.day, start) == season}
