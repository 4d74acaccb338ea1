"""From quadrats as they were seen to the readings that a cell's surveys are made of.

Rule 1: of several quadrats on one plot in one survey the first reader's last counts; another
person's is a second reading and measures the observer, not the cell.
Rule 2: a quadrat outweighs a skip.
Rule 3: only a plot that was drawn by chance is "drawn"; chosen and by-eye places are by eye.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date

from sync.block import Plot
from sync.intake.seen import QuadratSeen


@dataclasses.dataclass(frozen=True)
class Again:
    """A second reading: its record, who read, and the cover. [%]."""

    name: str
    person: str
    cover_pct: float


@dataclasses.dataclass(frozen=True)
class Reading:
    """One quadrat of a cell, or a plot found bare.

    Attributes
    ----------
    name : str
        The record that says it.
    drawn : bool
        Whether its place was drawn by chance.
    person : str
        Who read it.
    again : tuple of Again
        Second readings of the same plot, the last of each other person.
    """

    name: str
    cell: str
    day: date
    plot: str | None
    drawn: bool
    when: str
    bare: bool
    cover_pct: float
    depth_mm: tuple[int, ...]
    scrub_pct: float | None
    water_table_mm: float | None
    clip: str | None
    person: str
    again: tuple[Again, ...] = ()


@dataclasses.dataclass(frozen=True)
class Survey:
    """The readings of a cell that belong together; its day is the latest's."""

    day: date
    readings: tuple[Reading, ...]
    by_eye: bool


def readings_of(
    quadrats: Iterable[QuadratSeen],
    plots: Sequence[Plot],
    cell_at: Callable[[QuadratSeen], str | None],
    *,
    survey_days: int,
    picking_days: Mapping[str, Sequence[date]] | None = None,
) -> tuple[tuple[Reading, ...], tuple[str, ...]]:
    """Choose the reading that counts of each plot in each survey.

    Parameters
    ----------
    quadrats : iterable of QuadratSeen
        Every quadrat and bare plot.
    plots : sequence of Plot
        Places drawn or chosen.
    cell_at : callable
        Cell of a quadrat by its own position, or None.
    survey_days : int
        Quadrats of one plot nearer than this belong to one survey. [days]
    picking_days : mapping of str to sequence of date, optional
        Days on which each cell was picked; one between two quadrats parts their surveys.

    Returns
    -------
    readings : tuple of Reading
        By day and name.
    nowhere : tuple of str
        Quadrats that no cell can be found for, by name.
    """
    known = {plot.name: plot for plot in plots}
    readings: list[Reading] = []
    nowhere: list[str] = []
    for visit in _visits(quadrats, known, survey_days, picking_days or {}):
        chosen, again = _chosen(visit)
        plot = known.get(chosen.plot) if chosen.plot else None
        cell = plot.cell if plot else chosen.cell or cell_at(chosen)
        if cell is None:
            nowhere.append(chosen.name)
            continue
        readings.append(_reading(chosen, cell, plot, again))
    readings.sort(key=lambda r: (r.day, r.name))
    return tuple(readings), tuple(sorted(nowhere))


def _visits(
    quadrats: Iterable[QuadratSeen],
    known: Mapping[str, Plot],
    survey_days: int,
    picking_days: Mapping[str, Sequence[date]],
) -> list[list[QuadratSeen]]:
    """Put what was noted on one plot in one survey together; by-eye quadrats stand alone."""
    by_plot: dict[tuple[str, bool], list[list[QuadratSeen]]] = defaultdict(list)
    alone: list[list[QuadratSeen]] = []
    for one in sorted(quadrats, key=lambda q: q.order):
        if one.plot is None or one.plot not in known:
            alone.append([one])
            continue
        visits = by_plot[one.plot, one.when == "after_pick"]
        picked = picking_days.get(known[one.plot].cell, ())
        if visits and _one_visit(visits[-1][0].day, one.day, survey_days, picked):
            visits[-1].append(one)
        else:
            visits.append([one])
    return alone + [visit for visits in by_plot.values() for visit in visits]


def _one_visit(first: date, day: date, survey_days: int, picked: Sequence[date]) -> bool:
    """Say whether two days are of one survey; a quadrat is of before that day's bags."""
    return (day - first).days <= survey_days and not any(first <= d < day for d in picked)


def _chosen(visit: Sequence[QuadratSeen]) -> tuple[QuadratSeen, tuple[Again, ...]]:
    seen = [q for q in visit if not q.bare] or list(visit)
    firsts = [q for q in seen if not q.again] or seen
    reader = firsts[0].person
    chosen = [q for q in firsts if q.person == reader][-1]
    others = {q.person: q for q in seen if q.person != reader}  # of each person the last counts
    return chosen, tuple(Again(q.name, q.person, q.cover_pct) for q in others.values())


def _reading(
    seen: QuadratSeen, cell: str, plot: Plot | None, again: tuple[Again, ...]
) -> Reading:
    return Reading(
        name=seen.name, cell=cell, day=seen.day, plot=seen.plot,
        drawn=plot is not None and plot.drawn, when=seen.when, bare=seen.bare,
        cover_pct=seen.cover_pct, depth_mm=seen.depth_mm, scrub_pct=seen.scrub_pct,
        water_table_mm=seen.water_table_mm, clip=seen.clip,
        person=seen.person, again=again,
    )


def surveys_of(
    readings: Sequence[Reading], picking_days: Sequence[date], *, survey_days: int
) -> tuple[Survey, ...]:
    """Part a cell's readings into surveys, oldest first.

    A survey is the drawn quadrats within `survey_days` before its latest and since the last
    picking day before that; one noted on a picking day is of before that day's bags. A cell
    without drawn ones is surveyed by eye.

    Parameters
    ----------
    readings : sequence of Reading
        Of one cell; those made right after a pick are passed over.
    picking_days : sequence of date
        Days on which the cell was picked, ascending; touches left out.
    survey_days : int
        Longest time between the first and the last quadrat of a survey. [days]

    Returns
    -------
    tuple of Survey
        Oldest first.
    """
    useful = [r for r in readings if r.when != "after_pick"]
    drawn = [r for r in useful if r.drawn]
    rest = sorted(drawn or useful, key=lambda r: (r.day, r.name))
    surveys: list[Survey] = []
    while rest:
        latest = rest[-1].day
        since = max((d for d in picking_days if d < latest), default=date.min)
        oldest = date.fromordinal(max(1, latest.toordinal() - survey_days))
        mine = tuple(r for r in rest if since < r.day and oldest <= r.day)
        surveys.append(Survey(latest, mine, by_eye=not drawn))
        rest = rest[: len(rest) - len(mine)]
    return tuple(reversed(surveys))
