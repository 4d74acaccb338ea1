"""What a wet bag weighs, by the last day on which bags were weighed.

Rule 1: water comes and goes with the weather, so days are never mixed: the last one counts.
Rule 2: of that day a pile's own bags count alone where enough of them were weighed, else all of
its bag types.
Rule 3: which pile a label names is the ledger's rule (`sync.picks.ledger.labels`).
Rule 4: without a weighing nothing is said, and with too few a wide spread is assumed.
"""

import dataclasses
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta

from sync.block import season_of
from sync.picks.ledger.labels import label_meant, whole_pile
from sync.picks.sources import Label
from sync.plan.lifts.values import Pile, WetBag
from sync.register.build import Register
from sync.settings import Tunables

#: Stages at which a bag weighs what hangs on the hook; at the shed water has run out of it.
_ON_THE_HOOK = frozenset({"weighed", "lifted"})


@dataclasses.dataclass(frozen=True)
class Weighing:
    """One reading of the scale.

    Attributes
    ----------
    labels : frozenset of (str, int)
        The piles its bags came from, of those that bags were tallied on.
    types : frozenset of str
        Types of the bags on those piles; empty where no pile tells.
    """

    name: str
    day: date
    bags: float
    kg: float
    labels: frozenset[tuple[str, int]]
    types: frozenset[str]


def weighings_of(register: Register) -> tuple[Weighing, ...]:
    """Give every weighing of wet bags until the day asked about.

    Parameters
    ----------
    register : Register
        Of that day.

    Returns
    -------
    tuple of Weighing
        Batches weighed or lifted with their wet kg, and bags weighed as they were tallied; by
        day and name.
    """
    piles = _piles_of(register)
    found = [*_of_batches(register, piles), *_of_tallies(register, piles)]
    return tuple(sorted(found, key=lambda one: (one.day, one.name)))


def types_by_pile(register: Register) -> dict[Label, frozenset[str]]:
    """Give the types of the bags tallied on each pile; a bag without one is of the usual type."""
    return {label: pile.types for label, pile in _piles_of(register).items()}


@dataclasses.dataclass(frozen=True)
class _Laid:
    """Bags on a pile until the day asked about: their first and last day, and their types."""

    first: date
    last: date
    types: frozenset[str]


def _piles_of(register: Register) -> dict[Label, _Laid]:
    known = {bag.name for bag in register.block.bags}
    usual = register.block.bags[0].name
    found: dict[Label, _Laid] = {}
    for bag in register.events.bags:
        if bag.pile is None or bag.day > register.on:
            continue
        label = (bag.pile, season_of(bag.day, register.block.season_start))
        kind = bag.bag_type if bag.bag_type in known and bag.bag_type else usual
        pile = found.get(label, _Laid(bag.day, bag.day, frozenset()))
        found[label] = _Laid(min(pile.first, bag.day), max(pile.last, bag.day),
                             pile.types | {kind})
    return found


def wet_bag_of(
    pile: Pile, types: frozenset[str], weighings: Sequence[Weighing], tunables: Tunables
) -> WetBag | None:
    """Say what a wet bag of a pile weighs.

    Parameters
    ----------
    pile : Pile
        Bags that wait.
    types : frozenset of str
        Their types.
    weighings : sequence of Weighing
        Until the day asked about.
    tunables : Tunables
        `least_weighings` and `cv_bag`.

    Returns
    -------
    WetBag or None
        None without a weighing of any such bag.
    """
    such = [one for one in weighings if not one.types or not types or one.types & types]
    if not such:
        return None
    last = max(one.day for one in such)
    of_day = [one for one in such if one.day == last]
    own = [one for one in of_day if (pile.label, pile.season) in one.labels]
    enough = len(own) >= tunables.least_weighings
    return _told(own if enough else of_day, tunables, own=enough or len(own) == len(of_day))


def _told(weighings: Sequence[Weighing], tunables: Tunables, *, own: bool) -> WetBag:
    bags = sum(one.bags for one in weighings)
    kg = sum(one.kg for one in weighings) / bags
    assumed = len(weighings) < tunables.least_weighings
    sd_kg = bag_sd_kg([(one.bags, one.kg) for one in weighings]) if not assumed else (
        tunables.cv_bag * kg)
    piles = sorted({label for one in weighings for label in one.labels})
    return WetBag(kg, sd_kg, weighings[0].day, len(weighings), bags, assumed, own, tuple(piles))


def bag_sd_kg(weighings: Sequence[tuple[float, float]]) -> float:
    """Estimate the spread of wet weight from bag to bag.

    Parameters
    ----------
    weighings : sequence of (float, float)
        Bags on the scale and what it read, two or more. [kg]

    Returns
    -------
    float
        √(Σ(W − w·n)²/n ÷ (k − 1)), w = ΣW/Σn over k weighings; of bags weighed one by one it is
        their standard deviation. [kg]

    Notes
    -----
    Derived: generalised least squares for W = w·n + e, Var e in proportion to n. What k weighings
    leave unknown of w and of the spread itself is not in it: after ten weighings a load that
    just meets the limit is over it 11 times in 100 instead of 5, after five 15 times. Loads of
    whole bags seldom just meet it: over limits of 500 to 800 kg loads of ten weighings are over
    2 times in 100, of five 4 times (made-up bags of 112 ± 13 kg).
    """
    w = math.fsum(kg for _, kg in weighings) / math.fsum(bags for bags, _ in weighings)
    squares = math.fsum((kg - w * bags) ** 2 / bags for bags, kg in weighings)
    return math.sqrt(squares / (len(weighings) - 1))


def _of_batches(register: Register, piles: Mapping[Label, _Laid]) -> Iterator[Weighing]:
    since = {label: pile.first for label, pile in piles.items()}
    days = _days_of(piles)
    for one in register.events.wet:
        if one.stage in _ON_THE_HOOK and one.day <= register.on:
            season = season_of(one.day, register.block.season_start)
            meant = (label_meant(label, season, one.day, since)
                     for label in one.sources or (one.label,))
            labels = _whole(register, days, [pile for pile in meant if pile is not None])
            yield Weighing(one.name, one.day, one.bags, one.wet_kg, labels,
                           _types(labels, piles))


def _of_tallies(register: Register, piles: Mapping[Label, _Laid]) -> Iterator[Weighing]:
    days = _days_of(piles)
    for bag in register.events.bags:
        if bag.wet_kg and bag.bags and bag.day <= register.on:
            season = season_of(bag.day, register.block.season_start)
            labels = _whole(register, days, [] if bag.pile is None else [(bag.pile, season)])
            own = frozenset({bag.bag_type}) if bag.bag_type else _types(labels, piles)
            yield Weighing(bag.name, bag.day, bag.bags, bag.wet_kg, labels, own)


def _days_of(piles: Mapping[Label, _Laid]) -> dict[Label, tuple[date, date]]:
    return {label: (pile.first, pile.last) for label, pile in piles.items()}


def _whole(
    register: Register, days: Mapping[Label, tuple[date, date]], named: Iterable[Label]
) -> frozenset[Label]:
    """Give the piles that were named, each with what was laid before the season's turn."""
    same = timedelta(days=register.tunables.same_pick_days)
    return frozenset(part for pile in named for part in whole_pile(pile, days, same))


def _types(labels: frozenset[Label], piles: Mapping[Label, _Laid]) -> frozenset[str]:
    return frozenset(name for label in labels for name in piles[label].types)
