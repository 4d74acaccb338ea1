"""All that is known of a block, whatever the day asked about."""

import dataclasses
import functools
from collections.abc import Mapping
from datetime import date

from sync.block import Block, season_of
from sync.crop.chosen import Quadrats
from sync.crop.former import Dated
from sync.crop.kept import Remembered
from sync.geometry.placed import Placed
from sync.geometry.swept import Swept
from sync.geometry.walks import Walkers
from sync.intake.seen import PastPick, QuadratSeen
from sync.picks.sources import WeighedLot, Weights, weights_of
from sync.picks.takings import Tallies
from sync.picks.tallied import TalliedLots
from sync.settings import Tunables
from sync.survey.clip_join import JoinedClip
from sync.survey.readings import Reading


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
    kept : Remembered
        What former registers of the same block and tunables were made of, if any.
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
    kept: Remembered = dataclasses.field(
        default_factory=Remembered, compare=False, repr=False)

    @functools.cached_property
    def tallies(self) -> Tallies:
        """The bags by cell and pile; what was weighed for one day serves the next."""
        return Tallies(self.placed, self.block, self.tunables, self.kept.days, self.kept.cells)

    @functools.cached_property
    def tallied(self) -> TalliedLots:
        """The lots with the bags on their piles until any day."""
        return TalliedLots(self.lots, self.tallies, self.kept.lots)

    @functools.cached_property
    def dated(self) -> Dated:
        """All of it by the days on which it happened."""
        return Dated(self.tallies.bags_of_days, self.past, self.lots, self.by_cell.quadrats,
                     self.clips, self.swept)

    @functools.cached_property
    def by_cell(self) -> Quadrats:
        """The quadrats by cell; what was chosen for one day serves the next."""
        return Quadrats(self.quadrats, self.block.plots, survey_days=self.tunables.survey_days,
                        kept=self.kept.chosen)


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
    return weights_of(
        known.tallied.until(until), seasons, block.bags, on=until,
        season_start=block.season_start, tunables=known.tunables, kept=known.kept.kappa,
    )
