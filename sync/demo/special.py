"""The days of the story that go wrong: a lost file, a weak fix, a wrong clock, a line crossed.

Rule 1: what goes wrong goes wrong on a phone or with a file; nothing is told to the shed.
"""

import dataclasses
from datetime import date, timedelta
from pathlib import Path
from statistics import NormalDist

from fieldapp.capture.outing import Outing
from sync.demo.picking import (
    FOREMAN,
    JA,
    KG_A_BAG,
    RK,
    SW,
    Crew,
    Gang,
    PickDone,
    PickPlan,
    shared,
)
from sync.demo.place import GATE_M, GRID, local, to_deg
from sync.demo.tracking import Trail
from sync.demo.world import World
from sync.settings import R68_PER_SIGMA

#: p4 ran flat and woke so far behind.
CLOCK_BEHIND = timedelta(days=61)
_WRONG_BAGS, _WRONG_DAYS = 23, 3
EARLY_DAY = date(2026, 1, 22)
LOST_DAY = date(2025, 3, 19)
#: Local times of R.K.'s bags on that day: before the file that got lost, in it, and after.
_BEFORE_LOST = ((8, 5), (8, 42))
_LOST = ((9, 20), (10, 2), (10, 48), (11, 15), (11, 51), (13, 4), (13, 40), (14, 17), (14, 55))
_AFTER_LOST = ((15, 16), (15, 53))
#: Groups of bags on the line C08|C09: the phone, how many, and the chance that they are of C08.
EARLY_GROUPS = (
    ("p3", 2, 0.71), ("p5", 3, 0.93), ("p3", 2, 0.88), ("p5", 4, 0.985), ("p3", 3, 0.99),
    ("p5", 2, 0.62),
)
_ACC_M = 5.0
#: So far from the line no receiver doubts the side. [m]
_WELL_M = 21.0
#: Where the way from the gate turns west. [m from the grid's origin]
_BEND_M = (860.0, 700.0)


def pick_with_lost_file(world: World, plan: PickPlan, bags: int) -> tuple[PickDone, Path, int]:
    """Pick K04; on one day p2's file of the middle of the day never reaches the shed.

    Parameters
    ----------
    world : World
        The block.
    plan : PickPlan
        The pick; it lasts to `LOST_DAY` and a day more.
    bags : int
        How many in all.

    Returns
    -------
    done : PickDone
        What came of the pick.
    lost : Path
        The file that was made and never taken.
    missing : int
        Bags in it, as the paper book has them.
    """
    gang = Gang(world, plan)
    per_day = max(1, bags // 4)
    day = plan.first
    while day < LOST_DAY:
        gang.day(day, per_day, last=False)
        world.moss.take(plan.cell, per_day * KG_A_BAG, day)
        day += timedelta(days=1)
    lost = _lose_the_middle(world, gang)
    seen = len(_BEFORE_LOST) + len(_LOST) + len(_AFTER_LOST)
    world.moss.take(plan.cell, seen * KG_A_BAG, LOST_DAY)
    last = LOST_DAY + timedelta(days=1)
    gang.day(last, per_day, last=True)
    world.moss.take(plan.cell, per_day * KG_A_BAG, last)
    world.hand_over_all(local(last, 19))
    return PickDone(plan.cell, gang.pile, last, float(3 * per_day + seen)), lost, len(_LOST)


def _lose_the_middle(world: World, gang: Gang) -> Path:
    """Let R.K. pick alone for a day; the file of its middle is made and never taken."""
    phone = world.phones[RK.phone]
    outing = gang.start(RK, LOST_DAY)
    gang.tally_at(outing, RK, [local(LOST_DAY, *when) for when in _BEFORE_LOST])
    world.take([phone.hand_over(local(LOST_DAY, 8, 47))], local(LOST_DAY, 18))
    gang.tally_at(outing, RK, [local(LOST_DAY, *when) for when in _LOST])
    lost = phone.hand_over(local(LOST_DAY, 15, 10))
    if lost is None:
        raise ValueError("the lost file holds nothing")
    gang.tally_at(outing, RK, [local(LOST_DAY, *when) for when in _AFTER_LOST])
    gang.end(outing, RK, local(LOST_DAY, 16, 30), [])
    return lost


def weak_fix_on_a_border(world: World, pile: str, day: date) -> None:
    """Tally two bags of R.K. with a weak fix six metres west of F08|G08; he had confirmed F08."""
    phone = world.phones["p2"]
    at = local(day, 17)
    outing = phone.outing()
    outing.start("RK", "picker", now=phone.clock(at), where=None, sheet=phone.sheet,
                 cell="F08")
    where = phone.where(*to_deg(world.projection, 594.0, 750.0), 24.0)
    for minutes in (12, 15):
        phone.tally(outing).bag(now=phone.clock(at + timedelta(minutes=minutes)), where=where,
                                pile=pile)
    outing.end([], now=phone.clock(at + timedelta(minutes=40)), where=None)
    world.moss.take("F08", 2 * KG_A_BAG, day)


def pick_with_wrong_clock(world: World, plan: PickPlan, bags: int) -> PickDone:
    """Pick F09; on its first day p4's clock is 61 days behind."""
    gang = Gang(world, plan)
    phone = world.phones["p4"]
    phone.behind = CLOCK_BEHIND
    outing = gang.start(SW, plan.first)
    gang.tally(outing, SW, plan.first, _WRONG_BAGS)
    gang.end(outing, SW, local(plan.first, 16, 30), [])
    phone.behind = timedelta(0)
    others = tuple(crew for crew in plan.crews if crew is not SW)
    rest = Gang(world, dataclasses.replace(plan, crews=others))
    rest.pile = gang.pile
    world.moss.take(plan.cell, _WRONG_BAGS * KG_A_BAG, plan.first)
    last = plan.first + timedelta(days=_WRONG_DAYS - 1)
    for i, today in enumerate(shared(bags - _WRONG_BAGS, [1] * _WRONG_DAYS)):
        day = plan.first + timedelta(days=i)
        rest.day(day, today, last=day == last)
        world.moss.take(plan.cell, today * KG_A_BAG, day)
    world.hand_over_all(local(last, 19))
    return PickDone(plan.cell, gang.pile, last, float(bags))


def overstep_the_line(world: World) -> None:
    """Sent to begin C09, J.A. and L.P. follow good moss south over the line into C08.

    They pick on both sides of it, for the parts of the time and at the recorded places that give
    the chances of `EARLY_GROUPS`. Both outings begin at the gate, so that no cell is confirmed,
    and their tracks are kept.
    """
    outings, trails = {}, {}
    for crew in (JA, FOREMAN):
        outings[crew.phone], trails[crew.phone] = _from_the_gate(world, crew)
    at = local(EARLY_DAY, 12, 40)
    for i, (code, bags, chance) in enumerate(EARLY_GROUPS):
        phone, outing = world.phones[code], outings[code]
        for j in range(bags):
            press = at + timedelta(minutes=26 * i + j)
            x = 240.0 + 3 * i + j
            where = phone.where(*_south_of_line(world, x, chance), _ACC_M)
            trails[code].to(press, where, picking=() if j else [
                (phone.where(*to_deg(world.projection, x, 800.0 + side * _WELL_M), _ACC_M), part)
                for side, part in ((-1.0, chance), (1.0, 1.0 - chance))])
            phone.tally(outing).bag(now=phone.clock(press), where=where,
                                    for_="JA" if code == JA.phone else "LP")
    for code, outing in outings.items():
        phone = world.phones[code]
        trails[code].close(local(EARLY_DAY, 16))
        outing.end([], now=phone.clock(local(EARLY_DAY, 16)), where=None)
    in_c08 = sum(bags * chance for _, bags, chance in EARLY_GROUPS)
    world.moss.take("C08", in_c08 * KG_A_BAG, EARLY_DAY)
    world.moss.take("C09", (sum(bags for _, bags, _ in EARLY_GROUPS) - in_c08) * KG_A_BAG,
                    EARLY_DAY)
    world.hand_over_all(local(EARLY_DAY, 19))


def _from_the_gate(world: World, crew: Crew) -> tuple[Outing, Trail]:
    """Start at the gate and walk north of The Pan to C09."""
    phone = world.phones[crew.phone]
    at = local(EARLY_DAY, 12)
    outing = phone.outing()
    gate, bend = (phone.where(*to_deg(world.projection, *place), _ACC_M)
                  for place in (GATE_M, _BEND_M))
    outing.start(crew.carrier, "picker", now=phone.clock(at), where=gate, sheet=phone.sheet)
    trail = Trail(phone, outing, at, gate)
    trail.walk(at + timedelta(minutes=17), bend)
    return outing, trail


def _south_of_line(world: World, x: float, chance: float) -> tuple[float, float]:
    """Give the place whose chance of C08 is as wished: so many sigmas south of the line."""
    line_m = 8 * GRID.cell_m
    south_m = _ACC_M / R68_PER_SIGMA * NormalDist().inv_cdf(chance)
    return to_deg(world.projection, x, line_m - south_m)
