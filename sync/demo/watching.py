"""What the owner of the made-up block watches on pegged plots: scrub, water, a trial of rolling.

Rule 1: it has chance of its own, so that no other figure of the story moves.
Rule 2: pegged plots are chosen, and scrub and water are read there without probing the moss, so
that they set no crop; it comes by forms, at the end of the story.
"""

import json
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Any

import numpy as np

from sync.demo.place import local
from sync.demo.seasons import SEASONS
from sync.demo.world import World
from sync.disk.trials import add_draw
from sync.plan.pairs import Wish, draw_trial

TRIAL = "rolling"
#: Teatree Neck, two plots a cell: scrub first, and how much more two years later. [% of ground]
SCRUB = {
    "A02": ((3, 9), (5, 6)), "B01": ((4, 2), (2, 12)), "B02": ((6, 17), (4, 11)),
    "C02": ((5, 3), (3, 12)),
}
SCRUB_DAYS = (date(2023, 7, 18), date(2025, 7, 18))
#: Along Long Drain, and wells elsewhere.
DRYING = ("J09", "J10", "K08", "K09")
WELLS = ("C05", "D05", "D08", "E07", "F04", "F09", "G10", "H08", "I06", "J04", "K05", "L06")
WELL_DAYS = (date(2023, 7, 20), date(2025, 7, 22))
#: Mean level first, mean change, and spread of each. [mm]
_CORNER_MM, _ELSEWHERE_MM = (-140.0, -150.0), (-100.0, -26.0)
_LEVEL_SD_MM, _CHANGE_SD_MM, _STEP_MM = 12.0, 10.0, 5
DRAIN_BLOCKED = date(2025, 8, 3)
#: How much more the rolled cell of each pair gained. [L/m²]
GAINED = (14, 22, -3, 9, 17, 11)
_DRAWN = ((date(2023, 9, 1), 41), (date(2024, 9, 1), 42))
#: Picked half a year after the only other cell of its class in that season.
_ALONE = "K04"
_PAIRS_A_SEASON = 3
_ROLLED_AFTER, _READ_AGAIN = timedelta(days=4), date(2025, 7, 28)
_COVER_PCT, _BETWEEN_PLOTS_L_M2 = 50, 4
_TYPED_IN = date(2026, 2, 18)


def watch(world: World, seed: int) -> None:
    """Peg the plots, type in what was read there, and the work that was done.

    Parameters
    ----------
    world : World
        The block at the end of its story.
    seed : int
        Of the whole demo.
    """
    kept, world.rng = world.rng, np.random.default_rng([seed, 8])
    try:
        _peg(world, {**dict.fromkeys(SCRUB, 2), **dict.fromkeys((*DRYING, *WELLS), 1)}, "W",
             when="survey")
        world.form("quadrat", [*_scrub(world), *_water(world)], local(_TYPED_IN, 18))
        _try_rolling(world)
        world.form("work", [{
            "day": DRAIN_BLOCKED.isoformat(), "person": "F", "what": "drain_blocked",
            "cells": " ".join(DRYING), "hours": 7,
        }], local(_TYPED_IN, 19))
    finally:
        world.rng = kept


def _peg(world: World, plots_of: Mapping[str, int], letter: str, *, when: str) -> None:
    """Add so many pegged plots a cell to plots.json, as chosen ones."""
    draws = json.loads((world.folder / "plots.json").read_text(encoding="utf-8"))["draws"]
    plots = []
    for cell, count in plots_of.items():
        for number in range(1, count + 1):
            lat, lon = world.projection.to_deg(*world.place_in(cell, 0.0))
            plots.append({
                "plot": _plot(letter, cell, number), "cell": cell, "lat": round(float(lat), 7),
                "lon": round(float(lon), 7), "spare": False, "again": False, "pegged": True,
            })
    world.keep_plots([*draws, {
        "draw": len(draws) + 1, "made_on": WELL_DAYS[0].isoformat(), "how": "chosen",
        "when": when, "plots": plots,
    }])


def _plot(letter: str, cell: str, number: int) -> str:
    return f"{letter}-{cell}-{number}"


def _reading(day: date, plot: str, **read: Any) -> dict[str, Any]:
    return {"day": day.isoformat(), "person": "SW", "plot": plot, "when": "survey", "side_m": 0.5,
            "cover_pct": _COVER_PCT, "depth_mm": "", "scrub_pct": "", "water_table_mm": "", **read}


def _scrub(world: World) -> Iterator[dict[str, Any]]:
    for cell, plots in SCRUB.items():
        for number, (first, more) in enumerate(plots, 1):
            for day, scrub in zip(SCRUB_DAYS, (first, first + more), strict=True):
                yield _reading(day, _plot("W", cell, number), scrub_pct=scrub)


def _water(world: World) -> Iterator[dict[str, Any]]:
    for cell in (*DRYING, *WELLS):
        level, change = _CORNER_MM if cell in DRYING else _ELSEWHERE_MM
        first = level + float(world.rng.normal(0.0, _LEVEL_SD_MM))
        second = first + change + float(world.rng.normal(0.0, _CHANGE_SD_MM))
        for day, mm in zip(WELL_DAYS, (first, second), strict=True):
            yield _reading(day, _plot("W", cell, 1),
                           water_table_mm=_STEP_MM * round(mm / _STEP_MM))


def _try_rolling(world: World) -> None:
    """Draw the trial by the program itself, roll what it says, and read both cells of a pair."""
    for season, (day, seed) in zip(SEASONS, _DRAWN, strict=False):
        cells = tuple(cell for cell, _ in season if cell != _ALONE)
        register = world.register(local(_TYPED_IN, 18), day)
        add_draw(world.folder, draw_trial(
            register, Wish(TRIAL, "rolled", _PAIRS_A_SEASON, cells), seed=seed))
    register = world.register(local(_TYPED_IN, 18), _TYPED_IN)
    pairs = [pair for draw in register.block.trials for pair in draw.pairs]
    _peg(world, {cell: 2 for p in pairs for cell in (p.treated, p.other)}, "T",
         when="after_pick")
    read: list[dict[str, Any]] = []
    work: list[dict[str, Any]] = []
    for pair, gained in zip(pairs, GAINED, strict=True):
        rise = int(world.rng.integers(8, 18))
        for cell, more in ((pair.treated, rise + gained), (pair.other, rise)):
            ended = next(p.made.last for p in register.crop.cells[cell].picks if not p.touch)
            left = int(world.rng.integers(22, 35))
            read += _index_read(cell, ended + timedelta(days=1), left, "after_pick")
            read += _index_read(cell, _READ_AGAIN, left + more, "survey")
            if cell == pair.treated:
                work.append({"day": (ended + _ROLLED_AFTER).isoformat(), "person": "F",
                             "what": "rolled", "cells": cell, "hours": 3, "trial": TRIAL})
    world.form("quadrat", read, local(_TYPED_IN, 19))
    world.form("work", work, local(_TYPED_IN, 19))


def _index_read(cell: str, day: date, l_m2: int, when: str) -> Iterator[dict[str, Any]]:
    """Read a cell's two plots whose mean index is so much. [L/m²]."""
    for number, apart in ((1, _BETWEEN_PLOTS_L_M2), (2, -_BETWEEN_PLOTS_L_M2)):
        depth = (l_m2 + apart) * 100 // _COVER_PCT
        yield _reading(day, _plot("T", cell, number), when=when,
                       depth_mm=f"{depth - 10} {depth} {depth + 10}")
