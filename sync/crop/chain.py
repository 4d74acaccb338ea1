"""The chain of a day: from all that is known by then to every cell's crop.

Rule 1: nothing from after the day is used, so the chain of the day before a pick says what could
be taken at its start.
Rule 2: a step uses only those above it: weights, takings, densities, picks, classes, cells.
"""

import dataclasses
import functools
from collections import defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import date

from sync.block import Block, season_of
from sync.crop.cell_walk import cell_surveys, walk_cell
from sync.crop.class_days import ClassDays
from sync.crop.classes import ClassCrop, JudgedPick, ReadingIndex, class_crop, indexed
from sync.crop.judge import judged_picks
from sync.crop.learn import Learned, Regrown, learn_growth
from sync.crop.reading_shares import Readers, read_twice, readers_of
from sync.crop.regrown import regrown_cell
from sync.crop.rules import CellRule, cell_rule
from sync.crop.takings import CellFacts
from sync.crop.walk import Growth, growth_prior
from sync.crop.walked import Walked
from sync.geometry.ground import Ground
from sync.geometry.placed import Placed
from sync.geometry.swept import Swept
from sync.geometry.walks import Walkers
from sync.intake.seen import PastPick, QuadratSeen
from sync.picks.made import CellTakings
from sync.picks.sources import WeighedLot, Weights, weights_of
from sync.picks.takings import Tallies
from sync.settings import Tunables
from sync.survey.clip_join import JoinedClip
from sync.survey.clips import mended
from sync.survey.density import Densities, density_of_classes, density_prior, of_class
from sync.survey.observers import Observers, observers_of
from sync.survey.readers import density_readers
from sync.survey.readings import Reading, readings_of


@dataclasses.dataclass(frozen=True)
class Known:
    """All that is known of the block, whatever the day asked about.

    Attributes
    ----------
    readings : tuple of Reading
        Chosen over all time, for what asks no day: labels of clips, plots still to do.
    quadrats : tuple of QuadratSeen
        All of them with their cells; a chain chooses among those of its own time.
    finished : mapping of str to tuple of date
        Days on which an END named a cell finished.
    swept : Swept
        The ground that hands went over.
    walkers : Walkers or None
        Who told of it.
    """

    block: Block
    tunables: Tunables
    readings: tuple[Reading, ...]
    quadrats: tuple[QuadratSeen, ...]
    clips: tuple[JoinedClip, ...]
    placed: tuple[Placed, ...]
    past: tuple[PastPick, ...]
    lots: tuple[WeighedLot, ...]
    finished: Mapping[str, tuple[date, ...]]
    swept: Swept = dataclasses.field(default_factory=Swept)
    walkers: Walkers | None = dataclasses.field(default=None, compare=False, repr=False)

    @functools.cached_property
    def tallies(self) -> Tallies:
        """The bags by cell and pile; what was weighed for one day serves the next."""
        return Tallies(self.placed, self.block, self.tunables)

    @functools.cached_property
    def class_days(self) -> ClassDays:
        """What the classes were on the days before picks, kept from one day asked to the next."""
        return ClassDays()


@dataclasses.dataclass(frozen=True)
class CellCrop:
    """One cell on the day.

    Attributes
    ----------
    walked : Walked or None
        Its crop; None where its class has no figure or none of it is open.
    readings : tuple of ReadingIndex
        All of its quadrats until the day.
    growth : Growth
        Of its class, where that has learned by itself, else of the block.
    """

    cell: str
    ground_class: str
    open_m2: float
    rule: CellRule
    picks: tuple[JudgedPick, ...]
    takings: CellTakings | None
    readings: tuple[ReadingIndex, ...]
    growth: Growth
    walked: Walked | None


@dataclasses.dataclass(frozen=True)
class Crop:
    """The block on a day.

    Attributes
    ----------
    learned : Learned
        The block's rate of regrowth, and the cells it was learned from.
    class_learned : mapping of str to Learned
        Of the classes that have enough such cells of their own.
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
    cells: Mapping[str, CellCrop]


def chain(
    known: Known, ground: Ground, *, until: date, rules_of: date | None = None
) -> Crop:
    """Work out the crop of every cell by what happened until a day.

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
    Crop
        Of that day.
    """
    block, tunables = known.block, known.tunables
    class_of = {cell: one.ground_class for cell, one in ground.cells.items()}
    open_m2 = {cell: one.open_m2 for cell, one in ground.cells.items()}
    day = rules_of or until
    rules = {cell: cell_rule(block, one.parcel, day) for cell, one in ground.cells.items()}
    prior = growth_prior(cell_rule(block, None, day).recovery_years, tunables=tunables)
    weights = weights_until(known, until)
    takings = known.tallies.takings(
        [dataclasses.replace(pick, last=min(pick.last, until))
         for pick in known.past if pick.first <= until],
        weights, until=until,
    )
    chosen, _ = readings_of(
        [q for q in known.quadrats if q.day <= until], block.plots, lambda q: None,
        survey_days=tunables.survey_days,
        picking_days={cell: [d for p in one.picks for d in p.days]
                      for cell, one in takings.items()},
    )
    observers = observers_of(
        [one.person for one in chosen],
        read_twice(chosen, frozenset(p.code for p in block.people if p.counts_dots)),
        tunables=tunables,
    )
    clips = _clips(known, observers, set(class_of.values()), until)
    of_clips = [c.clip for c in clips]
    densities = density_of_classes(
        of_clips, sorted(set(class_of.values())), prior=density_prior(tunables)
    )
    readings = indexed(
        chosen,
        {cell: rule.living_layer_mm for cell, rule in rules.items()},
        tunables,
        observers,
    )
    picks = judged_picks(takings, readings, class_of, open_m2, densities, block, tunables,
                         known.swept, known.class_days)
    classes = _classes(class_of, readings, picks, tunables, until)
    of_density = density_readers(densities, of_clips, observers)
    readers = {
        name: readers_of(one, [c for c in class_of if class_of[c] == name], readings, picks,
                         observers, of_density[name])
        for name, one in classes.items()
    }
    facts = {
        cell: CellFacts(
            open_m2[cell], readings.get(cell, ()), picks.get(cell, ()),
            takings[cell].stray if cell in takings else {},
        )
        for cell in class_of
    }
    learned, class_learned = _growth(
        prior, facts, class_of, classes, densities, tunables, _bag_cv2(weights, block)
    )
    cells = {}
    for cell, ground_class in class_of.items():
        growth = class_learned.get(ground_class, learned).growth
        walked = walk_cell(
            facts[cell], classes[ground_class], of_class(densities, ground_class), growth,
            tunables, readers=readers[ground_class], until=until,
        )
        cells[cell] = CellCrop(
            cell, ground_class, open_m2[cell], rules[cell], tuple(facts[cell].picks),
            takings.get(cell), tuple(facts[cell].readings), growth, walked,
        )
    return Crop(
        until, ground, learned, class_learned, weights, observers, densities, clips, classes,
        readers, cells,
    )


def _growth(
    prior: Growth,
    facts: Mapping[str, CellFacts],
    class_of: Mapping[str, str],
    classes: Mapping[str, ClassCrop],
    densities: Densities,
    tunables: Tunables,
    bag_cv2: Callable[[date], float],
) -> tuple[Learned, dict[str, Learned]]:
    """Learn the growth of the block, and of each class that has cells enough."""
    found: dict[str, list[Regrown]] = defaultdict(list)
    readings = {cell: mine.readings for cell, mine in facts.items()}
    picks = {cell: mine.picks for cell, mine in facts.items()}

    @functools.cache
    def class_on(name: str, day: date) -> ClassCrop:
        cells = [cell for cell in class_of if class_of[cell] == name]
        return class_crop(name, cells, readings, picks, tunables, until=day)

    for cell, mine in facts.items():
        name = class_of[cell]
        one = regrown_cell(
            cell, mine, cell_surveys(mine, tunables), classes[name], of_class(densities, name),
            tunables, bag_cv2=bag_cv2, class_on=functools.partial(class_on, name),
        )
        if one is not None:
            found[name].append(one)
    every = [one for name in sorted(found) for one in found[name]]
    return learn_growth(prior, every), {
        name: learn_growth(prior, each) for name, each in sorted(found.items())
        if len(each) >= tunables.cells_for_own_growth
    }


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


def weights_until(known: Known, until: date) -> Weights:
    """Give what is known of the weight of bags on a day.

    Parameters
    ----------
    known : Known
        All that is known.
    until : date
        Last day whose bags are used; lots weighed later tell of them too.
    """
    block = known.block
    seasons = known.tallies.seasons(until) | {season_of(until, block.season_start)}
    # Bags put on a pile after the day move no share of its lot.
    lots = [
        dataclasses.replace(lot, tallied=sum(
            known.tallies.on_pile(label, until) for label in sorted(lot.labels)))
        for lot in known.lots
    ]
    return weights_of(
        lots, seasons, block.bags, on=until, season_start=block.season_start,
        tunables=known.tunables,
    )


def _classes(
    class_of: Mapping[str, str],
    readings: Mapping[str, Sequence[ReadingIndex]],
    picks: Mapping[str, Sequence[JudgedPick]],
    tunables: Tunables,
    until: date,
) -> dict[str, ClassCrop]:
    cells_of: dict[str, list[str]] = defaultdict(list)
    for cell, ground_class in class_of.items():
        cells_of[ground_class].append(cell)
    return {
        name: class_crop(name, cells_of[name], readings, picks, tunables, until=until)
        for name in sorted(cells_of)
    }
