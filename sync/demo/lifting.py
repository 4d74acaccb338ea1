"""What was lifted in the summer of 2025/26, and wet bags weighed before and after three wet days.

Rule 1: nothing here draws on chance, so that no other figure of the story moves.
Rule 2: it comes by forms, on the day.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from sync.demo.drying import for_form
from sync.demo.place import local
from sync.demo.seasons import NAMED_PILES, SEASONS
from sync.demo.world import World
from sync.report.piles import waiting_bags

#: The pile of the story, and the bags that were left on it by 28 January.
PILE, LEFT = NAMED_PILES["F09"], 46
#: Ten bags weighed one by one on each of two days. [kg]
DRY_DAY, DRY_KG = date(2026, 1, 28), (88, 102, 78, 96, 80, 74, 98, 90, 86, 88)
WET_DAY, WET_KG = date(2026, 1, 31), (112, 132, 97, 123, 101, 92, 127, 116, 108, 112)
#: Left at the pile of C04, whose other bags were flown out before.
_LEFT_BEFORE = 37
_FLOWN_ON = date(2026, 1, 27)
#: The first pile of the season was fetched by machine, over these cells.
DRIVEN_ON, DRIVEN = date(2025, 10, 9), ("F03", "G03", "H02", "I02", "J02", "K02")


def lift_and_weigh(world: World) -> None:
    """Note what was driven and flown out, but for two rests, and weigh bags on two days.

    Parameters
    ----------
    world : World
        The block, before 28 January 2026.
    """
    world.form("work", [{
        "day": DRIVEN_ON.isoformat(), "person": "F", "what": "driven", "cells": " ".join(DRIVEN),
        "hours": 4, "note": "the bags of F03 fetched by machine",
    }], local(_FLOWN_ON, 18))
    world.form("batch", _flown(world), local(_FLOWN_ON, 18))
    for day, kg in ((DRY_DAY, DRY_KG), (WET_DAY, WET_KG)):
        world.form("batch", _weighed(day, kg), local(day, 18))


def _flown(world: World) -> list[dict[str, Any]]:
    """Note what was lifted and arrived, pile by pile."""
    register = world.register(local(_FLOWN_ON, 17), _FLOWN_ON)
    marked = {one.record["name"]: one.day for one in register.events.marks}
    season = SEASONS[-1][0][1].year
    piles = sorted((marked[label], label, bags)
                   for (label, year), bags in waiting_bags(register).items() if year == season)
    rows = []
    for number, (begun, label, bags) in enumerate(piles, 1):
        stays = LEFT if label == PILE else _LEFT_BEFORE if number == len(piles) - 1 else 0
        day = min(begun + timedelta(days=24), _FLOWN_ON)
        rows += [{"day": day.isoformat(), "person": "F", "batch": f"F26-{number}",
                  "stage": stage, "bags": bags - stays, "from": for_form(label)}
                 for stage in ("lifted", "arrived")]
    return rows


def _weighed(day: date, kg: Sequence[int]) -> list[dict[str, Any]]:
    return [{"day": day.isoformat(), "person": "F", "batch": f"W{day:%m%d}-{number}",
             "stage": "weighed", "bags": 1, "from": for_form(PILE), "wet_kg": one}
            for number, one in enumerate(kg, 1)]
