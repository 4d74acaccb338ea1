"""One card a lift: bags shared evenly, so that no sling hangs fuller than it must.

Rule 1: a sling is loaded from one pile.
Rule 2: a card's label was used by no batch of the season.
"""

import math
from collections.abc import Collection, Sequence
from datetime import date

from sync.picks.lift import load_kg
from sync.plan.lifts.values import Lift, PileLifts


def shared_loads(bags: float, lifts: int) -> list[float]:
    """Share a pile's bags out to its lifts, whole bags as evenly as they go.

    Parameters
    ----------
    bags : float
        On the pile, above 0; halves count.
    lifts : int
        1 or more, and no more than the bags.

    Returns
    -------
    list of float
        The fuller ones first; a half bag is on the last.
    """
    places = math.ceil(bags)
    each, over = divmod(places, lifts)
    loads = [float(each + (i < over)) for i in range(lifts)]
    loads[-1] -= places - bags
    return loads


def cards_of(piles: Sequence[PileLifts], on: date, used: Collection[str]) -> tuple[Lift, ...]:
    """Give the lifts of all piles, in order.

    Parameters
    ----------
    piles : sequence of PileLifts
        In order.
    on : date
        The day of the lifts.
    used : collection of str
        Labels of batches noted in that season.

    Returns
    -------
    tuple of Lift
        None of piles whose sling is not known or is not one bag.
    """
    cards: list[Lift] = []
    free = _next_free(on, used)
    for one in piles:
        if one.wet is None or not one.lifts:
            continue
        for bags in shared_loads(one.pile.bags, one.lifts):
            cards.append(Lift(
                len(cards) + 1, _label(on, free + len(cards)), one.pile, bags,
                bags * one.wet.kg, load_kg(math.ceil(bags), one.wet.kg, one.wet.sd_kg)))
    return tuple(cards)


def _label(on: date, number: int) -> str:
    return f"L{on:%m%d}-{number}"


def _next_free(on: date, used: Collection[str]) -> int:
    """Give the number from which on no label of that day was used."""
    begin = _label(on, 0)[:-1]
    taken = [int(label[len(begin):]) for label in used
             if label.startswith(begin) and label[len(begin):].isdecimal()]
    return max(taken, default=0) + 1
