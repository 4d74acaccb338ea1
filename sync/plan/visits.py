"""A cell's visits: what was read there at one time, plot by plot, whatever it was read for.

Rule 1: readings right after a pick count here, for they show what was left; they set no crop.
"""

import dataclasses
import statistics
from collections.abc import Mapping, Sequence
from datetime import date

from sync.crop.chain import CellCrop
from sync.crop.classes import ReadingIndex


@dataclasses.dataclass(frozen=True)
class Visit:
    """Readings of a cell that belong together.

    Attributes
    ----------
    after_pick : bool
        Whether they were noted right after a pick.
    mean_l_m2 : float
        Over all its quadrats. [L m⁻²]
    plots : mapping of str to float
        Index by plot; quadrats without a plot are only in the mean. [L m⁻²]
    """

    first: date
    last: date
    after_pick: bool
    mean_l_m2: float
    plots: Mapping[str, float]
    records: tuple[str, ...]


def visits_of(crop: CellCrop, *, survey_days: int) -> tuple[Visit, ...]:
    """Part a cell's readings into visits.

    Parameters
    ----------
    crop : CellCrop
        Its readings and picks until the day asked about.
    survey_days : int
        Longest time between the first and the last reading of a visit. [days]

    Returns
    -------
    tuple of Visit
        Oldest first; a picking day parts them, and so does what was noted after a pick.
    """
    picked = sorted({day for p in crop.picks if not p.touch for day in p.made.days})
    visits: list[list[ReadingIndex]] = []
    for one in sorted(crop.readings, key=lambda r: (r.reading.day, r.reading.name)):
        if one.index is None:
            continue
        if visits and _together(visits[-1][0], one, picked, survey_days):
            visits[-1].append(one)
        else:
            visits.append([one])
    return tuple(_visit(read) for read in visits)


def _together(
    first: ReadingIndex, one: ReadingIndex, picked: Sequence[date], survey_days: int
) -> bool:
    begun, day = first.reading.day, one.reading.day
    return (
        (first.reading.when == "after_pick") == (one.reading.when == "after_pick")
        and (day - begun).days <= survey_days
        and not any(begun <= picking < day for picking in picked)
    )


def _visit(read: Sequence[ReadingIndex]) -> Visit:
    known = [(r.reading, r.index.volume_l_m2) for r in read if r.index is not None]
    return Visit(
        known[0][0].day, known[-1][0].day, known[0][0].when == "after_pick",
        statistics.fmean(volume for _, volume in known),
        {reading.plot: volume for reading, volume in known if reading.plot is not None},
        tuple(reading.name for reading, _ in known),
    )


def picks_between(crop: CellCrop, before: Visit, after: Visit) -> int:
    """Count the picks of a cell between two visits; touches are none."""
    return sum(
        1 for pick in crop.picks if not pick.touch and pick.made.first < after.first
        and (before.last < pick.made.first
             or (before.last == pick.made.first and not before.after_pick))
    )
