"""Condition: scrub and water over the surveys, by cell and class, and whether work helped.

Rule 1: a change rests on plots read in two surveys; a level is the register's, of all plots of the
latest survey, so that it need not be where the change led.
Rule 2: what followed work is an observation, not proof: nobody drew by chance where it was done.
"""

import dataclasses
import statistics
from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date

from sync.flags.condition import read_of
from sync.plan.works import Work, works_of
from sync.register.build import Register
from sync.register.latest_read import latest_read, level_of
from sync.survey.condition import (
    Rewalked,
    Value,
    WaterChange,
    between,
    median_change,
    rewalked,
    scrub_of,
    water_changes,
    water_of,
)
from sync.survey.paired import PairedChange, paired_change
from sync.survey.readings import Reading

#: Work that is to change the scrub, and work that is to change the water; what is to make moss
#: grow is a trial's to tell.
_MEANT_FOR: Mapping[str, Value] = {
    "scrub_cut": scrub_of, "sprayed": scrub_of, "drain_blocked": water_of,
}


@dataclasses.dataclass(frozen=True)
class CellCondition:
    """Scrub and water of a cell with plots read in two surveys.

    Attributes
    ----------
    scrub_pct, water_mm : float or None
        Mean of all plots of its latest survey, as in the register. [%], [mm]
    scrub : tuple of Rewalked
        Its re-walked plots. [%]
    water : WaterChange or None
        [mm]
    read_on : date
        The latest reading of either.
    """

    cell: str
    ground_class: str
    scrub_pct: float | None
    water_mm: float | None
    scrub: tuple[Rewalked, ...]
    water: WaterChange | None
    read_on: date


@dataclasses.dataclass(frozen=True)
class ClassCondition:
    """Change of scrub [points] and of water against the block's median [mm] of a class."""

    ground_class: str
    scrub_plots: int
    scrub: PairedChange | None
    water_plots: int
    water: PairedChange | None


@dataclasses.dataclass(frozen=True)
class WorkHelped:
    """Work, and what was read of what it is for.

    Attributes
    ----------
    measure : str
        `scrub`, `water`, or empty where nothing tells it but a trial.
    plots : int
        In its cells, read before and since.
    relative : PairedChange or None
        Their change less the block's median over the same days; None under two plots.
    mean : float or None
        Of the same; None without a plot.
    """

    work: Work
    measure: str
    plots: int
    mean: float | None
    relative: PairedChange | None


@dataclasses.dataclass(frozen=True)
class Condition:
    """The condition of a block on a day."""

    cells: tuple[CellCondition, ...]
    classes: tuple[ClassCondition, ...]
    works: tuple[WorkHelped, ...]


def condition_of(register: Register) -> Condition:
    """Say how scrub and water stand, and what followed the work.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Returns
    -------
    Condition
        Cells with a plot read in two surveys, by column and row; classes by name; work by day.
    """
    read, tunables = read_of(register), register.tunables
    water = water_changes(
        read, survey_days=tunables.survey_days, least_cells=tunables.water_cells)
    cells = []
    for cell, mine in read.items():
        scrub = rewalked(mine, scrub_of, survey_days=tunables.survey_days)
        wet = water.get(cell)
        if scrub or wet:
            pairs = (*scrub, *(wet.plots if wet else ()))
            crop = register.crop.cells[cell]
            latest = latest_read(register, crop)
            cells.append(CellCondition(
                cell, crop.ground_class, level_of(latest, scrub_of), level_of(latest, water_of),
                scrub, wet, max(pair.after_on for pair in pairs)))
    return Condition(tuple(cells), _classes(cells),
                     tuple(_work(register, one, read) for one in works_of(register)))


def _classes(cells: Sequence[CellCondition]) -> tuple[ClassCondition, ...]:
    """Sum up by class; a plot's water change is taken less the median that its cell's was."""
    scrub: dict[str, list[float]] = defaultdict(list)
    water: dict[str, list[float]] = defaultdict(list)
    for one in cells:
        scrub[one.ground_class] += [pair.change for pair in one.scrub]
        if one.water is not None and one.water.relative_mm is not None:
            median = one.water.change_mm - one.water.relative_mm
            water[one.ground_class] += [pair.change - median for pair in one.water.plots]
    return tuple(
        ClassCondition(name, len(scrub[name]), _paired(scrub[name]), len(water[name]),
                       _paired(water[name]))
        for name in sorted({one.ground_class for one in cells}))


def _paired(changes: Sequence[float]) -> PairedChange | None:
    return paired_change(changes) if len(changes) > 1 else None


def _work(
    register: Register, work: Work, read: Mapping[str, Sequence[Reading]]
) -> WorkHelped:
    value = _MEANT_FOR.get(work.seen.what)
    if value is None:
        return WorkHelped(work, "", 0, None, None)
    days = register.tunables.survey_days
    relative = []
    for cell in work.cells:
        for pair in _about(read.get(cell, ()), value, work.seen.day, days):
            median, cells = median_change(
                read, value, pair.before_on, pair.after_on, survey_days=days)
            if cells >= register.tunables.water_cells:
                relative.append(pair.change - median)
    return WorkHelped(work, "scrub" if value is scrub_of else "water", len(relative),
                    statistics.fmean(relative) if relative else None, _paired(relative))


def _about(
    read: Sequence[Reading], value: Value, done: date, survey_days: int
) -> tuple[Rewalked, ...]:
    """Pair of each plot the last reading up to a day with the latest after it."""
    found: list[Rewalked] = []
    by_plot: dict[str, list[Reading]] = defaultdict(list)
    for one in read:
        if one.plot is not None and value(one) is not None:
            by_plot[one.plot].append(one)
    for mine in by_plot.values():
        before = [one for one in mine if one.day <= done]
        after = [one for one in mine if one.day > done]
        if before and after:
            found += between([before[-1], after[-1]], value, before[-1].day, after[-1].day,
                             survey_days=survey_days)
    return tuple(found)
