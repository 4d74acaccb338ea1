"""How far the bags of one batch have come: lifted, arrived, dried, and how many are missing.

Rule 1: a stage that nobody noted is told by the next one, or by the batches that took from it.
"""

import dataclasses
import math

from sync.block import season_of
from sync.picks.ledger.batches import MOVING
from sync.picks.ledger.kept import Followed, Ledger
from sync.picks.sources import Label


@dataclasses.dataclass(frozen=True)
class Way:
    """Bags of a batch by stage.

    Attributes
    ----------
    tallied : float
        On the piles that it came from, all of them.
    lifted, arrived, dried : float
        Of the batch, noted or implied; what other batches took of it counts where they brought it.
    short : float
        Missing between two of its stages.
    """

    tallied: float
    lifted: float
    arrived: float
    dried: float
    short: float


def way_of(ledger: Ledger, batch: Label) -> Way:
    """Tell how far a batch's bags have come.

    Parameters
    ----------
    ledger : Ledger
        Of a day.
    batch : Label
        Label and season of one that has left its pile.

    Returns
    -------
    Way
        Bags.
    """
    one = ledger.batches[batch]
    return Way(
        _tallied(ledger, one), one.begun.bags,
        _come_to(ledger, one, ("arrived", "dried"), frozenset()),
        _come_to(ledger, one, ("dried",), frozenset()),
        math.fsum(held.bags for held in one.short.values()))


def _tallied(ledger: Ledger, one: Followed) -> float:
    start = ledger.season_start

    def pile_of(name: str) -> Label | None:
        bag = ledger.bags.get(name)
        return None if bag is None or bag.pile is None else (bag.pile, season_of(bag.day, start))

    piles = {pile_of(name) for name in one.begun.parts} - {None}
    return math.fsum(bag.bags for name, bag in ledger.bags.items() if pile_of(name) in piles)


def _come_to(
    ledger: Ledger, one: Followed, stages: tuple[str, ...], seen: frozenset[Label]
) -> float:
    """Count the bags of a batch that came to one of some stages, by itself or in another batch."""
    if one.batch.first in stages:
        return one.begun.bags
    counted = next((stage for stage in stages if stage in one.at), None)
    come = 0.0 if counted is None else one.at[counted].bags
    if one.batch.key in seen:
        return come
    for key, bags in one.gave.items():
        taker = ledger.batches[key]
        # What was taken later is in the count already.
        if bags and (counted is None or _rank(taker) <= MOVING.index(counted)):
            part = _come_to(ledger, taker, stages, seen | {one.batch.key}) / taker.begun.bags
            come += bags * part
    return come


def _rank(one: Followed) -> int:
    return MOVING.index(next(iter(one.at)))
