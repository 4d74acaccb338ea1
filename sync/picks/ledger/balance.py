"""Balances: what was tallied, and where it is now.

Rule 1: of any group of bags, tallied + surplus = on no pile + on piles + on the way + at the shed
+ dried + short.
Rule 2: lifted + surplus on the way = on the way + short on the way + arrived, and the same at the
shed; a stage that nobody noted is implied by the next.
Rule 3: a surplus is of the group of its batch, never of a pile.
"""

import dataclasses
import math
from collections import defaultdict
from collections.abc import Callable, Hashable, Iterator
from datetime import date
from itertools import pairwise
from typing import Literal, TypeVar

from sync.block import season_of
from sync.intake.seen import BagSeen
from sync.picks.ledger.held import Held
from sync.picks.ledger.kept import Followed, Ledger, Surplus
from sync.picks.sources import Label

Place = Literal["no_pile", "on_piles", "on_the_way", "at_the_shed", "dried", "short_on_the_way",
                "short_at_the_shed"]
_PLACE_OF: dict[str, Place] = {
    "lifted": "on_the_way", "arrived": "at_the_shed", "dried": "dried"}
_SHORT_AFTER: dict[str, Place] = {"lifted": "short_on_the_way", "arrived": "short_at_the_shed"}
#: Digits of a bag that shares keep; beyond them is rounding.
_PLACES = 6
_Group = TypeVar("_Group", bound=Hashable)


@dataclasses.dataclass(frozen=True)
class Balance:
    """Bags of a group: what came in, and where each is; short between which stages.

    Attributes
    ----------
    grew_on_the_way, grew_at_the_shed : float
        Of `surplus`, what arrived beyond what was lifted, and was dried beyond what arrived.
    """

    tallied: float = 0.0
    surplus: float = 0.0
    no_pile: float = 0.0
    on_piles: float = 0.0
    on_the_way: float = 0.0
    at_the_shed: float = 0.0
    dried: float = 0.0
    short_on_the_way: float = 0.0
    short_at_the_shed: float = 0.0
    grew_on_the_way: float = 0.0
    grew_at_the_shed: float = 0.0

    @property
    def short(self) -> float:
        """Missing between two stages."""
        return self.short_on_the_way + self.short_at_the_shed

    @property
    def arrived(self) -> float:
        """Bags that came to the shed, noted or implied."""
        after = self.at_the_shed + self.short_at_the_shed + self.dried
        return after - self.grew_at_the_shed

    @property
    def lifted(self) -> float:
        """Bags that left their piles, noted or implied."""
        return (self.on_the_way + self.short_on_the_way + self.arrived - self.grew_on_the_way)

    @property
    def held(self) -> float:
        """All bags in all places: `tallied` and `surplus` together."""
        return (self.no_pile + self.on_piles + self.on_the_way + self.at_the_shed + self.dried
                + self.short)


def places_of(ledger: Ledger) -> Iterator[tuple[Place, Held]]:
    """Give every place that holds bags.

    Parameters
    ----------
    ledger : Ledger
        Of a day.

    Yields
    ------
    Place, Held
        Every bag once.
    """
    yield "no_pile", ledger.no_pile
    for pile in ledger.piles.values():
        yield "on_piles", pile
    for followed in ledger.batches.values():
        yield from batch_places(followed)


def batch_places(followed: Followed) -> Iterator[tuple[Place, Held]]:
    """Give the places of what a batch still holds, and of what it is short of."""
    stages = list(followed.batch.stages)
    yield _PLACE_OF[stages[-1]], followed.left
    for before, stage in pairwise(stages):
        if stage in followed.short:
            yield _SHORT_AFTER[before], followed.short[stage]


def balances(
    ledger: Ledger,
    group_of: Callable[[BagSeen], _Group | None],
    surplus_group: Callable[[Surplus], _Group | None],
) -> dict[_Group, Balance]:
    """Balance groups of bags.

    Parameters
    ----------
    ledger : Ledger
        Of a day.
    group_of, surplus_group : callable
        The group of a press, and of a surplus; None leaves it out.

    Returns
    -------
    dict of Balance
        By group.
    """
    sums: dict[_Group, dict[str, list[float]]] = {}
    groups: dict[str, _Group] = {}

    def add(group: _Group, field: str, bags: float) -> None:
        sums.setdefault(group, defaultdict(list))[field].append(bags)

    for name, bag in ledger.bags.items():
        if (group := group_of(bag)) is not None:
            groups[name] = group
            add(group, "tallied", bag.bags)
    for name, over in ledger.surplus.items():
        if (group := surplus_group(over)) is not None:
            groups[name] = group
            add(group, "surplus", over.bags)
            if over.grew is not None:
                add(group, over.grew, over.bags)
    for place, held in places_of(ledger):
        for name, bags in held.parts.items():
            if name in groups:
                add(groups[name], place, bags)
    return {group: Balance(**{field: round(math.fsum(bags), _PLACES)
                              for field, bags in own.items()})
            for group, own in sums.items()}


def balance_of_seasons(ledger: Ledger) -> dict[int, Balance]:
    """Balance each season: of bags that in which they were tallied, of a surplus its batch's."""
    return balances(ledger, lambda bag: season_of(bag.day, ledger.season_start),
                    lambda over: over.batch[1])


def balance_of_piles(ledger: Ledger) -> dict[Label, Balance]:
    """Balance each pile, by label and season."""
    return balances(
        ledger,
        lambda bag: None if bag.pile is None else (
            bag.pile, season_of(bag.day, ledger.season_start)),
        lambda over: None)


def balance_of_days(ledger: Ledger, season: int) -> dict[date, Balance]:
    """Balance each day of a season: of bags that on which they were tallied, of a surplus its own.

    A surplus of a batch that was counted after the season's turn keeps its day, with no bag of the
    next season in it.
    """
    return balances(
        ledger,
        lambda bag: bag.day if season_of(bag.day, ledger.season_start) == season else None,
        lambda over: over.day if over.batch[1] == season else None)


def balance_of_surplus(ledger: Ledger, season: int) -> Balance | None:
    """Balance what a season's batches counted beyond what there was; None where nothing."""
    found = balances(ledger, lambda _: None,
                     lambda over: season if over.batch[1] == season else None)
    return found.get(season)
