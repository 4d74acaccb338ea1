"""What bags weigh wet, for a permit whose cap is in wet kg.

Rule 1: as for dry weights: what a bag or its batch weighed is trusted before a count, a count
times the wet kg of a bag of that season before nothing.
Rule 2: of a batch weighed at several stages the one nearest to the ground counts: lifted, then
weighed, then arrived; water runs out on the way.
Rule 3: without a wet weight of that bag type in that season or an earlier one nothing is said.
"""

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from sync.block import Block, season_of
from sync.geometry.placed import Placed
from sync.intake.seen import LotSeen, WetSeen
from sync.picks.bags import kg_of
from sync.picks.made import Kg
from sync.picks.sources import Weights, weighed_lots, weights_of
from sync.settings import Tunables

_STAGES = ("lifted", "weighed", "arrived")


@dataclasses.dataclass(frozen=True)
class WetTaken:
    """Wet kg of some bags, and the wet kg of a bag of the usual type. [kg]."""

    kg: Kg
    usual_kg: float


def wet_taken(
    presses: Sequence[Placed],
    place: str,
    wet: Iterable[WetSeen],
    batch_sources: Mapping[str, Sequence[tuple[date, str]]],
    block: Block,
    tunables: Tunables,
    *,
    on: date,
) -> WetTaken | None:
    """Weigh bags wet.

    Parameters
    ----------
    presses : sequence of Placed
        All bags known, so that a batch finds those it was made of, with their share of `place`.
    place : str
        Key of the share that is weighed.
    wet : iterable of WetSeen
        Batches weighed wet.
    batch_sources : mapping
        Labels that a batch was made from, each with its day.
    block, tunables
        Seasons and bag types; priors of the bag.
    on : date
        The day asked about: what was weighed later counts, bags of later do not.

    Returns
    -------
    WetTaken or None
        None where no wet weight tells of one of the bags.

    Notes
    -----
    The sums of `sync.picks.kilos` with wet weights in the place of dry ones: W = κn + e, Var e in
    proportion to n; the days' weather is in the spread between batches. Derived.
    """
    own = [_by_itself(one) for one in presses]
    lots = weighed_lots(
        [*_batches(wet, block), *(lot for one in presses if (lot := _own_lot(one)) is not None)],
        batch_sources, [one.bag for one in own], season_start=block.season_start,
        usual=block.bags[0].name,
    )
    mine = [one for one in own if one.chances.get(place, 0.0) > 0.0]
    seasons = {season_of(day, block.season_start) for day in (*(m.bag.day for m in mine), on)}
    weights = weights_of(lots, seasons, block.bags, on=on, season_start=block.season_start,
                         tunables=tunables)
    usual = weights.kappa[season_of(on, block.season_start), block.bags[0].name]
    if usual.assumed or not all(_is_weighed(one, weights, block) for one in mine):
        return None
    return WetTaken(kg_of(mine, place, weights, block), usual.kg)


def _batches(wet: Iterable[WetSeen], block: Block) -> list[LotSeen]:
    """Choose the stage that counts of each batch of a season."""
    best: dict[tuple[str, int], WetSeen] = {}
    for one in sorted(wet, key=lambda w: (_STAGES.index(w.stage), w.day, w.name)):
        best.setdefault((one.label, season_of(one.day, block.season_start)), one)
    return [LotSeen(one.name, one.label, one.day, one.bags, one.wet_kg, one.sources)
            for one in best.values()]


def _by_itself(one: Placed) -> Placed:
    """Give a press that was weighed a pile of its own."""
    if one.bag.wet_kg is None:
        return one
    return one._replace(bag=one.bag._replace(pile=one.bag.name))


def _own_lot(one: Placed) -> LotSeen | None:
    bag = one.bag
    if not bag.wet_kg or not bag.bags:
        return None
    return LotSeen(bag.name, bag.name, bag.day, bag.bags, bag.wet_kg, ())


def _is_weighed(one: Placed, weights: Weights, block: Block) -> bool:
    """Say whether a batch or other bags of its type tell a bag's weight."""
    season = season_of(one.bag.day, block.season_start)
    known = {bag.name for bag in block.bags}
    name = one.bag.bag_type if one.bag.bag_type in known else block.bags[0].name
    return not weights.kappa[season, str(name)].assumed
