"""scrub_spreading and drying: ground that gets worse for moss.

Rule 1: only plots read in two surveys count.
Rule 2: a cell's few plots are read together with those of the eight cells about it, since scrub
comes over the line; but the cell's own plots must have risen too.
"""

import statistics
from collections.abc import Iterator

from sync.block import season_of
from sync.flags.flag import Flag
from sync.geometry.grid import cell_index
from sync.register.build import Register
from sync.survey.condition import Rewalked, WaterChange, rewalked, scrub_of, water_changes
from sync.survey.paired import PairedChange, has_risen, paired_change
from sync.survey.readings import Reading
from sync.survey.water import is_drying


def read_of(register: Register) -> dict[str, tuple[Reading, ...]]:
    """Give the readings of each cell until the day asked about."""
    return {cell: tuple(r.reading for r in crop.readings)
            for cell, crop in register.crop.cells.items()}


def scrub_spreading(register: Register) -> Iterator[Flag]:
    """Flag cells in which scrub spreads.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a cell: its own plots rose enough, and its plots with its neighbours' surely.
    """
    tunables = register.tunables
    own = {
        cell: pairs for cell, read in read_of(register).items()
        if (pairs := rewalked(read, scrub_of, survey_days=tunables.survey_days))
    }
    for cell, mine in own.items():
        near = [pair for other, pairs in own.items() if _touch(cell, other) for pair in pairs]
        rise = statistics.fmean(pair.change for pair in mine)
        if len(near) < 2 or rise < tunables.scrub_points:
            continue
        change = paired_change([pair.change for pair in near])
        if has_risen(change, least=tunables.scrub_points):
            yield _scrub(register, cell, mine, near, change)


def _touch(one: str, other: str) -> bool:
    """Say whether two cells are one, or touch by a side or a corner."""
    (col, row), (their_col, their_row) = cell_index(one), cell_index(other)
    return abs(col - their_col) <= 1 and abs(row - their_row) <= 1


def _scrub(
    register: Register, cell: str, mine: tuple[Rewalked, ...], near: list[Rewalked],
    change: PairedChange,
) -> Flag:
    since = min(pair.before_on for pair in near)
    until = max(pair.after_on for pair in near)
    was, now = (statistics.fmean(values) for values in (
        [pair.before for pair in mine], [pair.after for pair in mine]))
    why = (
        f"scrub in {cell} went from {was:.0f} to {now:.0f} % of the ground at "
        f"{_plots(len(mine))}; with the cells about it {_plots(len(near))} rose by "
        f"{change.mean:.1f} points from {since.isoformat()} to {until.isoformat()} (90 % range "
        f"{change.low:.1f} to {change.high:.1f}); a walk over the ground, or the same plots read "
        "again, would settle it"
    )
    return Flag(
        "scrub_spreading", cell, season_of(until, register.block.season_start), cell, why, None,
        "sure", tuple(name for pair in near for name in pair.records),
        {"change_pct": change.mean, "low_pct": change.low, "high_pct": change.high,
         "plots": len(near), "own_plots": len(mine), "before_pct": was, "after_pct": now,
         "since": since, "until": until},
    )


def drying(register: Register) -> Iterator[Flag]:
    """Flag cells that dry while the block about them does not.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a cell.
    """
    tunables = register.tunables
    found = water_changes(
        read_of(register), survey_days=tunables.survey_days, least_cells=tunables.water_cells)
    for cell, water in found.items():
        if water.relative_mm is not None and is_drying(
            water.relative_mm, water.level_mm, least_fall_mm=tunables.water_fall_mm,
            dry_level_mm=tunables.water_dry_mm,
        ):
            yield _drying(register, cell, water, water.relative_mm)


def _drying(register: Register, cell: str, water: WaterChange, relative_mm: float) -> Flag:
    since = min(pair.before_on for pair in water.plots)
    until = max(pair.after_on for pair in water.plots)
    why = (
        f"the water table of {cell} fell by {-water.change_mm:.0f} mm at "
        f"{_plots(len(water.plots))} from {since.isoformat()} to {until.isoformat()}, "
        f"{-relative_mm:.0f} mm more than the median of {water.cells} cells, and stands at "
        f"{water.level_mm:.0f} mm; the same plots read again after rain, and a look at drains "
        "near by, would settle it"
    )
    return Flag(
        "drying", cell, season_of(until, register.block.season_start), cell, why, None, "sure",
        tuple(name for pair in water.plots for name in pair.records),
        {"change_mm": water.change_mm, "relative_mm": relative_mm, "level_mm": water.level_mm,
         "plots": len(water.plots), "cells": water.cells, "since": since, "until": until},
    )


def _plots(number: int) -> str:
    return f"{number} re-walked plot" if number == 1 else f"{number} re-walked plots"
