"""A made-up block kept by the real chain for decades: survey, register, `fallow seasons`, pick.

Rule 1: every planned pick is made, to the kg, and weighed; the truth grows by the logistic.
Rule 2: all cells are ready at once, so a register is built once a rest.
"""

import dataclasses
import math
from datetime import date, timedelta

import numpy as np
from made_block.book import CELLS, OWNERS_KG, PLOTS_A_CELL, Book
from made_block.case import Case
from made_block.run import register_of
from made_block.surveying import Survey, first_survey
from made_block.world import FULL, World, lognormal, made_world

from sync.crop.today import ahead_of
from sync.plan.seasons import plan_seasons
from sync.plan.wishes import Wishes
from sync.register.build import Register

SURVEYED, FIRST = date(2022, 6, 15), date(2022, 11, 1)
REST_DAYS, REST_YEARS = 1830, 5.0
TENTH = 0.1
#: Four quadrats of this spread give a survey of CV 0.28, as the rule's own protocol has it.
QUADRATS, WITHIN_CV, BETWEEN_CV = 4, 0.56, 0.40
_MOST_BAGS = 40


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
    """

    take: float
    picked_share: float
    low_share: float
    rate: float
    rate_sd: float
    pickable: float


def made(growth_times: float, rng: np.random.Generator) -> tuple[World, Survey]:
    """Draw a block and survey all of it once."""
    case = Case("decades", share=1.0, quadrats=(QUADRATS, QUADRATS), clips=24,
                between_cv=BETWEEN_CV, within_cv=WITHIN_CV, readers_cv=0.0,
                growth_times=growth_times)
    world = made_world(case, rng)
    return world, first_survey(world, rng, SURVEYED)


def decades(growth_times: float, *, years: int, seed: int) -> tuple[list[Round], int]:
    """Keep a block for some years.

    Parameters
    ----------
    growth_times : float
        True rate over the assumed one. [-]
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
    rng = np.random.default_rng([seed, 30])
    world, survey = made(growth_times, rng)
    full = {cell: world.mark_kg[cell] / FULL for cell in CELLS}
    crop, low = dict(world.mark_kg), set()
    book, rounds, without = survey.book, [], 0
    for number in range(int(years / REST_YEARS)):
        day = FIRST + timedelta(days=REST_DAYS * number)
        if number == 1:
            without = len(_planned(_register(survey, day)))
        if number:
            _measure(survey, crop, world, day, number)
        found = _register(survey, day)
        plan = _planned(found)
        taken = 0.0
        for cell, kg in plan.items():
            true = min(kg, 0.98 * crop[cell])
            _note_pick(book, cell, day, true)
            crop[cell] -= true
            taken += true
            low |= {cell} if crop[cell] < TENTH * full[cell] else set()
        growth = found.crop.learned.growth
        rounds.append(Round(taken / sum(full.values()), len(plan) / len(CELLS),
                            len(low) / len(CELLS), growth.rate, growth.variance**0.5,
                            _pickable(found)))
        span = REST_DAYS / 365.25
        crop = {cell: _grown(kg, full[cell], world.rate * span) for cell, kg in crop.items()}
    return rounds, without


def _register(survey: Survey, day: date) -> Register:
    return register_of([survey.book], day)


def _planned(found: Register) -> dict[str, float]:
    """Give what `fallow seasons` plans for the season that has begun. [kg]."""
    plan = plan_seasons(found, Wishes(1, least_kg=1.0))
    return {pick.cell: pick.kg for pick in plan.picks}


def _pickable(found: Register) -> float:
    shares = [ahead_of(cell, cell.walked).share for cell in found.crop.cells.values()
              if cell.walked is not None]
    return sum(shares) / len(shares)


def _measure(
    survey: Survey, crop: dict[str, float], world: World, day: date, number: int
) -> None:
    """Walk the plots of every cell again."""
    for cell in CELLS:
        mean = world.index[cell] * crop[cell] / world.mark_kg[cell]
        for i in range(QUADRATS):
            volume = float(lognormal(survey.rng, mean, WITHIN_CV))
            depth = max(15.0, min(700.0, max(volume, 90.0 * math.sqrt(volume / 60.0))))
            cover = min(100, round(100.0 * volume / depth))
            plot = 1 + (number * QUADRATS + i) % PLOTS_A_CELL
            survey.book.note(
                "quadrat", day - timedelta(days=2), "SL", plot=f"{cell}-{plot}", when="survey",
                side_m=0.5, cover_pct=cover, depth_mm=[max(1, min(800, round(depth)))] * 3)


def _note_pick(book: Book, cell: str, day: date, kg: float) -> None:
    """Note a pick by hand at the shed, and its one lot, weighed dry."""
    bags = max(1, round(kg / OWNERS_KG))
    label, left = f"P-{cell}-{day:%y}", bags
    while left > 0:
        book.note("bag", day, "MT", bags=min(left, _MOST_BAGS), pile=label, cell=cell)
        left -= _MOST_BAGS
    book.note("batch", day + timedelta(days=3), "O", batch=f"D-{cell}-{day:%y}", stage="dried",
              bags=bags, dry_kg=round(kg, 1), **{"from": [label]})


def _grown(kg: float, full: float, rate_times_years: float) -> float:
    share = kg / full
    return full * share / (share + (1.0 - share) * math.exp(-rate_times_years))
