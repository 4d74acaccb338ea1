"""A made-up block kept by the real chain for decades: survey, register, `fallow seasons`, pick.

Rule 1: every planned pick is made, to the kg, and weighed; the truth grows by the logistic.
Rule 2: all cells are ready at once, so a register is built once a rest.
Rule 3: what the rule's own protocol takes for granted is switched by what a block may be like and
by its `[settings]`, never by other code.
"""

import dataclasses
import math
from collections.abc import Mapping
from datetime import date, timedelta

import numpy as np
from made_block.book import CELLS, OWNERS_KG, PLOTS_A_CELL, Book, held, made_block
from made_block.case import Case
from made_block.surveying import Survey, first_survey
from made_block.world import FULL, HA, LEVEL_KG_M3, World, depth_of, lognormal, made_world

from sync.block import Block, Rule
from sync.crop.today import ahead_of
from sync.intake.check import Held
from sync.plan.seasons import plan_seasons
from sync.plan.wishes import Wishes
from sync.register.build import Inputs, Register, build
from sync.settings import Tunables, tunables_from

SURVEYED, FIRST = date(2022, 6, 15), date(2022, 11, 1)
REST_DAYS, REST_YEARS = 1830, 5.0
TENTH = 0.1
#: Four quadrats of this spread give a survey of CV 0.28, as the rule's own protocol has it.
QUADRATS, WITHIN_CV, BETWEEN_CV = 4, 0.56, 0.40
#: Strand of rested moss where its pickable share is one number: so deep that cover is far from 1.
RESTED_MM = 300.0
#: Long before the first survey, so that all is rested by then.
_LONG_AGO = date(1990, 1, 10)
#: Density stands in the settings, and no cell differs.
_DENSITY_TOLD: Mapping[str, object] = {
    "density_prior_kg_m3": LEVEL_KG_M3, "cv_density_block": 1e-3, "cv_density_class": 1e-3,
    "density_between_cells": 0.0,
}
#: Bags in one record, and in one lot. [bags]
_MOST_BAGS, _MOST_IN_A_LOT = 40, 1900


@dataclasses.dataclass(frozen=True)
class Given:
    """What of the rule's own protocol is given to the real chain; nothing leaves it as it is.

    Attributes
    ----------
    growth : bool
        The growth assumed is held: all cells were picked once before anybody weighed, and a cell
        teaches only by its first pick.
    density : bool
        Moss weighs the same everywhere and the settings say so: a survey errs by its quadrats.
    pickable : float or None
        Share of every rested crop above the living layer; None leaves it to cover and strand. [-]
    """

    growth: bool = False
    density: bool = False
    pickable: float | None = None


@dataclasses.dataclass(frozen=True)
class Round:
    """One round of picks.

    Attributes
    ----------
    take : float
        Mean over all cells, in units of the mean full crop. [-]
    picked_share, low_share : float
        Of the cells: picked now; ever under a tenth of full. [-]
    rate, rate_sd : float
        Growth rate by the register, and its SD. [1/yr]
    pickable : float
        Mean pickable share of its rested crops. [-]
    crop_cv : float
        Root mean square of its crops' CVs. [-]
    told_share : float
        Crop of the block by the register over the true one. [-]
    """

    take: float
    picked_share: float
    low_share: float
    rate: float
    rate_sd: float
    pickable: float
    crop_cv: float
    told_share: float


@dataclasses.dataclass
class Kept:
    """A block that is kept: what is true of it, what is noted, and what stands there now. [kg]."""

    given: Given
    block: Block
    tunables: Tunables
    world: World
    survey: Survey
    crop: dict[str, float]
    checked: list[Held] = dataclasses.field(default_factory=list)

    def full(self, cell: str) -> float:
        """Give what a cell's ground can carry. [kg]."""
        return self.world.mark_kg[cell] / FULL


def made(growth_times: float, given: Given, rng: np.random.Generator) -> Kept:
    """Draw a block and survey all of it once."""
    case = Case("decades", share=1.0, quadrats=(QUADRATS, QUADRATS), clips=24,
                between_cv=BETWEEN_CV, within_cv=WITHIN_CV, readers_cv=0.0,
                growth_times=growth_times)
    world, block = made_world(case, rng), made_block()
    tunables = Tunables()
    if given.density:
        world, tunables = _of_one_density(world), tunables_from(_DENSITY_TOLD)
    if given.pickable is not None:
        layer = (1.0 - given.pickable) * RESTED_MM
        block = dataclasses.replace(block, rules=(Rule(None, 60, 5.0, layer, 30.0),))
        survey = Survey(world, Book("shed"), rng)
    else:
        survey = first_survey(world, rng, SURVEYED)
    kept = Kept(given, block, tunables, world, survey, dict(world.mark_kg))
    if given.pickable is not None:
        _measure(kept, SURVEYED, 0)
        survey.clip(world.case.clips, SURVEYED)
    if given.growth:
        for cell in CELLS:
            survey.book.note("past_pick", SURVEYED, "O", cell=cell, **{"from": f"{_LONG_AGO}"})
    return kept


def _of_one_density(world: World) -> World:
    mark = {cell: HA * LEVEL_KG_M3 * index / 1000.0 for cell, index in world.index.items()}
    return dataclasses.replace(
        world, density=dict.fromkeys(CELLS, LEVEL_KG_M3), mark_kg=mark,
        case=dataclasses.replace(world.case, clips=0))


def decades(
    growth_times: float, given: Given, *, years: int, seed: int
) -> tuple[list[Round], int]:
    """Keep a block for some years.

    Parameters
    ----------
    growth_times : float
        True rate over the assumed one. [-]
    given : Given
        What of the rule's own protocol the chain is given.
    years : int
        How long.
    seed : int
        Of this block alone.

    Returns
    -------
    rounds : list of Round
        One a rest.
    unsurveyed_ready : int
        Cells that the plan would pick in the second round if none were measured again.
    """
    kept = made(growth_times, given, np.random.default_rng([seed, 30]))
    low: set[str] = set()
    rounds, without = [], 0
    for number in range(int(years / REST_YEARS)):
        day = FIRST + timedelta(days=REST_DAYS * number)
        if number == 1:
            without = len(_planned(_register(kept, day)))
        if number:
            _measure(kept, day - timedelta(days=2), number)
        found = _register(kept, day)
        rounds.append(_round(kept, found, day, low))
        growth = kept.world.rate * REST_DAYS / 365.25
        kept.crop = {cell: _grown(kg, kept.full(cell), growth) for cell, kg in kept.crop.items()}
    return rounds, without


def _round(kept: Kept, found: Register, day: date, low: set[str]) -> Round:
    """Make every pick of the plan; cells that fall under a tenth are added to `low`."""
    plan = _planned(found)
    before, taken = sum(kept.crop.values()), 0.0
    for cell, kg in plan.items():
        true = min(kg, 0.98 * kept.crop[cell])
        _note_pick(kept.survey.book, cell, day, true)
        kept.crop[cell] -= true
        taken += true
        low |= {cell} if kept.crop[cell] < TENTH * kept.full(cell) else set()
    growth = found.crop.learned.growth
    walked = [(cell, cell.walked) for cell in found.crop.cells.values() if cell.walked is not None]
    stands = [one.stand for _, one in walked]
    return Round(
        take=taken / sum(kept.full(cell) for cell in CELLS),
        picked_share=len(plan) / len(CELLS), low_share=len(low) / len(CELLS),
        rate=growth.rate, rate_sd=growth.variance**0.5,
        pickable=_mean([ahead_of(cell, one).share for cell, one in walked]),
        crop_cv=math.sqrt(_mean([one.crop_var / one.crop_kg**2 for one in stands])),
        told_share=sum(one.crop_kg for one in stands) / before)


def _register(kept: Kept, day: date) -> Register:
    book = kept.survey.book
    # A shed checks a record once, as it comes; the sum of all is asked of nobody here.
    kept.checked += held([Book(book.device, book.kept[len(kept.checked):])])
    said = Inputs(kept.block, kept.tunables, tuple(kept.checked), (), "bench", records_sum="")
    return build(said, on=day)


def _planned(found: Register) -> dict[str, float]:
    """Give what `fallow seasons` plans for the season that has begun. [kg]."""
    plan = plan_seasons(found, Wishes(1, least_kg=1.0))
    return {pick.cell: pick.kg for pick in plan.picks}


def _measure(kept: Kept, day: date, number: int) -> None:
    """Walk the plots of every cell; the surveys are numbered from 0."""
    survey, world = kept.survey, kept.world
    for cell in CELLS:
        rested = kept.crop[cell] / world.mark_kg[cell]
        for i in range(QUADRATS):
            volume = float(lognormal(survey.rng, rested * world.index[cell], WITHIN_CV))
            depth = float(depth_of(cell, volume))
            if kept.given.pickable is not None:
                # What is missing under the mark is missing of the strand, for the living layer
                # does not shrink; over the mark the pickable share stays.
                depth = max(RESTED_MM * min(1.0, rested), volume)
            cover = min(100, round(100.0 * volume / depth))
            plot = f"{cell}-{1 + (number * QUADRATS + i) % PLOTS_A_CELL}"
            survey.cut.append((cell, plot, depth, volume, volume))
            survey.book.note(
                "quadrat", day, "SL", plot=plot, when="survey",
                side_m=0.5, cover_pct=cover, depth_mm=[max(1, min(800, round(depth)))] * 3)


def _note_pick(book: Book, cell: str, day: date, kg: float) -> None:
    """Note a pick by hand at the shed, and its lots, weighed dry."""
    bags = max(1, round(kg / OWNERS_KG))
    label, left = f"P-{cell}-{day:%y}", bags
    while left > 0:
        book.note("bag", day, "MT", bags=min(left, _MOST_BAGS), pile=label, cell=cell)
        left -= _MOST_BAGS
    lots = math.ceil(bags / _MOST_IN_A_LOT)
    for lot in range(lots):
        mine = bags * (lot + 1) // lots - bags * lot // lots
        book.note("batch", day + timedelta(days=3), "O", batch=f"D-{cell}-{day:%y}-{lot}",
                  stage="dried", bags=mine, dry_kg=round(kg * mine / bags, 1),
                  **{"from": [label]})


def _grown(kg: float, full: float, rate_times_years: float) -> float:
    share = kg / full
    return full * share / (share + (1.0 - share) * math.exp(-rate_times_years))


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)
