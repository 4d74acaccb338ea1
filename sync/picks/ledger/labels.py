"""What a batch's labels name: piles, and other batches.

Rule 1: a batch speaks of its own season's labels or, where that has none, of the season before.
Rule 2: without a word of where it came from, a batch is the pile of its own label.
Rule 3: a batch that was only weighed stands for what it was made of.
"""

from collections.abc import Iterator, Mapping
from datetime import date

from sync.picks.ledger.batches import Batch
from sync.picks.sources import Label


def sources_of(
    batch: Batch, batches: Mapping[Label, Batch], piles: Mapping[Label, date]
) -> tuple[tuple[Label, bool], ...]:
    """Find what a batch was made of.

    Parameters
    ----------
    batch : Batch
        Which has left its pile.
    batches : mapping of Label to Batch
        All of them.
    piles : mapping of Label to date
        Piles that bags were laid on, and the first day of it.

    Returns
    -------
    tuple of (Label, bool)
        Each once, by name, the batch of a label before its pile; true is a batch.
    """
    found: dict[tuple[Label, bool], None] = {}
    for name in batch.sources or (batch.label,):
        for each in _named(name, batch, batches, piles, frozenset({batch.key})):
            found[each] = None
    return tuple(found)


def _named(
    label: str, batch: Batch, batches: Mapping[Label, Batch], piles: Mapping[Label, date],
    seen: frozenset[Label],
) -> Iterator[tuple[Label, bool]]:
    key = _season_meant(label, batch, batches, piles)
    if key is None:
        return
    other = batches.get(key)
    if other is not None and key not in seen:
        if other.first is not None:
            yield key, True
        else:
            for name in other.sources or (other.label,):
                yield from _named(name, batch, batches, piles, seen | {key})
    if key in piles:
        yield key, False


def _season_meant(
    label: str, batch: Batch, batches: Mapping[Label, Batch], piles: Mapping[Label, date]
) -> Label | None:
    """Say of which season a label is: what was there by the batch's day before what came later."""
    day = max(stage.day for stage in batch.stages.values())
    keys = ((label, batch.season), (label, batch.season - 1))
    there = [key for key in keys if key in piles or (key in batches and key != batch.key)]
    by_then = [key for key in there if _since(key, batches, piles) <= day]
    return next(iter((*by_then, *there)), None)


def _since(key: Label, batches: Mapping[Label, Batch], piles: Mapping[Label, date]) -> date:
    """Give the first day of a label."""
    batch, pile = batches.get(key), piles.get(key, date.max)
    return pile if batch is None else min(pile, batch.records[0].day)
