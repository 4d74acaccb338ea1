"""What was read in a cell's latest survey: of these readings are its levels, wherever they stand.

Rule 1: a level is the mean of all plots that were read, also of those read for the first time; a
change is told of plots read in two surveys alone, so that the two need not agree.
"""

import statistics
from collections.abc import Iterable
from datetime import date

from sync.crop.chain import CellCrop
from sync.register.build import Register
from sync.survey.condition import Value
from sync.survey.readings import Reading, Survey, surveys_of


def latest_survey(register: Register, crop: CellCrop) -> Survey | None:
    """Give the cell's latest survey, whether its class has a figure or not."""
    days = sorted({day for p in crop.picks if not p.touch for day in p.made.days})
    useful = [r.reading for r in crop.readings if r.index is not None]
    surveys = surveys_of(useful, days, survey_days=register.tunables.survey_days)
    return surveys[-1] if surveys else None


def latest_read(register: Register, crop: CellCrop) -> list[Reading]:
    """Give the latest survey's readings, and since its first those of scrub and water alone."""
    latest = latest_survey(register, crop)
    alone = [r.reading for r in crop.readings if r.index is None]
    if latest is not None:
        first = latest.readings[0].day
        return [*latest.readings, *(r for r in alone if r.day >= first)]
    newest = max((r.day for r in alone), default=date.min)
    return [r for r in alone if (newest - r.day).days <= register.tunables.survey_days]


def level_of(readings: Iterable[Reading], value: Value) -> float | None:
    """Give the mean of what was read; None where nothing was. In the unit of the value."""
    read = [one for each in readings if (one := value(each)) is not None]
    return statistics.fmean(read) if read else None
