"""One flag with all that belongs to it: the case that is put before the owner.

Rule 1: nothing here is a new figure of the register; it names what the flag was raised on.
Rule 2: the register holds no ground sheets; what a phone carried is told by `carried`, what it
showed by whoever can make the sheet again.
"""

import dataclasses
from collections.abc import Sequence
from datetime import date

from sync.block import rule_on
from sync.crop.classes import JudgedPick
from sync.flags.evidence.carried import Carried, carried_in
from sync.flags.evidence.presses import Group, Press, groups_of, kg_there, presses_of
from sync.flags.flag import Flag
from sync.geometry.trails import Trail, trails_of
from sync.intake.merge import Counted
from sync.intake.unread import tracks_named
from sync.register.build import Register
from sync.settings import R68_PER_SIGMA


@dataclasses.dataclass(frozen=True)
class LastPick:
    """The pick whose rest was running: days, bags, kg, and the rule that its rest goes by.

    Attributes
    ----------
    bags, kg, sd_kg : float or None
        None where nobody knows its kg.
    rest_months : int
        Of the rule in force on its last day.
    rule_since : date or None
        From when that rule holds; None is from ever.
    rest_ends : date or None
        First day on which the cell may be picked again.
    records : tuple of str
        All behind it.
    """

    first: date
    last: date
    bags: float | None
    kg: float | None
    sd_kg: float | None
    rest_months: int
    rule_since: date | None
    rest_ends: date | None
    records: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Case:
    """A flag and what there is to say of it.

    Attributes
    ----------
    presses, groups
        Its bags, one by one and by shared position error; empty of a rule about no bags.
    sd_kg : float
        Of the kg expected from the ground it is about. [kg]
    last_pick : LastPick or None
        Of its cell, before the first of its bags.
    carried : tuple of Carried
        Phones and sheets.
    trails : tuple of Trail
        Stretches of track within the time of its bags.
    others : tuple of Counted
        Its records that are no bags and no STARTs, by time.
    rulings : tuple of Counted
        Every ruling on its name, by time; the last one counts.
    """

    flag: Flag
    presses: tuple[Press, ...]
    groups: tuple[Group, ...]
    sd_kg: float
    last_pick: LastPick | None
    carried: tuple[Carried, ...]
    trails: tuple[Trail, ...]
    others: tuple[Counted, ...]
    rulings: tuple[Counted, ...]


def case_of(register: Register, flag: Flag) -> Case:
    """Put together all that belongs to a flag.

    Parameters
    ----------
    register : Register
        That raised it.
    flag : Flag
        One of its flags.

    Returns
    -------
    Case
        At full precision.
    """
    presses = presses_of(register, flag)
    named = set(flag.records)
    records = [one for one in register.merged.counted if one.name in named]
    tracks = tracks_named(register.merged.tracks, named, register.block.zone)
    records = sorted([*records, *tracks], key=lambda one: (one.at, one.device, one.seq, one.name))
    starts = [one.name for one in records if one.kind == "outing"
              and one.record["state"] == "start"]
    tallied = {one.placed.bag.name for one in presses}
    bags = [one.placed.bag for one in presses]
    return Case(
        flag=flag, presses=presses, groups=groups_of(presses, R68_PER_SIGMA),
        sd_kg=kg_there(register, presses)[1] if presses else 0.0,
        last_pick=_last_pick(register, flag, presses),
        carried=carried_in(register.merged.counted, presses, starts,
                           sheet_days=register.tunables.sheet_days),
        trails=trails_of(bags, register.events, register.grounds.projection, register.tunables),
        others=tuple(one for one in records if one.name not in tallied and one.name not in starts),
        rulings=rulings_on(register, flag.name),
    )


def rulings_on(register: Register, name: str) -> tuple[Counted, ...]:
    """Give every counting ruling on a flag's name, by time; the last one counts.

    Parameters
    ----------
    register : Register
        Of any day.
    name : str
        Of a flag, raised or not.
    """
    mine = [one for one in register.events.rulings if one.record["flag"] == name]
    return tuple(sorted(mine, key=lambda one: (one.at, one.device, one.seq)))


def _last_pick(register: Register, flag: Flag, presses: Sequence[Press]) -> LastPick | None:
    crop = register.crop.cells.get(flag.cell or "")
    if crop is None or not presses:
        return None
    first = flag.figures.get("picked_from") or presses[0].placed.bag.day
    real = [one for one in crop.picks if not one.touch and one.made.last < first]
    return _told(register, real[-1]) if real else None


def _told(register: Register, pick: JudgedPick) -> LastPick:
    whole = pick.made.whole
    rule = rule_on(register.block.rules, pick.made.last)
    return LastPick(
        pick.made.first, pick.made.last, None if whole is None else whole.bags,
        None if whole is None else whole.kg,
        None if whole is None else whole.variance**0.5,
        rule.rest_months, rule.since, pick.rest_ends, pick.made.records,
    )
