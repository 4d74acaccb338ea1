"""Where the weight of a bag comes from: the lot it went into, else the count.

Rule 1: order of trust: lot weight shared evenly over its bags, then count times kg a bag.
Rule 2: lots that share a pile are weighed together, for nobody can tell their bags apart.
Rule 3: a label is unique in a season only; a lot speaks of the labels of its own season or,
where that has none, of the one before, and never of what came after it was dried.
"""

import dataclasses
import functools
import itertools
import operator
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta

from sync.block import BagType, bag_kg_on, season_of
from sync.intake.seen import BagSeen, LotSeen
from sync.picks.kilos import KgPerBag, Lot, kg_per_bag
from sync.picks.once import Once
from sync.settings import Tunables

#: A label and the season it was written in.
Label = tuple[str, int]


@dataclasses.dataclass(frozen=True)
class WeighedLot:
    """Lots weighed together, and the piles they came from.

    Attributes
    ----------
    first_day : date
        Day of the first of its bags, or of its drying where no bag leads to it.
    bag_type : str
        Type of most of its bags.
    tallied : float
        Bags tallied on its piles.
    members : tuple of LotSeen
        Each lot by itself, by name.
    """

    lot: Lot
    members: tuple[LotSeen, ...]
    labels: frozenset[Label]
    first_day: date
    season: int
    bag_type: str
    tallied: float

    @property
    def names(self) -> tuple[str, ...]:
        """Records of its lots."""
        return tuple(lot.name for lot in self.members)


@dataclasses.dataclass(frozen=True)
class Weights:
    """What is known of the weight of bags on a day.

    Attributes
    ----------
    kappa : mapping
        Kg a bag by (season, bag type).
    lots : mapping
        The lots weighed together of a pile's label.
    """

    kappa: Mapping[tuple[int, str], KgPerBag]
    lots: Mapping[Label, WeighedLot]

    @functools.cached_property
    def by_season(self) -> Mapping[int, tuple[object, ...]]:
        """All that is said of the bags of each season, for what rests on no other."""
        said: dict[int, list[object]] = defaultdict(list)
        for (season, name), one in self.kappa.items():
            said[season] += name, one
        for (label, season), lot in self.lots.items():
            if season in said:
                said[season] += label, lot
        return {season: tuple(each) for season, each in said.items()}


def weighed_lots(
    lots: Sequence[LotSeen],
    batch_sources: Mapping[str, Sequence[tuple[date, str]]],
    bags: Sequence[BagSeen],
    *,
    season_start: tuple[int, int],
    usual: str,
) -> tuple[WeighedLot, ...]:
    """Join dried lots with the bags they were made of, through piles and batches.

    Parameters
    ----------
    lots : sequence of LotSeen
        Dried lots.
    batch_sources : mapping
        Labels that a batch was made from, each with its day, by the batch's label.
    bags : sequence of BagSeen
        Tallied bags; their `pile` is the label that joins.
    season_start : tuple of int
        Month and day on which a season begins.
    usual : str
        The usual bag type.

    Returns
    -------
    tuple of WeighedLot
        By first day and names.
    """
    of_pile = _by_pile(bags, season_start)
    piles = {
        lot.name: _piles_of(lot, batch_sources, of_pile, season_start) for lot in lots
    }
    together = _together(lots, piles)
    joined = [_joined(each, piles, of_pile, season_start, usual) for each in together]
    return tuple(sorted(joined, key=lambda j: (j.first_day, j.names)))


def _by_pile(
    bags: Iterable[BagSeen], season_start: tuple[int, int]
) -> Mapping[Label, Sequence[BagSeen]]:
    """Sort bags by label and season, each in the order given; days together for speed."""
    found: dict[Label, list[BagSeen]] = defaultdict(list)
    for day, each in itertools.groupby(bags, key=operator.attrgetter("day")):
        of_day: dict[str, list[BagSeen]] = defaultdict(list)
        for bag in each:
            if bag.pile is not None:
                of_day[bag.pile].append(bag)
        season = season_of(day, season_start)
        for pile, mine in of_day.items():
            found[pile, season] += mine
    return found


def _piles_of(
    lot: LotSeen,
    batch_sources: Mapping[str, Sequence[tuple[date, str]]],
    of_pile: Mapping[Label, Sequence[BagSeen]],
    season_start: tuple[int, int],
) -> frozenset[Label]:
    """Follow a lot's labels down to piles that had bags on them when it was dried."""
    dried_in = season_of(lot.day, season_start)
    found: set[Label] = set()
    seen: set[str] = set()
    open_labels = [lot.label, *lot.sources]
    while open_labels:
        label = open_labels.pop()
        if label in seen:
            continue
        seen.add(label)
        for season in (dried_in, dried_in - 1):
            if any(bag.day <= lot.day for bag in of_pile.get((label, season), ())):
                found.add((label, season))
                break
        made_of: dict[int, list[str]] = defaultdict(list)
        for day, source in batch_sources.get(label, ()):
            if day <= lot.day:
                made_of[season_of(day, season_start)].append(source)
        open_labels.extend(made_of[dried_in] or made_of[dried_in - 1])
    return frozenset(found)


def _together(
    lots: Sequence[LotSeen], piles: Mapping[str, frozenset[Label]]
) -> list[list[LotSeen]]:
    groups: list[tuple[set[Label], list[LotSeen]]] = []
    for lot in sorted(lots, key=lambda one: one.name):
        mine: tuple[set[Label], list[LotSeen]] = (set(piles[lot.name]), [lot])
        apart = []
        for labels, members in groups:
            if labels & mine[0]:
                mine = (mine[0] | labels, members + mine[1])
            else:
                apart.append((labels, members))
        groups = [*apart, mine]
    return [members for _, members in groups]


def _joined(
    members: Sequence[LotSeen],
    piles: Mapping[str, frozenset[Label]],
    of_pile: Mapping[Label, Sequence[BagSeen]],
    season_start: tuple[int, int],
    usual: str,
) -> WeighedLot:
    labels = frozenset().union(*(piles[lot.name] for lot in members))
    bags = [bag for label in sorted(labels) for bag in of_pile[label]]
    first_day = min((bag.day for bag in bags), default=min(lot.day for lot in members))
    types: dict[str, float] = defaultdict(float, {usual: 0.0})
    for bag in bags:
        types[bag.bag_type or usual] += bag.bags
    return WeighedLot(
        lot=Lot(sum(lot.bags for lot in members), sum(lot.dry_kg for lot in members)),
        members=tuple(sorted(members, key=lambda lot: lot.name)),
        labels=labels,
        first_day=first_day,
        season=season_of(first_day, season_start),
        bag_type=min(types, key=lambda t: (-types[t], t)),
        tallied=sum(bag.bags for bag in bags),
    )


def weights_of(
    lots: Iterable[WeighedLot],
    seasons: Iterable[int],
    bag_types: Sequence[BagType],
    *,
    on: date,
    season_start: tuple[int, int],
    tunables: Tunables,
    kept: Once[KgPerBag] | None = None,
) -> Weights:
    """Say what a bag weighs in each season and type.

    Parameters
    ----------
    lots : iterable of WeighedLot
        Known lots; those whose first bag is of after `on` are left out.
    seasons : iterable of int
        Seasons that a weight is asked for.
    bag_types : sequence of BagType
        The block's bag types with the owner's kg, the usual one first.
    on : date
        The day asked about.
    season_start : tuple of int
        Month and day on which a season begins; a past one has the owner's kg of its last day.
    tunables : Tunables
        Priors of the bag.
    kept : Once, optional
        Weights of a bag worked out before, by the same tunables.

    Returns
    -------
    Weights
        A season without lots of a type uses all earlier lots of that type.
    """
    known = [lot for lot in lots if lot.first_day <= on]
    once: Once[KgPerBag] = kept or Once()
    kappa = {}
    for name in sorted({bag.name for bag in bag_types}):
        of_type = _of_type(known, name, bag_types)
        by_season = _by_season(of_type)
        for season in sorted(set(seasons)):
            next_season = date(min(season + 1, date.max.year), *season_start)
            day = min(on, next_season - timedelta(days=1))
            members = _of_season(of_type, by_season, season)
            owners_kg = bag_kg_on(bag_types, name, day).dry_kg
            parts = [Lot(lot.bags, lot.dry_kg) for lot in members]
            kappa[season, name] = once.give(
                (season, name), (members, owners_kg),
                functools.partial(kg_per_bag, parts, owners_kg=owners_kg, tunables=tunables))
    return Weights(kappa, {label: lot for lot in known for label in lot.labels})


def lots_alike(
    lots: Sequence[WeighedLot], season: int, name: str, bag_types: Sequence[BagType]
) -> list[LotSeen]:
    """Give the lots that say what a bag of a season and type weighs.

    Parameters
    ----------
    lots : sequence of WeighedLot
        Known by the day asked about.
    season : int
        The year it starts in.
    name : str
        Bag type.
    bag_types : sequence of BagType
        The block's, the usual one first; a lot of an unknown type is of the usual one.

    Returns
    -------
    list of LotSeen
        Of that season; where it has none, of all before it.
    """
    of_type = _of_type(lots, name, bag_types)
    return list(_of_season(of_type, _by_season(of_type), season))


def _of_type(
    lots: Sequence[WeighedLot], name: str, bag_types: Sequence[BagType]
) -> list[WeighedLot]:
    types = {bag.name for bag in bag_types}
    usual = bag_types[0].name
    return [lot for lot in lots if name == (lot.bag_type if lot.bag_type in types else usual)]


def _by_season(lots: Sequence[WeighedLot]) -> dict[int, list[WeighedLot]]:
    """Give the lots of each season that has any."""
    found: dict[int, list[WeighedLot]] = defaultdict(list)
    for lot in lots:
        found[lot.season].append(lot)
    return dict(found)


def _of_season(
    lots: Sequence[WeighedLot], by_season: Mapping[int, Sequence[WeighedLot]], season: int
) -> tuple[LotSeen, ...]:
    own = by_season.get(season)
    used = [lot for lot in lots if lot.season < season] if own is None else own
    return tuple(lot for each in used for lot in each.members)
