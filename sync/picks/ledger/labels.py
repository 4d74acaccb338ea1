"""What a batch's labels name: piles, and other batches.

Rule 1: a batch speaks of its own season's labels or, where that has none, of the season before;
of two, of the one that was there by its day.
Rule 2: without a word of where it came from, a batch is the pile of its own label.
Rule 3: a batch that was only weighed stands for what it was made of.
"""

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

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
    """Say of which season a batch's label is; no batch is its own source."""
    day = max(stage.day for stage in batch.stages.values())
    since = {key: _since(key, batches, piles)
             for key in ((label, batch.season), (label, batch.season - 1))
             if key in piles or (key in batches and key != batch.key)}
    return label_meant(label, batch.season, day, since)


def label_meant(
    label: str, season: int, day: date, since: Mapping[Label, date]
) -> Label | None:
    """Say of which season a label is that is spoken of.

    Parameters
    ----------
    label : str
        As it was written.
    season : int
        In which it was spoken of.
    day : date
        On which.
    since : mapping of Label to date
        The first day of all that carries a label.

    Returns
    -------
    Label or None
        Of that season, else of the one before; what was there by the day before what came later;
        None where neither season has one.
    """
    there = [key for key in ((label, season), (label, season - 1)) if key in since]
    by_then = [key for key in there if since[key] <= day]
    return next(iter((*by_then, *there)), None)


def whole_pile(
    pile: Label, laid: Mapping[Label, tuple[date, date]], same_pile: timedelta
) -> tuple[Label, ...]:
    """Put what was laid on a pile before the season's turn ahead of what was after.

    Parameters
    ----------
    pile : Label
        One that bags were laid on.
    laid : mapping of Label to (date, date)
        First and last day on which bags were laid.
    same_pile : timedelta
        Bags laid at most so long after others of the same label lie on the same pile.
    """
    before = (pile[0], pile[1] - 1)
    one = before in laid and laid[pile][0] - laid[before][1] <= same_pile
    return (before, pile) if one else (pile,)


def _since(key: Label, batches: Mapping[Label, Batch], piles: Mapping[Label, date]) -> date:
    """Give the first day of a label."""
    batch, pile = batches.get(key), piles.get(key, date.max)
    return pile if batch is None else min(pile, batch.records[0].day)
