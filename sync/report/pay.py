"""Bags by person and day, with the records behind each: what somebody is paid by, and may check.

Rule 1: a bag is its `for`'s, else its noter's; what a void or a correction takes away counts
nothing and is named.
Rule 2: expected bags of a hole are never counted; a day that may lack something says so.
Rule 3: kg are told where they were weighed, never guessed; a dried lot's are shared evenly over
its bags, so they are the lot's mean and nobody's own.
Rule 4: rows stand by person code and day; no pace, no rank, no order by amount.
"""

import dataclasses
import json
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from zoneinfo import ZoneInfo

from fieldapp.record import RecordError, instant, split_name
from sync.block import season_of
from sync.geometry.placed import Placed
from sync.intake.check import Aside
from sync.intake.holes import Hole
from sync.intake.merge import Counted, Undone
from sync.register.build import Register, aliases_of
from sync.register.complete import in_doubt
from sync.report.day_bags import type_of


@dataclasses.dataclass(frozen=True)
class BagPaid:
    """One record of bags that counts for a person.

    Attributes
    ----------
    placed : Placed
        Its bags, whose they are, and the chances of cells.
    said : Counted
        The record, and who noted it first.
    bag_type : str
        As said, else the usual one.
    dry_kg, dry_bags : float
        Shed-dry kg from the lot it went into, and the bags that this is of; 0 where no lot is
        known. [kg]
    """

    placed: Placed
    said: Counted
    bag_type: str
    dry_kg: float
    dry_bags: float

    @property
    def bags(self) -> float:
        """Its bags."""
        return self.placed.bag.bags

    @property
    def wet_kg(self) -> float | None:
        """What all its bags weighed wet; None where nobody weighed them. [kg]."""
        wet = self.said.record.get("wet_kg")
        return None if wet is None else float(wet)


@dataclasses.dataclass(frozen=True)
class PersonDay:
    """A person's bags of a day.

    Attributes
    ----------
    bags : tuple of BagPaid
        In time order.
    undone : tuple of Undone
        Bag records of that person and day that do not count, by time.
    holes : tuple of Hole
        Holes of that day, on no paper, in the numbers of a phone that tallied for the person.
    waiting : tuple of str
        Names of bag records that wait to be mended, as far as they can be read.
    twice : tuple of str
        Records that came with two contents, of which one counts.
    """

    person: str
    day: date
    bags: tuple[BagPaid, ...]
    undone: tuple[Undone, ...]
    holes: tuple[Hole, ...]
    waiting: tuple[str, ...]
    twice: tuple[str, ...]

    @property
    def may_lack(self) -> bool:
        """Whether the day may lack something, or one of its records is in doubt."""
        return bool(self.holes or self.waiting or self.twice)


@dataclasses.dataclass(frozen=True)
class Sums:
    """Bags added up.

    Attributes
    ----------
    bags, paper : float
        All, and those of them by typed paper counts.
    types : mapping of str to float
        Bags by type, by its name.
    dry_kg, dry_bags : float
        Shed-dry kg of those in weighed lots, and how many these are. [kg]
    wet_kg, wet_bags : float
        Wet kg of those weighed wet, and how many these are. [kg]
    """

    bags: float
    paper: float
    types: Mapping[str, float]
    dry_kg: float
    dry_bags: float
    wet_kg: float
    wet_bags: float


def sums_of_bags(bags: Sequence[BagPaid]) -> Sums:
    """Add up bags.

    Parameters
    ----------
    bags : sequence of BagPaid
        Of any days and persons.

    Returns
    -------
    Sums
        At full precision. [bags], [kg]
    """
    types: dict[str, float] = defaultdict(float)
    for one in sorted(bags, key=lambda one: one.bag_type):
        types[one.bag_type] += one.bags
    wet = [(one.bags, one.wet_kg) for one in bags if one.wet_kg is not None]
    return Sums(
        math.fsum(one.bags for one in bags),
        math.fsum(one.bags for one in bags if one.placed.bag.covers is not None), types,
        math.fsum(one.dry_kg for one in bags), math.fsum(one.dry_bags for one in bags),
        math.fsum(kg for _, kg in wet), math.fsum(count for count, _ in wet))


def person_days(
    register: Register, waiting: Iterable[Aside], first: date, last: date
) -> tuple[PersonDay, ...]:
    """Give the bags of each person and day of a span.

    Parameters
    ----------
    register : Register
        Of the span's last day.
    waiting : iterable of Aside
        Lines that wait to be mended.
    first, last : date
        Local days, both counted.

    Returns
    -------
    tuple of PersonDay
        By person code and day; one without bags stands there where something was taken back, or
        may lack.
    """
    days: dict[tuple[str, date], _Parts] = defaultdict(_Parts)
    for bag in _bags(register, first, last):
        days[bag.placed.bag.picker, bag.placed.bag.day].bags.append(bag)
    for one in register.merged.undone:
        if one.said.kind == "bag" and first <= one.said.day <= last:
            days[whose(one.said), one.said.day].undone.append(one)
    for hole, day, person in _lacking(register, first, last):
        days[person, day].holes.append(hole)
    for name, person, day in _waiting(register, waiting):
        if first <= day <= last:
            days[person, day].waiting.append(name)
    return tuple(
        PersonDay(
            person, day, tuple(each.bags), tuple(each.undone), tuple(each.holes),
            tuple(sorted(each.waiting)),
            tuple(one.said.name for one in each.bags if one.said.name in register.merged.twice))
        for (person, day), each in sorted(days.items()))


@dataclasses.dataclass
class _Parts:
    bags: list[BagPaid] = dataclasses.field(default_factory=list)
    undone: list[Undone] = dataclasses.field(default_factory=list)
    holes: list[Hole] = dataclasses.field(default_factory=list)
    waiting: list[str] = dataclasses.field(default_factory=list)


def people_known(register: Register) -> list[str]:
    """Give the codes of everybody named in people.toml, or whose bags count."""
    named = {one.code for one in register.block.people}
    return sorted(named | {bag.picker for bag in register.events.bags})


def whose(said: Counted) -> str:
    """Say whose bags a record notes: its `for`, else its noter's."""
    return str(said.record.get("for") or said.person)


def _bags(register: Register, first: date, last: date) -> list[BagPaid]:
    said = {one.name: one for one in register.merged.by_kind["bag"]}
    return [
        BagPaid(one, said[one.bag.name], type_of(register, one), *_dry(register, one))
        for one in register.known.placed if first <= one.bag.day <= last
    ]


def _dry(register: Register, one: Placed) -> tuple[float, float]:
    """Give the kg of a record's bags from their lot, and of how many of them these are."""
    if one.bag.pile is None:
        return 0.0, 0.0
    season = season_of(one.bag.day, register.block.season_start)
    lot = register.crop.weights.lots.get((one.bag.pile, season))
    if lot is None:
        return 0.0, 0.0
    # Bags that never reached the drying floor have no weight; nobody knows which they were.
    dried = min(1.0, lot.lot.bags / lot.tallied) if lot.tallied else 1.0
    bags = one.bag.bags * dried
    return bags * lot.lot.dry_kg / lot.lot.bags, bags


def _lacking(register: Register, first: date, last: date) -> list[tuple[Hole, date, str]]:
    """Give the holes on no paper with each day and person whose bags they may hold."""
    placed = [one for one in register.known.placed if one.bag.day <= last]
    days = {one.bag.day for one in placed} | {one.day for one in register.events.outings}
    within = sorted(day for day in days if first <= day <= last)
    return [(hole, day, person) for hole, day, person
            in in_doubt(placed, register.holes, register.block.zone, within)]


def _waiting(
    register: Register, waiting: Iterable[Aside]
) -> list[tuple[str, str, date]]:
    """Read whose bags, of which day, the lines are that wait; what cannot be read is left out."""
    mended = {f"{one.device}:{one.seq}" for one in register.merged.counted}
    aliases = aliases_of(register.block)
    found = []
    for line in waiting:
        if line.name is None or line.name in mended:
            continue
        try:
            record = json.loads(line.raw)
            day = instant(record["at"]).astimezone(ZoneInfo(register.block.zone)).date()
            who = str(record.get("for") or record["person"])
        except (ValueError, OverflowError, RecursionError, KeyError, TypeError, AttributeError,
                RecordError):
            continue
        if record.get("kind") == "bag":
            code = aliases.get((split_name(line.name)[0], who), who)
            found.append((line.name, code, day))
    return found
