"""What every cell of a day is walked by: all that is known by then, short of the walks themselves.

Rule 1: nothing from after the day is used, so the chain of the day before a pick says what could
be taken at its start.
Rule 2: a step uses only those above it: weights, takings, densities, picks, classes, growth.
"""

import dataclasses
import itertools
from collections import defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import date

from sync.block import Block, season_of
from sync.crop.cell_walk import cell_surveys
from sync.crop.classes import ClassCrop, JudgedPick, ReadingIndex, indexed
from sync.crop.judge import judged_picks
from sync.crop.kept import Remembered
from sync.crop.known import Known, weights_until
from sync.crop.learn import Learned, Regrown, learn_growth
from sync.crop.reading_shares import Readers, read_twice, readers_of
from sync.crop.regrown import regrown_cell, teaching
from sync.crop.rules import CellRule, cell_rule
from sync.crop.takings import CellFacts
from sync.crop.walk import Growth, growth_prior
from sync.geometry.ground import Ground
from sync.picks.made import CellTakings
from sync.picks.sources import Weights
from sync.survey.arrays import Array
from sync.survey.clip_join import JoinedClip
from sync.survey.clips import mended
from sync.survey.density import (
    ClassDensity,
    Densities,
    density_of_classes,
    density_prior,
    of_class,
)
from sync.survey.observers import Observers, observers_of
from sync.survey.readers import density_readers
from sync.survey.readings import Reading


@dataclasses.dataclass(frozen=True)
class Shared:
    """What all cells of a block share on a day.

    Attributes
    ----------
    learned : Learned
        The block's rate of regrowth, and the cells it was learned from.
    class_learned : mapping of str to Learned
        Of the classes that have enough such cells of their own.
    class_on : callable
        A class by what was read up to a day.
    kept : Remembered
        What was worked out before of the same block by the same tunables.
    """

    day: date
    ground: Ground
    learned: Learned
    class_learned: Mapping[str, Learned]
    weights: Weights
    observers: Observers
    densities: Densities
    clips: tuple[JoinedClip, ...]
    classes: Mapping[str, ClassCrop]
    readers: Mapping[str, Readers]
    class_on: Callable[[str, date], ClassCrop] = dataclasses.field(compare=False, repr=False)
    kept: Remembered = dataclasses.field(compare=False, repr=False)


@dataclasses.dataclass(frozen=True)
class Base(Shared):
    """A block on a day, short of the walks of its cells.

    Attributes
    ----------
    rules, takings, facts : mapping
        By cell; a cell from which nothing was taken has no takings.
    """

    rules: Mapping[str, CellRule]
    takings: Mapping[str, CellTakings]
    facts: Mapping[str, CellFacts]


def base_of(
    known: Known, ground: Ground, *, until: date, rules_of: date | None = None
) -> Base:
    """Work out what the cells of a day are walked by.

    Parameters
    ----------
    known : Known
        All that is known.
    ground : Ground
        Of the day asked about: its open ground is used for every date of the walk.
    until : date
        Last day whose events are used.
    rules_of : date, optional
        The day whose rules hold, where that is not the last: the first day of a pick.

    Returns
    -------
    Base
        Of that day.
    """
    block, tunables, kept = known.block, known.tunables, known.kept
    class_of = {cell: one.ground_class for cell, one in ground.cells.items()}
    open_m2 = {cell: one.open_m2 for cell, one in ground.cells.items()}
    day = rules_of or until
    rules = _rules(block, ground, day)
    prior = growth_prior(cell_rule(block, None, day).recovery_years, tunables=tunables)
    weights = weights_until(known, until)
    takings = known.tallies.takings(
        [dataclasses.replace(pick, last=min(pick.last, until))
         for pick in known.past if pick.first <= until],
        weights, until=until,
    )
    chosen = known.by_cell.chosen(
        {cell: one.days for cell, one in takings.items()}, until=until)
    observers = _observers(known, chosen)
    clips = _clips(known, observers, set(class_of.values()), until)
    of_clips = tuple(c.clip for c in clips)
    names = tuple(sorted(set(class_of.values())))
    densities = kept.densities.give("all", (of_clips, names), lambda: density_of_classes(
        of_clips, names, prior=density_prior(tunables)))
    readings = _indexed(known, chosen, rules, observers)
    days = {name: known.kept.classes.of(name, cells, readings, tunables)
            for name, cells in _cells_of(class_of).items()}
    picks = judged_picks(takings, readings, class_of, open_m2, densities, block, tunables,
                         known.swept, days, known.kept.judged)
    classes = {name: days[name].until(until, picks) for name in names}
    readers = _readers(known, classes, class_of, readings, picks, observers,
                       density_readers(densities, of_clips, observers))
    facts = {
        cell: CellFacts(
            open_m2[cell], readings.get(cell, ()), picks.get(cell, ()),
            takings[cell].stray if cell in takings else {},
        )
        for cell in class_of
    }

    def class_on(name: str, day: date) -> ClassCrop:
        return days[name].until(day, picks)

    learned, class_learned = _growth(
        known, prior, facts, class_of, classes, densities, _bag_cv2(weights, block), class_on)
    return Base(
        until, ground, learned, class_learned, weights, observers, densities, clips, classes,
        readers, class_on, kept, rules, takings, facts,
    )


def _rules(block: Block, ground: Ground, day: date) -> dict[str, CellRule]:
    of_parcel = {parcel: cell_rule(block, parcel, day)
                 for parcel in {one.parcel for one in ground.cells.values()}}
    return {cell: of_parcel[one.parcel] for cell, one in ground.cells.items()}


def _cells_of(class_of: Mapping[str, str]) -> dict[str, list[str]]:
    cells_of: dict[str, list[str]] = defaultdict(list)
    for cell, ground_class in class_of.items():
        cells_of[ground_class].append(cell)
    return cells_of


def _observers(known: Known, chosen: Mapping[str, Sequence[Reading]]) -> Observers:
    readings = list(itertools.chain.from_iterable(chosen.values()))
    people = tuple(sorted({one.person for one in readings}))
    again = sorted((one for one in readings if one.again), key=lambda one: (one.day, one.name))
    twice = tuple(read_twice(
        again, frozenset(p.code for p in known.block.people if p.counts_dots)))
    return known.kept.observers.give("all", (people, twice), lambda: observers_of(
        people, twice, tunables=known.tunables))


def _indexed(
    known: Known, chosen: Mapping[str, tuple[Reading, ...]], rules: Mapping[str, CellRule],
    observers: Observers,
) -> dict[str, tuple[ReadingIndex, ...]]:
    """Give the indices of what was chosen, cell by cell."""
    factor = {person: observers.factor_of(person) for person in observers.people}

    def of_cell(cell: str, mine: tuple[Reading, ...], layer_mm: float) -> tuple[
            ReadingIndex, ...]:
        factors = tuple([factor[one.person] for one in mine])
        return known.kept.indexed.give(cell, (mine, layer_mm, factors), lambda: indexed(
            mine, {cell: layer_mm}, known.tunables, observers)[cell])

    return {cell: of_cell(cell, mine, rules[cell].living_layer_mm)
            for cell, mine in chosen.items() if cell in rules}


def _readers(
    known: Known, classes: Mapping[str, ClassCrop], class_of: Mapping[str, str],
    readings: Mapping[str, Sequence[ReadingIndex]], picks: Mapping[str, Sequence[JudgedPick]],
    observers: Observers, of_density: Mapping[str, Array],
) -> dict[str, Readers]:
    """Say on whose readings each class rests; the same class rests on the same."""
    return {
        name: known.kept.readers.give(
            name, (one, observers, tuple(of_density[name].tolist())),
            lambda name=name, one=one: readers_of(  # type: ignore[misc]
                one, [c for c in class_of if class_of[c] == name], readings, picks, observers,
                of_density[name]))
        for name, one in classes.items()
    }


def _growth(
    known: Known,
    prior: Growth,
    facts: Mapping[str, CellFacts],
    class_of: Mapping[str, str],
    classes: Mapping[str, ClassCrop],
    densities: Densities,
    bag_cv2: Callable[[date], float],
    class_on: Callable[[str, date], ClassCrop],
) -> tuple[Learned, dict[str, Learned]]:
    """Learn the growth of the block, and of each class that has cells enough."""
    found: dict[str, list[Regrown]] = defaultdict(list)
    density = {name: of_class(densities, name) for name in classes}
    for cell, mine in facts.items():
        name = class_of[cell]
        one = _regrown(known, cell, mine, classes[name], density[name], bag_cv2,
                       lambda day, name=name: class_on(name, day))  # type: ignore[misc]
        if one is not None:
            found[name].append(one)
    every = [one for name in sorted(found) for one in found[name]]

    def learn(cells: Sequence[Regrown]) -> Learned:
        return known.kept.learned.give(
            len(cells), (prior, tuple(cells)), lambda: learn_growth(prior, cells))

    return learn(every), {
        name: learn(each) for name, each in sorted(found.items())
        if len(each) >= known.tunables.cells_for_own_growth
    }


def _regrown(
    known: Known, cell: str, facts: CellFacts, of_class: ClassCrop, density: ClassDensity,
    bag_cv2: Callable[[date], float], class_on: Callable[[date], ClassCrop],
) -> Regrown | None:
    """Give what a cell teaches; one that was never picked, or not read since, teaches nothing."""
    taught = teaching(facts)
    if taught is None:
        return None
    first = next(pick.made.first for pick in taught.picks if not pick.touch)
    cv2, then = bag_cv2(first), class_on(first)
    return known.kept.regrown.give(
        cell, (taught, of_class, density, cv2, then), lambda: regrown_cell(
            cell, taught, cell_surveys(taught, known.tunables), of_class, density, known.tunables,
            bag_cv2=lambda _: cv2, class_on=lambda _: then))


def _bag_cv2(weights: Weights, block: Block) -> Callable[[date], float]:
    """Give the squared CV of the usual bag's mean weight in the season of a day. [-]."""
    def of_day(day: date) -> float:
        season = season_of(day, block.season_start)
        kappa = weights.kappa.get((season, block.bags[0].name))
        # A pick typed in from a season without a bag has weighed kg.
        return kappa.variance / kappa.kg**2 if kappa is not None else 0.0

    return of_day


def _clips(
    known: Known, observers: Observers, classes: Collection[str], until: date
) -> tuple[JoinedClip, ...]:
    """Give the clips cut until the day, their covers mended for who read them."""
    return tuple(
        dataclasses.replace(one, clip=mended(one.clip, observers.factor_of(one.clip.reader or "")))
        for one in known.clips if one.day <= until and one.clip.ground_class in classes
    )
