"""One block of a line: made, noted, taken in, and compared with its truth."""

import dataclasses
from collections.abc import Sequence
from datetime import date

import numpy as np

from made_block.book import CELLS, OWNERS_KG, Book, class_of, held, made_block
from made_block.case import Case
from made_block.picking import Gang, Picked, east_of, grown_kg
from made_block.simpler import by_simpler_ways
from made_block.surveying import Survey, first_survey
from made_block.world import World, made_world
from sync.flags.raised import flags_of
from sync.register.build import Inputs, Register, build
from sync.register.doubts import doubts_of
from sync.settings import Z_RANGE, Tunables
from sync.survey.ranges import lognormal_range, t_quantile

SURVEYED, LOOKED = date(2022, 6, 15), date(2022, 10, 1)
PICKED, STRAYED, DRIED = date(2022, 11, 1), date(2024, 12, 2), date(2023, 3, 1)
AGAIN, LATER = date(2025, 6, 10), date(2025, 7, 1)
REST_YEARS, DAYS_A_YEAR = 5.0, 365.25
#: A pick of less is not worth the helicopter. [kg]
_WORTH_KG = 150.0


@dataclasses.dataclass
class Outcome:
    """What one block says of the method; lists of what was seen, to be pooled over blocks.

    Attributes
    ----------
    surveyed, unsurveyed, block, picked, rate : list of bool
        Whether each range held the truth.
    width : list of float
        Upper over lower end of the ranges of the block.
    errors : dict of str to list of float
        Crop of each surveyed cell less the truth, by way. [t/ha; a cell is 1 ha]
    crops : list of float
        True crop of those cells. [t/ha]
    back, back_bound : list of bool
        Whether a cell that gave what it may was back at its rested crop when its rest ended; the
        second where regrowth was the binding answer.
    flags : list of (float, bool)
        Chance of an early pick as told (0 if not told) and whether it happened.
    doubts : list of str
        First words of what the register doubts.
    """

    surveyed: list[bool] = dataclasses.field(default_factory=list)
    unsurveyed: list[bool] = dataclasses.field(default_factory=list)
    block: list[bool] = dataclasses.field(default_factory=list)
    picked: list[bool] = dataclasses.field(default_factory=list)
    rate: list[bool] = dataclasses.field(default_factory=list)
    width: list[float] = dataclasses.field(default_factory=list)
    errors: dict[str, list[float]] = dataclasses.field(default_factory=dict)
    crops: list[float] = dataclasses.field(default_factory=list)
    back: list[bool] = dataclasses.field(default_factory=list)
    back_bound: list[bool] = dataclasses.field(default_factory=list)
    flags: list[tuple[float, bool]] = dataclasses.field(default_factory=list)
    doubts: list[str] = dataclasses.field(default_factory=list)


def register_of(books: Sequence[Book], on: date) -> Register:
    """Build the register by the real intake and the real chain."""
    return build(Inputs(made_block(), Tunables(), held(books), (), "bench"), on=on)


def run_block(case: Case, seed: np.random.SeedSequence) -> Outcome:
    """Make a block and compare.

    Parameters
    ----------
    case : Case
        The line.
    seed : SeedSequence
        Of this block alone, so that a line does not depend on how the work is shared out.
    """
    rng = np.random.default_rng(seed)
    world, outcome = made_world(case, rng), Outcome()
    survey = first_survey(world, rng, SURVEYED)
    found = register_of([survey.book], LOOKED)
    if not case.picks:
        _compare(found, world.mark_kg, survey, outcome)
        _errors(found, world, survey, outcome)
        outcome.doubts += [" ".join(one.what.split()[:6]) for one in doubts_of(found)]
        return outcome
    _errors(found, world, survey, outcome)
    gang = Gang(world, Book("p1-made"), rng)
    done = _pick(found, world, gang, outcome)
    strayed = _stray(done, gang)
    _measure_again(world, survey, done[: len(done) // 2])
    later = register_of([survey.book, gang.book], LATER)
    _compare(later, _crops(world, done, strayed), survey, outcome)
    _picked_kg(later, done, outcome)
    _flags(later, done, strayed, outcome)
    growth = later.crop.learned.growth
    outcome.rate.append(abs(growth.rate - world.rate) <= Z_RANGE * growth.variance**0.5)
    outcome.doubts += [" ".join(one.what.split()[:6]) for one in doubts_of(later)]
    return outcome


def _compare(
    found: Register, truth_kg: dict[str, float], survey: Survey, outcome: Outcome
) -> None:
    measured = {r["plot"].rsplit("-", 1)[0] if r["plot"] else None
                for r in survey.book.kept if r["kind"] == "quadrat"}
    for cell in CELLS:
        one = found.crop.cells[cell]
        known = found.crop.classes[class_of(cell)].prediction
        if one.walked is None or known is None:
            continue
        stand = one.walked.stand
        cv = stand.crop_var**0.5 / stand.crop_kg if stand.crop_kg > 0.0 else 0.0
        low, high = lognormal_range(stand.crop_kg, cv, t=t_quantile(known.df))
        kept = outcome.surveyed if cell in measured or one.readings else outcome.unsurveyed
        kept.append(low <= truth_kg[cell] <= high)
    if found.total is not None:
        cv = found.total.variance**0.5 / found.total.kg
        low, high = lognormal_range(found.total.kg, cv, t=t_quantile(found.total.df))
        outcome.block.append(low <= sum(truth_kg.values()) <= high)
        outcome.width.append(high / low)


def _errors(found: Register, world: World, survey: Survey, outcome: Outcome) -> None:
    for way, crops in by_simpler_ways(survey).items():
        outcome.errors.setdefault(way, []).extend(
            (kg - world.mark_kg[cell]) / 1000.0 for cell, kg in crops.items())
    own = outcome.errors.setdefault("register", [])
    for cell in survey.drawn:
        walked = found.crop.cells[cell].walked
        if walked is not None and survey.drawn[cell]:
            own.append((walked.stand.crop_kg - world.mark_kg[cell]) / 1000.0)
            outcome.crops.append(world.mark_kg[cell] / 1000.0)


def _pick(
    found: Register, world: World, gang: Gang, outcome: Outcome
) -> list[Picked]:
    """Pick cells that are ready to the last kilogram, and look ahead to the end of their rest."""
    ready = [(cell, today.allowance) for cell, today in found.cells.items()
             if today.state == "ready" and (today.may_take_kg or 0.0) >= _WORTH_KG]
    order = gang.rng.permutation(len(ready))[: world.case.picks]
    done = []
    for number, i in enumerate(order):
        cell, allowed = ready[i]
        if allowed is None:
            continue
        pick = gang.pick(cell, PICKED, allowed.may_take_kg, OWNERS_KG)
        left = max(0.0, world.mark_kg[cell] - pick.kg)
        back = grown_kg(world, world.mark_kg[cell], left, REST_YEARS) >= world.mark_kg[cell]
        outcome.back.append(back)
        if allowed.binds == "regrowth":
            outcome.back_bound.append(back)
        if number % 2 == 0:
            gang.dry(pick, DRIED)
        done.append(pick)
    return done


def _stray(done: Sequence[Picked], gang: Gang) -> dict[str, tuple[int, float]]:
    """Let the gang work along the border of resting cells with a neighbour that was not picked."""
    resting = {pick.cell for pick in done}
    return {
        pick.cell: gang.stray(pick.cell, STRAYED) for pick in done
        if east_of(pick.cell) is not None and east_of(pick.cell) not in resting
    }


def _measure_again(world: World, survey: Survey, done: Sequence[Picked]) -> None:
    for number, pick in enumerate(done):
        years = (AGAIN - pick.day).days / DAYS_A_YEAR
        mark = world.mark_kg[pick.cell]
        now = grown_kg(world, mark, max(0.0, mark - pick.kg), years)
        for _ in range(3):
            survey.read(pick.cell, AGAIN, ("SL", "SW")[number % 2], of_rested=now / mark)


def _crops(
    world: World, done: Sequence[Picked], strayed: dict[str, tuple[int, float]]
) -> dict[str, float]:
    crops = dict(world.mark_kg)
    for pick in done:
        mark = world.mark_kg[pick.cell]
        between = (STRAYED - pick.day).days / DAYS_A_YEAR
        rest = (LATER - STRAYED).days / DAYS_A_YEAR
        left = grown_kg(world, mark, max(0.0, mark - pick.kg), between)
        left = max(0.0, left - strayed.get(pick.cell, (0, 0.0))[1])
        crops[pick.cell] = grown_kg(world, mark, left, rest)
    return crops


def _picked_kg(later: Register, done: Sequence[Picked], outcome: Outcome) -> None:
    for pick in done:
        made = [p.made for p in later.crop.cells[pick.cell].picks if p.made.first == PICKED]
        whole = made[0].whole if made else None
        # A pick that is a lot by itself was weighed: it has no range to try.
        if whole is not None and whole.variance > 0.0:
            low, high = lognormal_range(whole.kg, whole.variance**0.5 / whole.kg,
                                        t=t_quantile(whole.df))
            outcome.picked.append(low <= pick.kg <= high)


def _flags(
    later: Register, done: Sequence[Picked], strayed: dict[str, tuple[int, float]],
    outcome: Outcome,
) -> None:
    told = {flag.cell: flag.probability or 0.0 for flag in flags_of(later)
            if flag.rule == "early_pick"}
    for pick in done:
        if pick.cell in strayed:
            outcome.flags.append((told.get(pick.cell, 0.0), strayed[pick.cell][0] >= 2))
