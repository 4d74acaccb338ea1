"""From placed bags to kg: what some bags weighed, and how well that is known."""

import abc
import dataclasses
import functools
import itertools
from collections.abc import Iterable, Sequence
from datetime import date

from sync.block import Block, season_of
from sync.geometry.placed import Placed
from sync.picks.group_shares import Group, by_group
from sync.picks.groups import GroupShare
from sync.picks.kilos import KgPerBag, Lot
from sync.picks.made import Kg, added
from sync.picks.place import cell_bags, cell_kg, cell_kg_of_lot, place_variance
from sync.picks.sources import Label, WeighedLot, Weights

#: Season, bag type and pile of a bag.
Source = tuple[int, str, str | None]


def kg_of(presses: Sequence[Placed], cell: str | None, weights: Weights, block: Block) -> Kg:
    """Weigh the bags of some presses that are of a cell.

    Parameters
    ----------
    presses : sequence of Placed
        Bags with their chances.
    cell : str or None
        The cell; None weighs all of them wherever they are of.
    weights : Weights
        Kg of a bag. [kg]
    block : Block
        For its seasons and bag types.

    Returns
    -------
    Kg
        Shed-dry kg, variance, expected bags and records. [kg], [kg²]
    """
    return Bags(presses, cell, block).kg(weights)


@dataclasses.dataclass(frozen=True)
class _InLot:
    """Of some bags those that went into a lot: how many, and the variance of where they were.

    Attributes
    ----------
    rest : list of GroupShare
        What never reached the drying floor, which the count must weigh.
    """

    bags: float
    of_place: float
    rest: list[GroupShare]


@dataclasses.dataclass(frozen=True)
class Shares:
    """Of some bags their records, and their position groups in the order of first presses."""

    records: tuple[str, ...]
    groups: dict[Group, GroupShare]


class _Sorted(abc.ABC):
    """Some bags of a cell, sorted by what they may be weighed by: their sources, in order."""

    def __init__(self, sources: Iterable[Source]) -> None:
        self.sources = tuple(sources)
        # Asked of the weights of every day: the type and the label of each source.
        self._asks = [(source[:2], _label_of(source)) for source in self.sources]
        self._known: dict[tuple[Source, ...], Shares] = {}
        # The weight of a bag moves with every lot of a season; what is in a lot does not.
        self._lots: dict[tuple[tuple[Source, ...], Lot, float], _InLot] = {}

    def weighed_by(self, weights: Weights) -> tuple[tuple[KgPerBag, WeighedLot | None], ...]:
        """Give all of the weights that the kg rest on, by source."""
        kappa, lots = weights.kappa, weights.lots
        return tuple([(kappa[kind], None if label is None else lots.get(label))
                      for kind, label in self._asks])

    def kg(self, weights: Weights) -> Kg:
        """Weigh them, as `kg_of` does."""
        sources: dict[tuple[int, str, int], tuple[WeighedLot | None, list[Source]]] = {}
        for source, (_, lot) in zip(self.sources, self.weighed_by(weights), strict=True):
            # A lot is one object under all of its labels; its own sum would be slow.
            sources.setdefault((*source[:2], id(lot)), (lot, []))[1].append(source)
        parts: list[Kg] = []
        counted: dict[tuple[KgPerBag, str], list[GroupShare]] = {}
        for (season, bag_type, _), (lot, mine) in sources.items():
            kappa = weights.kappa[season, bag_type]
            part, rest = self._lot_kg(tuple(mine), kappa, lot)
            parts.append(part)
            # Also of those without any left: figures are added up in the order of the sources.
            counted.setdefault((kappa, bag_type), []).extend(rest)
        # All counted bags of a type share the error of one mean bag, also of two seasons that
        # have the same figure: the owner's, or that of the lots before both.
        for (kappa, _), groups in counted.items():
            kg, variance = cell_kg(groups, kappa)
            parts.append(Kg(kg, variance, cell_bags(groups), (), kappa.df))
        return added(parts)

    def _lot_kg(
        self, sources: tuple[Source, ...], kappa: KgPerBag, lot: WeighedLot | None
    ) -> tuple[Kg, Sequence[GroupShare]]:
        """Weigh what of some bags went into a lot; give the rest, which the count must weigh."""
        shares = self.shares(sources)
        if lot is None:
            return Kg(0.0, 0.0, 0.0, shares.records), tuple(shares.groups.values())
        key = sources, lot.lot, lot.tallied
        if key not in self._lots:
            self._lots[key] = _in_lot(list(shares.groups.values()), lot)
        found = self._lots[key]
        kg, variance = cell_kg_of_lot(found.bags, found.of_place, lot.lot, kappa)
        return Kg(kg, variance, found.bags, (*shares.records, *lot.names), kappa.df), found.rest

    def shares(self, sources: tuple[Source, ...]) -> Shares:
        """Give records and position groups of the bags of some sources, in their order."""
        if sources not in self._known:
            self._known[sources] = self._shares(sources)
        return self._known[sources]

    @abc.abstractmethod
    def _shares(self, sources: tuple[Source, ...]) -> Shares:
        """Work them out."""


class Bags(_Sorted):
    """Some bags of a cell, sorted once by what they may be weighed by.

    Parameters
    ----------
    presses, cell, block
        As for `kg_of`.
    """

    def __init__(self, presses: Sequence[Placed], cell: str | None, block: Block) -> None:
        self.presses = presses
        self._cell = cell
        # By their places, so that those of several sources come in the order given.
        self._places: dict[Source, list[int]] = {}
        types = frozenset(bag.name for bag in block.bags)
        noted: dict[tuple[date, str | None, str | None], list[int]] = {}
        for place, one in enumerate(presses):
            bag = one.bag
            noted.setdefault((bag.day, bag.bag_type, bag.pile), []).append(place)
        for (day, bag_type, pile), each in noted.items():
            named = bag_type if bag_type in types else block.bags[0].name
            source = season_of(day, block.season_start), str(named), pile
            self._places.setdefault(source, []).extend(each)
        super().__init__(self._places)

    def _shares(self, sources: tuple[Source, ...]) -> Shares:
        members = self._members(sources)
        cell = self._cell
        records = tuple([one.bag.name for one in members
                         if cell is None or one.chances.get(cell, 0.0) > 0.0])
        return Shares(records, by_group(members, cell))

    def _members(self, sources: tuple[Source, ...]) -> Sequence[Placed]:
        if sources == self.sources:
            return self.presses
        places = sorted(place for source in sources for place in self._places.get(source, ()))
        return [self.presses[place] for place in places]


class JoinedBags(_Sorted):
    """The bags of several days of a cell together, of which each day's are sorted already.

    Parameters
    ----------
    parts : sequence of Bags
        By day.
    cell, block
        As for each of them.
    """

    def __init__(self, parts: Sequence[Bags], cell: str | None, block: Block) -> None:
        super().__init__(dict.fromkeys(source for part in parts for source in part.sources))
        self._parts, self._cell, self._block = parts, cell, block

    @functools.cached_property
    def _together(self) -> Bags:
        return Bags([one for part in self._parts for one in part.presses], self._cell, self._block)

    def _shares(self, sources: tuple[Source, ...]) -> Shares:
        each = [part.shares(sources) for part in self._parts]
        groups = {group: share for one in each for group, share in one.groups.items()}
        if len(groups) < sum(len(one.groups) for one in each):
            return self._together.shares(sources)  # a group over midnight is one group
        return Shares(tuple(itertools.chain.from_iterable(one.records for one in each)), groups)


def _label_of(source: Source) -> Label | None:
    season, _, pile = source
    return None if pile is None else (pile, season)


def _in_lot(groups: list[GroupShare], lot: WeighedLot) -> _InLot:
    # Bags that never reached the drying floor are weighed by the count.
    dried = min(1.0, lot.lot.bags / lot.tallied) if lot.tallied else 1.0
    inside, rest = groups, list[GroupShare]()
    if dried < 1.0:
        inside = [GroupShare(g.bags * dried, g.share, g.variance) for g in groups]
        rest = [GroupShare(g.bags * (1.0 - dried), g.share, g.variance) for g in groups]
    # A lot without bags is refused where its weight is shared out.
    kg_per_bag = lot.lot.dry_kg / lot.lot.bags if lot.lot.bags else 0.0
    return _InLot(cell_bags(inside), place_variance(inside, kg_per_bag),
                  [g for g in rest if g.bags > 0.0])
