"""The few figures by which a landowner or a council judges a block: yield, work, care, rest of it.

Rule 1: every figure comes from the register; a figure that is not known is None, never 0.
Rule 2: people are counted, never named; a day's work is a person and a local day, whatever its
length.
"""

import dataclasses
import math
import statistics
from collections.abc import Callable, Iterable
from datetime import date

from sync.block import season_of
from sync.crop.chain import CellCrop
from sync.crop.long_run_range import LongRun, long_run_range
from sync.picks.bags import kg_of
from sync.register.build import Register
from sync.survey.readings import Reading


@dataclasses.dataclass(frozen=True)
class Work:
    """Picking so far: days of a person at work, and what they gave.

    Attributes
    ----------
    picker_days, survey_days : int
        Different pairs of person and local day with a bag, with a quadrat.
    kg, sd_kg : float
        Of all bags, shed-dry. [kg]
    seasons : int
        With a bag.
    """

    picker_days: int
    survey_days: int
    kg: float
    sd_kg: float
    seasons: int

    @property
    def days_a_t(self) -> float | None:
        """Picker-days for a tonne; None before the first kg."""
        return 1000.0 * self.picker_days / self.kg if self.kg > 0.0 else None


@dataclasses.dataclass(frozen=True)
class Median:
    """A median over cells, each by its latest day of reading: of how many, and which days."""

    value: float
    cells: int
    first: date
    last: date


@dataclasses.dataclass(frozen=True)
class Touched:
    """What was done to the ground so far, by hectares of open ground.

    Attributes
    ----------
    open_ha : float
        All of it.
    never_picked_ha : float
        Cells without a pick or a touch that anybody noted.
    never_measured_ha : float
        Cells without a quadrat.
    neither_ha : float
        Cells with none of both.
    resting_cells, resting_ha : int, float
        At rest today.
    picks, past_picks : int
        More than touches, with the program; from before it, typed in.
    """

    open_ha: float
    never_picked_ha: float
    never_measured_ha: float
    neither_ha: float
    resting_cells: int
    resting_ha: float
    picks: int
    past_picks: int


@dataclasses.dataclass(frozen=True)
class Land:
    """All of it; water is told in mm from the moss surface, scrub in % of the ground."""

    yearly: LongRun | None
    work: Work
    touched: Touched
    water_mm: Median | None
    scrub_pct: Median | None


def land_of(register: Register) -> Land:
    """Gather the figures for a landowner or a council.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Returns
    -------
    Land
        At full precision.
    """
    cells = tuple(register.crop.cells.values())
    return Land(
        long_run_range(register.crop), _work(register), _touched(register),
        _median(cells, lambda one: one.water_table_mm), _median(cells, lambda one: one.scrub_pct))


def _work(register: Register) -> Work:
    placed = [one for one in register.known.placed if one.bag.day <= register.on]
    weighed = kg_of(placed, None, register.crop.weights, register.block)
    start = register.block.season_start
    return Work(
        picker_days=len({(one.bag.picker, one.bag.day) for one in placed if one.bag.bags > 0}),
        survey_days=len({(one.person, one.day) for one in register.known.readings
                         if one.day <= register.on}),
        kg=weighed.kg, sd_kg=math.sqrt(weighed.variance),
        seasons=len({season_of(one.bag.day, start) for one in placed}),
    )


def _touched(register: Register) -> Touched:
    cells = register.crop.cells
    resting = [name for name, one in register.cells.items() if one.state == "resting"]
    picks = [pick for one in cells.values() for pick in one.picks if not pick.touch]
    typed = {one.name for one in register.known.past}
    past = sum(not typed.isdisjoint(pick.made.records) for pick in picks)
    return Touched(
        open_ha=_ha(cells.values()),
        never_picked_ha=_ha(one for one in cells.values() if not one.picks),
        never_measured_ha=_ha(one for one in cells.values() if not one.readings),
        neither_ha=_ha(one for one in cells.values() if not one.picks and not one.readings),
        resting_cells=len(resting), resting_ha=_ha(cells[name] for name in resting),
        picks=len(picks) - past, past_picks=past,
    )


def _ha(cells: Iterable[CellCrop]) -> float:
    return math.fsum(one.open_m2 for one in cells) / 1e4


def _median(
    cells: Iterable[CellCrop], read: Callable[[Reading], float | None]
) -> Median | None:
    """Give the median over cells of the mean on each one's latest day with such a reading."""
    found: list[tuple[date, float]] = []
    for cell in cells:
        said = [(one.reading.day, float(value)) for one in cell.readings
                if (value := read(one.reading)) is not None]
        if said:
            latest = max(day for day, _ in said)
            found.append((latest, statistics.fmean(v for day, v in said if day == latest)))
    if not found:
        return None
    days = [day for day, _ in found]
    return Median(statistics.median(v for _, v in found), len(found), min(days), max(days))
