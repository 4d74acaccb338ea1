"""A season of lots: its balance, each lot, what the ground gives, and how much is clean.

Rule 1: a lot and its bags are of the season of its first bag; a batch that counted more than there
was, of the season it was begun in.
Rule 2: what ground gives is learned from the lots of all seasons to the day.
"""

import dataclasses
import math
from collections.abc import Mapping

from sync.block import season_of
from sync.picks.kilos import KgPerBag
from sync.picks.ledger.balance import Balance, Place, balance_of_seasons, batch_places
from sync.picks.ledger.held import Held
from sync.picks.ledger.kept import Followed, Ledger, Surplus
from sync.picks.ledger.trace import LotTold, lots_told
from sync.picks.sources import Label
from sync.plan.lots.clean import Clean, Estimate, GroundTold, cells_told, classes_told, clean_of
from sync.plan.lots.dried import Dried, dried_of
from sync.plan.lots.supply import Supply, supply_of
from sync.register.build import Register
from sync.register.followed import follow_bags
from sync.survey.ranges import t_quantile

#: Less of a bag is rounding.
_ROUNDING = 1e-6


@dataclasses.dataclass(frozen=True)
class LotsOfSeason:
    """All that is told of a season's lots.

    Attributes
    ----------
    season : int
        The year it starts in.
    pure_pct : float
        The purity asked for. [%]
    balance : Balance
        Bags of the season.
    piles : mapping of Label to float
        Bags left on its piles, where there are any.
    on_the_way, at_the_shed, short : tuple of (Followed, float)
        Batches of the season that hold such bags, and how many.
    surplus : tuple of Surplus
        What was counted beyond what there was.
    lots, all_lots : tuple of LotTold
        Of the season, and of all, by the day on which they were dried.
    classes, cells : tuple of GroundTold
        Of all seasons.
    ready, allowed : Supply
        What all ready cells may give of the purity, and what they may within what may be taken.
    """

    register: Register
    ledger: Ledger
    season: int
    pure_pct: float
    balance: Balance
    piles: Mapping[Label, float]
    on_the_way: tuple[tuple[Followed, float], ...]
    at_the_shed: tuple[tuple[Followed, float], ...]
    short: tuple[tuple[Followed, float], ...]
    surplus: tuple[Surplus, ...]
    lots: tuple[LotTold, ...]
    all_lots: tuple[LotTold, ...]
    classes: tuple[GroundTold, ...]
    cells: tuple[GroundTold, ...]
    dried: Dried
    ready: Supply
    allowed: Supply | None


def lots_of_season(
    register: Register, season: int | None, *, pure_pct: float
) -> LotsOfSeason:
    """Tell the lots of a season.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    season : int or None
        The year it starts in; None is the last that has a lot, else that of the day.
    pure_pct : float
        The purity asked for. [%]

    Returns
    -------
    LotsOfSeason
        At full precision.
    """
    ledger = follow_bags(register)
    lots = lots_told(ledger, register.known.placed)
    if season is None:
        season = max((lot.season for lot in lots),
                     default=season_of(register.on, register.block.season_start))
    own = tuple(lot for lot in lots if lot.season == season)
    group_of = {name: cell.ground_class for name, cell in register.crop.ground.cells.items()}
    clean = clean_of(lots, group_of)
    ready, allowed = _supplies(register, clean, group_of, pure_pct)
    return LotsOfSeason(
        register, ledger, season, pure_pct,
        balance_of_seasons(ledger).get(season, Balance()),
        {label: held.bags for label, held in ledger.piles.items()
         if label[1] == season and held.bags},
        _where(ledger, season, "on_the_way"), _where(ledger, season, "at_the_shed"),
        _where(ledger, season, "short_on_the_way", "short_at_the_shed"),
        tuple(over for over in ledger.surplus.values() if over.batch[1] == season),
        own, lots, classes_told(clean, least_pct=pure_pct), cells_told(clean, least_pct=pure_pct),
        dried_of(own, least_pct=pure_pct), ready, allowed)


def _where(
    ledger: Ledger, season: int, *places: Place
) -> tuple[tuple[Followed, float], ...]:
    """Give the batches with bags of a season in some places."""
    found = []
    for one in ledger.batches.values():
        bags = sum(_of_season(held, ledger, season)
                   for place, held in batch_places(one) if place in places)
        if bags > _ROUNDING:
            found.append((one, bags))
    return tuple(found)


def _of_season(held: Held, ledger: Ledger, season: int) -> float:
    def own(name: str) -> bool:
        bag = ledger.bags.get(name)
        if bag is None:
            return ledger.surplus[name].batch[1] == season
        return season_of(bag.day, ledger.season_start) == season

    return sum(bags for name, bags in held.parts.items() if own(name))


def _supplies(
    register: Register, clean: Clean, group_of: Mapping[str, str], pure_pct: float
) -> tuple[Supply, Supply | None]:
    left = {name: cell.left_kg for name, cell in register.cells.items()
            if cell.state == "ready" and cell.left_kg}
    ready = supply_of(clean.purity, left, group_of, least_pct=pure_pct)
    most = register.may_take_kg
    if most is None or most >= sum(left.values()):
        return ready, None
    return ready, supply_of(clean.purity, left, group_of, least_pct=pure_pct, most_kg=most)


def kg_a_bag_of(lot: LotTold, register: Register) -> Estimate | None:
    """Give what a bag like those of a lot weighs, with its range. [kg].

    Parameters
    ----------
    lot : LotTold
        Weighed, or not.
    register : Register
        For the spread of a bag in the lot's season.

    Returns
    -------
    Estimate or None
        None without a weight.

    Notes
    -----
    D/n ± t·√(s²/n), s² and its degrees of freedom by all lots of the season: derived from the
    model of `sync.picks.kilos`.
    """
    kappa = _kappa(lot, register)
    if lot.kg_a_bag is None or kappa is None:
        return None
    half = t_quantile(kappa.df) * math.sqrt(kappa.bag_variance / lot.bags)
    return Estimate(lot.kg_a_bag, max(0.0, lot.kg_a_bag - half), lot.kg_a_bag + half)


def _kappa(lot: LotTold, register: Register) -> KgPerBag | None:
    return register.crop.weights.kappa.get((lot.season, register.block.bags[0].name))
