"""What a lot was made of: shares of piles, cells, days and persons, and its way to the shed.

Rule 1: bags of one place cannot be told apart, so a lot has a share of each press that lay there.
Rule 2: shares of each kind add up to 1 with what no press tells of (`unknown`); of cells also with
what was placed in none.
Rule 3: a cell's share is by the chances with which its bags are placed.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from sync.block import season_of
from sync.geometry.placed import Placed
from sync.intake.seen import BatchSeen
from sync.picks.ledger.batches import MOVING
from sync.picks.ledger.held import Held
from sync.picks.ledger.kept import Followed, Ledger
from sync.picks.sources import Label

#: Digits of a share; beyond them is rounding.
_PLACES = 9


@dataclasses.dataclass(frozen=True)
class Shares:
    """What bags are made of, as shares of them; the largest first [-].

    Attributes
    ----------
    persons : mapping of str to float
        By whose bags they are.
    in_no_cell : float
        Of known presses, what lies in no cell of the block or at no known place.
    unknown : float
        What no press tells of.
    presses : mapping of str to float
        By record.
    """

    piles: Mapping[Label, float]
    cells: Mapping[str, float]
    days: Mapping[date, float]
    persons: Mapping[str, float]
    in_no_cell: float
    unknown: float
    presses: Mapping[str, float]


@dataclasses.dataclass(frozen=True)
class LotTold:
    """A lot, its way and what it was made of.

    Attributes
    ----------
    season : int
        That of its first bag.
    bags : float
        As counted when it was dried.
    dry_kg : float or None
        Shed-dry. [kg]
    moist_pct, pure_pct : float or None
        Means of its records, by kg. [%]
    days : mapping of str to (date, date)
        First and last day of `tallied`, `lifted`, `arrived`, `dried`, where they are known.
    part_left : float
        The part of it that no other lot was made of. [-]
    """

    label: str
    season: int
    bags: float
    dry_kg: float | None
    moist_pct: float | None
    pure_pct: float | None
    days: Mapping[str, tuple[date, date]]
    part_left: float
    shares: Shares
    records: tuple[str, ...]

    @property
    def kg_a_bag(self) -> float | None:
        """Shed-dry kg a bag; None without a weight or bags. [kg]."""
        return self.dry_kg / self.bags if self.dry_kg and self.bags else None


def shares_of(held: Held, ledger: Ledger, placed: Mapping[str, Placed]) -> Shares:
    """Say what bags are made of.

    Parameters
    ----------
    held : Held
        The bags.
    ledger : Ledger
        For who tallied what, when and on which pile.
    placed : mapping of str to Placed
        Chances of cells, by record.

    Returns
    -------
    Shares
        All 0 where there are no bags.
    """
    whole = held.bags or 1.0
    sums: dict[str, dict[object, float]] = {
        kind: defaultdict(float) for kind in ("piles", "cells", "days", "persons", "presses")}
    for name, bags in held.parts.items():
        bag, share = ledger.bags.get(name), bags / whole
        if bag is None or not bags:
            continue
        if bag.pile is not None:
            sums["piles"][bag.pile, season_of(bag.day, ledger.season_start)] += share
        sums["days"][bag.day] += share
        sums["persons"][bag.picker] += share
        sums["presses"][name] += share
        for cell, chance in placed[name].chances.items() if name in placed else ():
            sums["cells"][cell] += share * chance
    known = sum(sums["presses"].values())
    untold = sum(bags for name, bags in held.parts.items() if name not in ledger.bags)
    largest = {kind: dict(sorted(own.items(), key=lambda one: (-one[1], str(one[0]))))
               for kind, own in sums.items()}
    return Shares(
        **largest,  # type: ignore[arg-type]
        in_no_cell=max(0.0, round(known - sum(sums["cells"].values()), _PLACES)),
        unknown=untold / whole)


def lots_told(ledger: Ledger, placed: Iterable[Placed]) -> tuple[LotTold, ...]:
    """Tell every lot.

    Parameters
    ----------
    ledger : Ledger
        Of a day.
    placed : iterable of Placed
        Bags with their chances of cells.

    Returns
    -------
    tuple of LotTold
        By the day on which it was dried, and label.
    """
    by_name = {one.bag.name: one for one in placed}
    found = [_told(one, ledger, by_name) for one in ledger.batches.values()
             if one.batch.last == "dried"]
    return tuple(sorted(found, key=lambda lot: (lot.days["dried"], lot.label)))


def _told(lot: Followed, ledger: Ledger, placed: Mapping[str, Placed]) -> LotTold:
    held, batch = lot.at["dried"], lot.batch
    shares = shares_of(held, ledger, placed)
    dried = [one for one in batch.records if one.stage == "dried"]
    weighed = [one.dry_kg for one in dried if one.dry_kg is not None]
    days = {"tallied": (min(shares.days), max(shares.days))} if shares.days else {}
    days |= {stage: (min(own), max(own)) for stage in MOVING
             if (own := list(_days(lot, ledger, stage)))}
    return LotTold(
        batch.label, season_of(days["tallied"][0], ledger.season_start) if shares.days
        else batch.season, held.bags, sum(weighed) if weighed else None,
        _mean("moist_pct", dried), _mean("pure_pct", dried), days,
        lot.left.bags / held.bags if held.bags else 1.0, shares,
        tuple(one.name for one in batch.records))


def _mean(field: str, records: Iterable[BatchSeen]) -> float | None:
    """Give the mean of what records say, by kg where they are weighed."""
    said = [(value, one.dry_kg or 0.0) for one in records
            if (value := getattr(one, field)) is not None]
    if not said:
        return None
    kg = sum(weight for _, weight in said)
    if not kg:
        return sum(float(value) for value, _ in said) / len(said)
    return sum(float(value) * weight for value, weight in said) / kg


def _days(lot: Followed, ledger: Ledger, stage: str) -> Iterator[date]:
    """Give the days on which a lot, or what it was made of, came to a stage."""
    open_keys, seen = [lot.batch.key], set[Label]()
    while open_keys:
        key = open_keys.pop()
        if key in seen or key not in ledger.batches:
            continue
        seen.add(key)
        one = ledger.batches[key]
        # What a lot of other lots was dried of is no day of its own.
        if stage in one.batch.stages and (stage != "dried" or key == lot.batch.key):
            yield one.batch.stages[stage].day
        open_keys.extend(one.made_of)
