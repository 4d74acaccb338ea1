"""Following every bag: pile, on the way, at the shed, lot; every bag is in exactly one place.

Rule 1: bags leave their pile once they are lifted, or arrived or dried without a word of the lift.
Rule 2: what a later stage counts less than the stage before, and no other batch took, is short.
Rule 3: what is counted more than there was is told as surplus where it was counted; no place ever
holds less than nothing.
Rule 4: a day is a day: bags laid on a pile on the day of a lift lay there before it. A lift noted
before its bags were tallied takes them all the same: a slip of the date makes no bags.
"""

import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from itertools import groupby
from types import MappingProxyType

from sync.block import season_of
from sync.intake.seen import BagSeen, BatchSeen
from sync.picks.ledger.batches import Batch, batches_of
from sync.picks.ledger.held import Held, parted, take, together
from sync.picks.ledger.kept import Followed, Grew, Ledger, Surplus
from sync.picks.ledger.labels import sources_of, whole_pile
from sync.picks.ledger.order import moves_of
from sync.picks.sources import Label

_GREW: Mapping[str, Grew] = MappingProxyType(
    {"arrived": "grew_on_the_way", "dried": "grew_at_the_shed"})


def ledger_of(
    bags: Iterable[BagSeen], noted: Iterable[BatchSeen], *, on: date,
    season_start: tuple[int, int], same_pile_days: int,
) -> Ledger:
    """Follow the bags of a block.

    Parameters
    ----------
    bags : iterable of BagSeen
        Tallied bags.
    noted : iterable of BatchSeen
        What was noted of batches.
    on : date
        The day asked about; what happened later is left out, whenever it became known.
    season_start : tuple of int
        Month and day on which a season begins.
    same_pile_days : int
        Bags laid at most so long after others of the same label lie on the same pile, though the
        season turned between: as far as days of one pick may be apart.

    Returns
    -------
    Ledger
        The same for any order of arrival.
    """
    known = {bag.name: bag for bag in sorted(bags, key=lambda b: (b.day, b.name)) if bag.day <= on}
    laid: dict[Label, list[BagSeen]] = defaultdict(list)
    for day, each in groupby(known.values(), key=lambda bag: bag.day):
        season = season_of(day, season_start)
        for bag in each:
            if bag.pile is not None:
                laid[bag.pile, season].append(bag)
    run = _Run(laid, batches_of(noted, on=on, season_start=season_start),
               timedelta(days=same_pile_days))
    run.all_moves()
    return Ledger(
        on, season_start, known, dict(sorted(run.piles.items())),
        _held(bag for bag in known.values() if bag.pile is None),
        {batch.key: run.followed(batch) for batch in run.moving}, dict(run.surplus))


def _held(bags: Iterable[BagSeen]) -> Held:
    parts = {bag.name: bag.bags for bag in bags}
    return Held(math.fsum(parts.values()), parts)


def _over_the_turn(
    sources: Iterable[tuple[Label, bool]], days: Mapping[Label, tuple[date, date]],
    same_pile: timedelta,
) -> Iterator[tuple[Label, bool]]:
    for source, is_batch in sources:
        parts = (source,) if is_batch else whole_pile(source, days, same_pile)
        yield from ((part, is_batch) for part in parts)


class _Run:
    """Piles and batches while bags change hands."""

    def __init__(
        self, laid: Mapping[Label, Sequence[BagSeen]], batches: Sequence[Batch],
        same_pile: timedelta,
    ) -> None:
        self._laid = laid
        self.piles = {label: _held(bags) for label, bags in laid.items()}
        self.moving = [batch for batch in batches if batch.first is not None]
        by_key = {batch.key: batch for batch in batches}
        since = {label: bags[0].day for label, bags in laid.items()}
        days = {label: (bags[0].day, bags[-1].day) for label, bags in laid.items()}
        self._sources = {b.key: tuple(dict.fromkeys(_over_the_turn(
            sources_of(b, by_key, since), days, same_pile))) for b in self.moving}
        self.holds: dict[Label, Held] = {b.key: Held() for b in self.moving}
        self._at: dict[Label, dict[str, Held]] = defaultdict(dict)
        self._short: dict[Label, dict[str, Held]] = defaultdict(dict)
        self._gave: dict[Label, dict[Label, float]] = defaultdict(dict)
        self.surplus: dict[str, Surplus] = {}

    def _made_of(self, key: Label) -> tuple[Label, ...]:
        return tuple(source for source, is_batch in self._sources[key] if is_batch)

    def followed(self, batch: Batch) -> Followed:
        key = batch.key
        return Followed(batch, self._made_of(key), self._at[key], self._short[key],
                        self._gave[key], self.holds[key])

    def all_moves(self) -> None:
        by_key = {batch.key: batch for batch in self.moving}
        for key, stage in moves_of(self.moving, {key: self._made_of(key) for key in by_key}):
            batch = by_key[key]
            if stage == batch.first:
                self.holds[key] = self._drawn(batch, stage)
            else:
                self._count_again(batch, stage)
            self._at[key][stage] = self.holds[key]

    def _drawn(self, batch: Batch, stage: str) -> Held:
        """Take a batch's bags from what it was made of: what was there by its day before more."""
        wanted, day = batch.stages[stage].bags, batch.stages[stage].day
        got = Held()
        for source, is_batch in self._sources[batch.key]:
            most = math.inf if wanted is None else wanted - got.bags
            piece = self._off_batch(source, most, batch) if is_batch else self._off_pile(
                source, most, {bag.name for bag in self._laid[source] if bag.day <= day})
            got = together([got, piece])
        if wanted is None:
            return got
        for source in (pile for pile, is_batch in self._sources[batch.key] if not is_batch):
            for _, later in groupby(self._laid[source], key=lambda bag: bag.day):
                if not self.piles[source].parts:
                    break
                piece = self._off_pile(source, wanted - got.bags, {bag.name for bag in later})
                got = together([got, piece])
        return self._filled(got, wanted, batch, stage)

    def _off_batch(self, source: Label, most: float, taker: Batch) -> Held:
        taken, self.holds[source] = take(self.holds[source], most)
        self._gave[source][taker.key] = taken.bags
        return taken

    def _off_pile(self, pile: Label, most: float, names: Collection[str]) -> Held:
        """Take bags of some presses off a pile."""
        there, others = parted(self.piles[pile], names)
        taken, left = take(there, most)
        self.piles[pile] = together([left, others])
        return taken

    def _count_again(self, batch: Batch, stage: str) -> None:
        """Count a batch at a later stage; what is missing is short."""
        held, counted = self.holds[batch.key], batch.stages[stage].bags
        if counted is None:
            return
        kept, missing = take(held, counted)
        if missing.bags > 0.0:
            self._short[batch.key][stage] = missing
        self.holds[batch.key] = self._filled(kept, counted, batch, stage)

    def _filled(self, got: Held, counted: float, batch: Batch, stage: str) -> Held:
        """Tell bags that were counted and never were there as surplus."""
        over = counted - got.bags
        if over <= 0.0:
            return got
        name, day = batch.stages[stage].records[0], batch.stages[stage].day
        own = stage == batch.first and not self._made_of(batch.key)
        self.surplus[name] = Surplus(
            batch.key, stage, day, over, None if own else _GREW.get(stage))
        return together([got, Held(over, {name: over})])
