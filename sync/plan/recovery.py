"""What regrew: each cell measured again after a pick, against what was to be expected there.

Rule 1: a cell's forecast uses the growth that the other cells teach, so that no cell vouches for
itself.
"""

import dataclasses
import math
from collections.abc import Iterator
from datetime import date

from sync.crop.again import came_back, walk_again
from sync.crop.back import Back
from sync.crop.chain import Crop
from sync.crop.learn import Learned, growth_without
from sync.crop.narrow import Narrowing, narrowings
from sync.crop.walk import Growth
from sync.crop.walked import Step
from sync.picks.joining import mean_day
from sync.register.build import Register
from sync.settings import DAYS_PER_YEAR


@dataclasses.dataclass(frozen=True)
class Regrew:
    """A survey of a cell that had been picked since the survey before.

    Attributes
    ----------
    picked_from, picked_to : date
        First and last day of the picks between the two surveys.
    picked_kg : float or None
        In all; None where nobody knows. [kg]
    years : float
        From the mean day of the last of those picks to the survey. [yr]
    forecast_kg, forecast_sd, measured_kg, measured_sd, mark_kg : float
        [kg]
    surprise : float
        Measured less forecast, in standard deviations of that difference. [-]
    teaches : bool
        Whether the growth rate is learned from it.
    """

    cell: str
    ground_class: str
    picked_from: date
    picked_to: date
    picked_kg: float | None
    read_on: date
    years: float
    forecast_kg: float
    forecast_sd: float
    measured_kg: float
    measured_sd: float
    mark_kg: float
    surprise: float
    teaches: bool
    records: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Recovery:
    """What regrew: re-measured cells, rests that ended, growth, and what would narrow it."""

    cells: tuple[Regrew, ...]
    ended: tuple[Back, ...]
    learned: Learned
    enough_sd: float
    narrowing: tuple[Narrowing, ...]


def recovery_of(register: Register) -> Recovery:
    """Say what regrew.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Returns
    -------
    Recovery
        Cells by column and row; narrowing is empty once the rate is earned.
    """
    crop, tunables = register.crop, register.tunables
    learned = crop.learned
    enough = tunables.growth_cv_enough * learned.growth.rate
    earned = math.sqrt(learned.growth.variance) < enough
    return Recovery(
        tuple(one for cell in crop.cells for one in _cell(register, cell)),
        tuple(back for cell in crop.cells for back in came_back(crop, cell, tunables)),
        learned, enough,
        () if earned else narrowings(crop, tunables, season_start=register.block.season_start),
    )


def _cell(register: Register, cell: str) -> Iterator[Regrew]:
    crop = register.crop
    known = crop.cells[cell]
    if known.walked is None or not any(not pick.touch for pick in known.picks):
        return
    learned = crop.class_learned.get(known.ground_class, crop.learned)
    walked = walk_again(crop, cell, register.tunables, until=register.on,
                        growth=_without(crop, learned, cell))
    steps = walked.steps if walked is not None else ()
    taught = {name for one in learned.regrown if one.cell == cell for name in one.records}
    since = date.min
    for step in steps:
        if not step.what.startswith("survey"):
            continue
        found = _row(register, cell, step, since, taught)
        if found is not None:
            yield found
        since = step.day


def _without(crop: Crop, learned: Learned, cell: str) -> Growth:
    """Give the growth that the other cells teach."""
    others = crop.kept.left_out.give(
        len(learned.regrown), (learned.prior, learned.regrown), lambda: growth_without(learned))
    return others.get(cell, learned.growth)


def _row(
    register: Register, cell: str, step: Step, since: date, taught: set[str]
) -> Regrew | None:
    known = register.crop.cells[cell]
    between = [pick for pick in known.picks
               if not pick.touch and since <= pick.made.first < step.day]
    if step.met is None or not between:
        return None
    kg = [pick.made.whole.kg for pick in between if pick.made.whole is not None]
    last = between[-1].made
    by_day = {day: one.kg for day, one in last.by_day.items()}
    at = mean_day(by_day) if by_day and sum(by_day.values()) > 0.0 else float(
        last.last.toordinal())
    return Regrew(
        cell, known.ground_class, between[0].made.first, last.last,
        math.fsum(kg) if len(kg) == len(between) else None, step.day,
        (step.day.toordinal() - at) / DAYS_PER_YEAR, step.met.forecast_kg, step.met.forecast_sd,
        step.met.measured_kg, step.met.measured_sd, step.mark_kg, step.met.surprise,
        bool(taught & set(step.records)), step.records,
    )
