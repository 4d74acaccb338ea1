"""The picking seasons of the made-up block: which cells, when, by whom, and how many bags.

Rule 1: how many bags are picked follows from what the register allowed before the season.
Rule 2: the days that go wrong stand in `sync.demo.special`; here it only says when.
"""

import math
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path

from sync.demo.drying import dry
from sync.demo.picking import (
    FOREMAN,
    JA,
    KG_A_BAG,
    MOST_A_DAY,
    MT,
    RK,
    SW,
    Crew,
    PickDone,
    PickPlan,
    pick,
)
from sync.demo.place import local
from sync.demo.shed import enter_paper_count, record_spraying
from sync.demo.special import pick_with_lost_file, pick_with_wrong_clock, weak_fix_on_a_border
from sync.demo.world import World
from sync.register.build import Register

#: Cells picked in each season, with the first day.
SEASONS: tuple[tuple[tuple[str, date], ...], ...] = (
    (("L03", date(2023, 9, 18)), ("I05", date(2023, 10, 9)), ("I08", date(2023, 11, 6)),
     ("C08", date(2023, 11, 27)), ("C10", date(2024, 1, 9)), ("D09", date(2024, 2, 5)),
     ("G03", date(2024, 3, 4))),
    (("K06", date(2024, 9, 10)), ("C06", date(2024, 10, 1)), ("D04", date(2024, 10, 22)),
     ("D06", date(2024, 11, 11)), ("K07", date(2024, 12, 16)), ("C07", date(2025, 1, 20)),
     ("H04", date(2025, 2, 17)), ("K04", date(2025, 3, 17))),
    (("F03", date(2025, 9, 15)), ("F08", date(2025, 10, 13)), ("J07", date(2025, 11, 10)),
     ("C04", date(2025, 12, 15)), ("F09", date(2026, 1, 19))),
)
PICKED = tuple(cell for season in SEASONS for cell, _ in season)
#: D06 was picked half as much again as it allowed.
_OVER = {"D06": 1.49}
#: Picks of so many working days: 27 November to 1 December 2023, 11 to 22 November 2024.
_DAYS = {"C08": 5, "D06": 11}
_LEAST_BAGS, _MOST_BAGS = 12, 330
#: What a gang can pick in days that the story fixes.
_MOST_OF = {"C08": 275, "D06": 500, "K04": 220, "F09": 188}
#: The owner plans a season within the permit's 12 t, with room to spare.
_MOST_A_SEASON = 1550
#: New ground sheets before the pick of a cell: the day, and who takes them. M.T. did not in 2026.
_SHEETS = {
    "J07": (date(2025, 11, 8), ("p1", "p2", "p3", "p4", "p5")),
    "F09": (date(2026, 1, 9), ("p2", "p3", "p4", "p5")),
}
_WEAK_DAY = date(2025, 10, 14)
#: Piles that the gang named itself.
NAMED_PILES = {"G03": "Bale Knoll", "F09": "Bale Knoll 2"}


def pick_season(world: World, number: int) -> Path | None:
    """Pick a season's cells; a season that is over has its bags dried and weighed.

    Parameters
    ----------
    world : World
        The block, before that season.
    number : int
        Of `SEASONS`.

    Returns
    -------
    Path or None
        The file that got lost, if this is the season of it.
    """
    season = SEASONS[number]
    before = local(season[0][1] - timedelta(days=2), 18)
    register = world.give_sheets(before, tuple(world.phones))
    shares = {cell: _share(world, cell) for cell, _ in season}
    bags = _bags_allowed(register, shares)
    lost: Path | None = None
    done: list[PickDone] = []
    for cell, first in season:
        world.tell(f"picking {cell}, {bags[cell]} bags")
        plan = _plan(world, cell, first, shares[cell], bags[cell], summer=number == 2)
        if cell == "C04":
            record_spraying(world)
        if cell in _SHEETS:
            world.give_sheets(local(_SHEETS[cell][0], 18), _SHEETS[cell][1])
        if cell == "K04":
            one, lost, missing = pick_with_lost_file(world, plan, bags[cell])
            enter_paper_count(world, lost, missing, one.pile)
        elif cell == "F09":
            one = pick_with_wrong_clock(world, plan, bags[cell])
        else:
            one = pick(world, plan, bags[cell])
        done.append(one)
    if number < 2:
        dry(world, done)
    return lost


def _plan(
    world: World, cell: str, first: date, share: float, bags: int, *, summer: bool
) -> PickPlan:
    """Plan a pick; S.W. picks in the summer of 2025/26."""
    crews: tuple[Crew, ...] = (MT, RK, JA, SW, FOREMAN) if summer else (MT, RK, JA, FOREMAN)
    days = _DAYS.get(cell)
    if days is not None:
        crews = _enough(crews, bags / days)
    evening = None
    if cell == "F08":
        evening = (_WEAK_DAY, lambda pile: weak_fix_on_a_border(world, pile, _WEAK_DAY))
    return PickPlan(cell, first, share, crews, days, evening, NAMED_PILES.get(cell))


def _enough(crews: Sequence[Crew], bags_a_day: float) -> tuple[Crew, ...]:
    """Give as many crews as can pick so many bags a day, or all."""
    found: list[Crew] = []
    for crew in crews:
        if sum(len(one.pickers) for one in found) * MOST_A_DAY < bags_a_day:
            found.append(crew)
    return tuple(found)


def _share(world: World, cell: str) -> float:
    return _OVER.get(cell, float(world.rng.uniform(0.6, 0.95)))


def _bags_allowed(register: Register, shares: Mapping[str, float]) -> dict[str, int]:
    """Give the bags of each cell by what the register allows it before the season.

    Raises
    ------
    ValueError
        If a cell of the story allows nothing: then the made-up moss is wrong.
    """
    bags = {}
    for cell, share in shares.items():
        may_take = register.cells[cell].may_take_kg
        if not may_take:
            raise ValueError(f"{cell} allows nothing: {register.cells[cell].why}")
        wanted = round(share * may_take / KG_A_BAG)
        bags[cell] = min(_MOST_OF.get(cell, _MOST_BAGS), max(_LEAST_BAGS, wanted))
    return _within_permit(bags)


def _within_permit(bags: Mapping[str, int]) -> dict[str, int]:
    """Plan less where a season would be too much, but for the cell that is over-picked."""
    over = sum(count for cell, count in bags.items() if cell in _OVER)
    others = sum(bags.values()) - over
    less = min(1.0, (_MOST_A_SEASON - over) / others)
    return {cell: count if cell in _OVER else max(_LEAST_BAGS, math.floor(count * less))
            for cell, count in bags.items()}
