"""Batches as they were noted: the stages of one label, and what it was made of.

Rule 1: a label is unique in a season only; a batch that was lifted before the season's turn goes
on after it, where a later stage is noted and nothing earlier of that label.
Rule 2: two records of one stage add up.
Rule 3: a batch only weighed still lies where it lay.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from sync.block import season_of
from sync.intake.seen import BatchSeen

#: In the order in which they happen; the first of these that is noted takes bags off the pile.
MOVING = ("lifted", "arrived", "dried")
_ORDER = ("weighed", *MOVING)


@dataclasses.dataclass(frozen=True)
class Stage:
    """One stage of a batch.

    Attributes
    ----------
    day : date
        Its first day, and not after that of a later stage.
    bags : float or None
        None is all that there were.
    records : tuple of str
        Names of what says so.
    """

    day: date
    bags: float | None
    records: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Batch:
    """A batch of one season.

    Attributes
    ----------
    season : int
        That of its first record.
    stages : mapping of str to Stage
        Of `MOVING`, those that are noted, in order.
    sources : tuple of str
        Labels that it was made of, without its own, by name.
    records : tuple of BatchSeen
        All of it, in time order.
    """

    label: str
    season: int
    stages: Mapping[str, Stage]
    sources: tuple[str, ...]
    records: tuple[BatchSeen, ...]

    @property
    def key(self) -> tuple[str, int]:
        """Label and season."""
        return self.label, self.season

    @property
    def first(self) -> str | None:
        """The stage at which its bags left the pile; None while they lie there."""
        return next(iter(self.stages), None)

    @property
    def last(self) -> str | None:
        """The stage that it has come to."""
        return next(reversed(tuple(self.stages)), None)


def batches_of(
    noted: Iterable[BatchSeen], *, on: date, season_start: tuple[int, int]
) -> tuple[Batch, ...]:
    """Join the records of each batch.

    Parameters
    ----------
    noted : iterable of BatchSeen
        What was noted of batches.
    on : date
        The day asked about; what happened later is left out.
    season_start : tuple of int
        Month and day on which a season begins.

    Returns
    -------
    tuple of Batch
        By season and label.
    """
    by_label: dict[str, list[BatchSeen]] = defaultdict(list)
    for one in sorted(noted, key=lambda b: (b.day, _ORDER.index(b.stage), b.at, b.name)):
        if one.day <= on:
            by_label[one.label].append(one)
    found = [
        _batch(label, season, records)
        for label, all_of_it in by_label.items()
        for season, records in _runs(all_of_it, season_start)
    ]
    return tuple(sorted(found, key=lambda b: (b.season, b.label)))


def _runs(
    records: Sequence[BatchSeen], season_start: tuple[int, int]
) -> list[tuple[int, list[BatchSeen]]]:
    """Part the records of a label by batch."""
    runs: list[tuple[int, list[BatchSeen]]] = []
    for one in records:
        season = season_of(one.day, season_start)
        if runs and (runs[-1][0] == season or _goes_on(runs[-1], one, season)):
            runs[-1][1].append(one)
        else:
            runs.append((season, [one]))
    return runs


def _goes_on(run: tuple[int, list[BatchSeen]], one: BatchSeen, season: int) -> bool:
    """Say whether a record is a later stage of last season's batch."""
    before, records = run
    reached = max(_ORDER.index(each.stage) for each in records)
    sources = {label for each in records for label in each.sources}
    return (season == before + 1 and _ORDER.index(one.stage) > reached
            and set(one.sources) <= sources)


def _batch(label: str, season: int, records: Sequence[BatchSeen]) -> Batch:
    stages: dict[str, Stage] = {}
    latest = date.max
    for stage in reversed(MOVING):
        own = [one for one in records if one.stage == stage]
        if own:
            latest = min(latest, own[0].day)
            stages[stage] = Stage(latest, _bags(own), tuple(one.name for one in own))
    sources = {source for one in records for source in one.sources} - {label}
    return Batch(label, season, dict(reversed(stages.items())), tuple(sorted(sources)),
                 tuple(records))


def _bags(records: Sequence[BatchSeen]) -> float | None:
    noted = [one.bags for one in records if one.bags is not None]
    return sum(noted) if len(noted) == len(records) else None
