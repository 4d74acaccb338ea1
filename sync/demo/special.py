"""The days of the story that go wrong: a lost file, a weak fix, a wrong clock, a line crossed.

Rule 1: what goes wrong goes wrong on a phone or with a file; nothing is told to the shed.
"""

import math
from datetime import date, datetime, timedelta
from pathlib import Path
from statistics import NormalDist

from fieldapp.capture.track import Track
from sync.demo.phones import DemoPhone
from sync.demo.picking import FOREMAN, JA, KG_A_BAG, RK, SW, Gang, PickDone, PickPlan
from sync.demo.place import GATE_M, GRID, local, to_deg
from sync.demo.world import World

#: p4 ran flat and woke so far behind.
CLOCK_BEHIND = timedelta(days=61)
EARLY_DAY = date(2026, 1, 22)
LOST_DAY = date(2025, 3, 19)
#: Groups of bags on the line C08|C09: the phone, how many, and the chance that they are of C08.
EARLY_GROUPS = (
    ("p3", 2, 0.71), ("p5", 3, 0.93), ("p3", 2, 0.88), ("p5", 4, 0.985), ("p3", 3, 0.99),
    ("p5", 2, 0.62),
)
_ACC_M = 5.0


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
    phone = world.phones["p2"]
    outing = gang.start(RK, LOST_DAY)
    gang.tally(outing, RK, LOST_DAY, 1, from_hour=7, hours=0.9, first_minute=40)
    world.take([phone.hand_over(local(LOST_DAY, 8, 47))], local(LOST_DAY, 18))
    gang.tally(outing, RK, LOST_DAY, 9, from_hour=9, hours=6.0)
    lost = phone.hand_over(local(LOST_DAY, 15, 10))
    gang.tally(outing, RK, LOST_DAY, 1, from_hour=15, hours=0.9, first_minute=20)
    gang.end(outing, RK, local(LOST_DAY, 16, 30), [])
    last = LOST_DAY + timedelta(days=1)
    gang.day(last, per_day, last=True)
    world.moss.take(plan.cell, (11 + per_day) * KG_A_BAG, last)
    world.hand_over_all(local(last, 19))
    done = PickDone(plan.cell, gang.pile, last, float(2 * per_day + 11 + per_day))
    if lost is None:
        raise ValueError("the lost file holds nothing")
    return done, lost, 9


def enter_paper_count(world: World, lost: Path, bags: int) -> None:
    """Enter the paper book's count of the lost file two weeks later."""
    _, _, first, last = lost.name.removesuffix(".handover.zip").split("-")
    device = world.phones["p2"].device
    day = LOST_DAY + timedelta(days=14)
    world.form("bag", [{
        "day": LOST_DAY.isoformat(), "person": "O", "for": "RK", "bags": bags, "cell": "K04",
        "covers": f"{device} {first} {last}",
    }], local(day, 18))


def weak_fix_on_a_border(world: World, pile: str, day: date) -> None:
    """Tally two bags of R.K. with a weak fix six metres west of F08|G08; he had confirmed F08."""
    phone = world.phones["p2"]
    at = local(day, 17)
    outing = phone.outing()
    outing.start("RK", "picker", now=at, where=None, sheet=phone.sheet, cell="F08")
    where = phone.where(*to_deg(world.projection, 594.0, 750.0), 24.0)
    for minutes in (12, 15):
        phone.tally(outing).bag(now=at + timedelta(minutes=minutes), where=where, pile=pile)
    outing.end([], now=at + timedelta(minutes=40), where=None)
    world.moss.take("F08", 2 * KG_A_BAG, day)


def pick_with_wrong_clock(world: World, plan: PickPlan, bags: int) -> PickDone:
    """Pick F09; on its first day p4's clock is 61 days behind."""
    gang = Gang(world, plan)
    phone = world.phones["p4"]
    phone.behind = CLOCK_BEHIND
    wrong = 23
    outing = gang.start(SW, plan.first)
    gang.tally(outing, SW, plan.first, wrong, from_hour=8, hours=8.0)
    gang.end(outing, SW, local(plan.first, 16, 30), [])
    phone.behind = timedelta(0)
    left, day = bags - wrong, plan.first
    others = tuple(crew for crew in plan.crews if crew is not SW)
    rest = Gang(world, PickPlan(plan.cell, plan.first, plan.share, others))
    rest.pile = gang.pile
    days = 3
    for i in range(days):
        today = left // days if i < days - 1 else left - (days - 1) * (left // days)
        rest.day(day, today, last=i == days - 1)
        world.moss.take(plan.cell, today * KG_A_BAG, day)
        last, day = day, day + timedelta(days=1)
    world.moss.take(plan.cell, wrong * KG_A_BAG, last)
    world.hand_over_all(local(last, 19))
    return PickDone(plan.cell, gang.pile, last, float(bags))


def overstep_the_line(world: World) -> None:
    """Sent to begin C09, J.A. and L.P. follow good moss south over the line into C08.

    The recorded places lie as far south of the line as gives the chances of `EARLY_GROUPS`. Both
    outings begin at the gate, so that no cell is confirmed, and their tracks are kept.
    """
    day = EARLY_DAY
    outings, tracks = {}, {}
    for crew in (JA, FOREMAN):
        phone = world.phones[crew.phone]
        at = local(day, 12)
        outing = phone.outing()
        gate = phone.where(*to_deg(world.projection, *GATE_M), 4.0)
        outing.start(crew.carrier, "picker", now=at, where=gate, sheet=phone.sheet)
        outings[crew.phone], tracks[crew.phone] = outing, Track(outing)
    at = local(day, 12, 40)
    for i, (code, bags, chance) in enumerate(EARLY_GROUPS):
        phone, outing = world.phones[code], outings[code]
        whose = "JA" if code == "p3" else "LP"
        for j in range(bags):
            press = at + timedelta(minutes=26 * i + j)
            where = phone.where(*_south_of_line(world, 240.0 + 3 * i + j, chance), _ACC_M)
            tracks[code].add_fix(press, where)
            phone.tally(outing).bag(now=press, where=where, for_=whose)
            _linger(tracks[code], phone, world, press, chance, 240.0 + 3 * i + j)
    for code, outing in outings.items():
        phone = world.phones[code]
        tracks[code].flush(local(day, 16))
        outing.end([], now=local(day, 16), where=None)
    world.moss.take("C08", 14 * KG_A_BAG, day)
    world.moss.take("C09", 2 * KG_A_BAG, day)
    world.hand_over_all(local(day, 19))


def _linger(
    track: Track, phone: DemoPhone, world: World, press: datetime, chance: float, x: float
) -> None:
    """Keep a few fixes after a press: the picker works on where he is."""
    for seconds in (20, 40):
        where = phone.where(*_south_of_line(world, x + seconds / 100.0, chance), _ACC_M)
        track.add_fix(press + timedelta(seconds=seconds), where)


def _south_of_line(world: World, x: float, chance: float) -> tuple[float, float]:
    """Give the place whose chance of C08 is as wished: so many sigmas south of the line."""
    sigma = _ACC_M / math.sqrt(-2.0 * math.log(0.32))
    line_m = 8 * GRID.cell_m
    return to_deg(world.projection, x, line_m - sigma * NormalDist().inv_cdf(chance))
