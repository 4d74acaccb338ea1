"""Scrub and water at plots that were read more than once: what changed there, and where.

Rule 1: only a plot read in two surveys tells of change; two places of a cell differ anyway.
Rule 2: a fall of the water table is read against the block's median over the same days, so that a
dry summer says nothing; of too few cells there is no such median.
Rule 3: first reading against latest, so that a slow change is seen too.
"""

import dataclasses
import statistics
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date

from sync.survey.readings import Reading

Value = Callable[[Reading], float | None]


@dataclasses.dataclass(frozen=True)
class Rewalked:
    """A plot with a value in two surveys.

    Attributes
    ----------
    before, after : float
        In the unit of the value.
    records : tuple of str
        The two readings.
    """

    cell: str
    plot: str
    before_on: date
    after_on: date
    before: float
    after: float
    records: tuple[str, str]

    @property
    def change(self) -> float:
        """After less before."""
        return self.after - self.before


@dataclasses.dataclass(frozen=True)
class WaterChange:
    """What the water table of a cell did.

    Attributes
    ----------
    change_mm : float
        Mean over its re-walked plots; negative where it fell. [mm]
    relative_mm : float or None
        Less the block's median over the same days; None where too few cells were read then. [mm]
    level_mm : float
        Mean of the latest readings, negative below the moss surface. [mm]
    cells : int
        In the median; of plots with other days the fewest.
    plots : tuple of Rewalked
        Its own.
    """

    cell: str
    change_mm: float
    relative_mm: float | None
    level_mm: float
    cells: int
    plots: tuple[Rewalked, ...]


def scrub_of(reading: Reading) -> float | None:
    """Give the scrub's cover. [%]."""
    return reading.scrub_pct


def water_of(reading: Reading) -> float | None:
    """Give the water table against the moss surface, negative below it. [mm]."""
    return reading.water_table_mm


def rewalked(
    readings: Iterable[Reading], value: Value, *, survey_days: int
) -> tuple[Rewalked, ...]:
    """Pair the first and the latest reading of each plot.

    Parameters
    ----------
    readings : iterable of Reading
        Of any cells.
    value : callable
        What is read; None where it was not noted.
    survey_days : int
        Readings no farther apart are of one survey, and no pair. [days]

    Returns
    -------
    tuple of Rewalked
        By cell and plot.
    """
    return tuple(
        _pair(read[0], read[-1], value) for read in _by_plot(readings, value).values()
        if (read[-1].day - read[0].day).days > survey_days
    )


def between(
    readings: Iterable[Reading], value: Value, start: date, end: date, *, survey_days: int
) -> tuple[Rewalked, ...]:
    """Pair what each plot had about two days.

    Parameters
    ----------
    readings : iterable of Reading
        Of any cells.
    value : callable
        What is read.
    start, end : date
        The two days; of each plot the nearest reading counts.
    survey_days : int
        Readings farther from a day say nothing of it. [days]

    Returns
    -------
    tuple of Rewalked
        Of plots with two readings in that order, farther apart than a survey lasts.
    """
    found = []
    for read in _by_plot(readings, value).values():
        before, after = _nearest(read, start), _nearest(read, end)
        near = max(abs(before.day - start).days, abs(after.day - end).days) <= survey_days
        if near and (after.day - before.day).days > survey_days:
            found.append(_pair(before, after, value))
    return tuple(found)


def water_changes(
    readings: Mapping[str, Sequence[Reading]], *, survey_days: int, least_cells: int
) -> dict[str, WaterChange]:
    """Give what the water table did in each cell with a plot that was read again.

    Parameters
    ----------
    readings : mapping of str to sequence of Reading
        By cell.
    survey_days : int
        How long a survey lasts. [days]
    least_cells : int
        Fewer cells read about the same two days have no median.

    Returns
    -------
    dict of str to WaterChange
        By cell, in the order of `readings`.
    """
    medians: dict[tuple[date, date], tuple[float, int]] = {}

    def median(pair: Rewalked) -> tuple[float, int]:
        days = pair.before_on, pair.after_on
        if days not in medians:
            medians[days] = median_change(readings, water_of, *days, survey_days=survey_days)
        return medians[days]

    found = {}
    for cell, read in readings.items():
        pairs = rewalked(read, water_of, survey_days=survey_days)
        if not pairs:
            continue
        against = [median(pair) for pair in pairs]
        cells = min(number for _, number in against)
        change = statistics.fmean(pair.change for pair in pairs)
        relative = change - statistics.fmean(middle for middle, _ in against)
        found[cell] = WaterChange(
            cell, change, relative if cells >= least_cells else None,
            statistics.fmean(pair.after for pair in pairs), cells, pairs,
        )
    return found


def median_change(
    readings: Mapping[str, Sequence[Reading]], value: Value, start: date, end: date, *,
    survey_days: int,
) -> tuple[float, int]:
    """Give the block's median change between two days, and how many cells are in it.

    Parameters
    ----------
    readings : mapping of str to sequence of Reading
        By cell.
    value : callable
        What is read.
    start, end : date
        The two days.
    survey_days : int
        Readings farther from a day say nothing of it. [days]

    Returns
    -------
    median : float
        Over cells, each the mean of its plots; 0 without a cell.
    cells : int
        How many.
    """
    means = [
        statistics.fmean(pair.change for pair in pairs) for read in readings.values()
        if (pairs := between(read, value, start, end, survey_days=survey_days))
    ]
    return (statistics.median(means) if means else 0.0), len(means)


def _by_plot(readings: Iterable[Reading], value: Value) -> dict[tuple[str, str], list[Reading]]:
    """Give the readings of each plot that have the value, oldest first."""
    found: dict[tuple[str, str], list[Reading]] = defaultdict(list)
    for one in sorted(readings, key=lambda r: (r.cell, r.plot or "", r.day, r.name)):
        if one.plot is not None and value(one) is not None:
            found[one.cell, one.plot].append(one)
    return found


def _nearest(read: Sequence[Reading], day: date) -> Reading:
    return min(read, key=lambda r: (abs(r.day - day), r.day))


def _pair(before: Reading, after: Reading, value: Value) -> Rewalked:
    return Rewalked(
        before.cell, before.plot or "", before.day, after.day, value(before) or 0.0,
        value(after) or 0.0, (before.name, after.name),
    )
