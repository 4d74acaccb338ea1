"""The bags behind a flag, as they were tallied: when, by whom, on which phone, how likely.

Rule 1: bags that share one position error stand as one group with one chance, as the flag's own
chance was worked out.
Rule 2: the chance is that of the ground the rule is about: a cell, its part that is closed or
held, or no ground of the block at all.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime

import numpy as np

from sync.flags.flag import Flag
from sync.geometry.crs import Floats
from sync.geometry.placed import Placed
from sync.picks.bags import kg_of
from sync.picks.groups import mean_share
from sync.register.build import Register

_THERE = "there"
#: Rules that go by the fixes alone: a picker's word and a share of time move kg, not these.
BY_FIXES = frozenset({"early_pick", "weak_position"})


@dataclasses.dataclass(frozen=True)
class Press:
    """One bag record behind a flag; `chance` is that of the ground the flag is about. [-].

    It is 1 where the rule is about no ground.
    """

    placed: Placed
    chance: float


@dataclasses.dataclass(frozen=True)
class Group:
    """Presses of one phone that share one position error.

    Attributes
    ----------
    since, until : datetime
        Of its first and its last press, UTC.
    pickers : tuple of str
        Whose bags they are, by person code.
    bags : float
        All of them.
    chance : float
        Of the ground the flag is about, bag-weighted over its presses. [-]
    r68_m : float or None
        The largest 68 % radius among its fixes; None where none of them has a place. [m]
    how : tuple of str
        What told the place: track, fix, confirmed, typed, nowhere.
    records : tuple of str
        Names, by time.
    """

    device: str
    since: datetime
    until: datetime
    pickers: tuple[str, ...]
    bags: float
    chance: float
    r68_m: float | None
    how: tuple[str, ...]
    records: tuple[str, ...]


def part_of(flag: Flag) -> Callable[[Placed], float | Floats]:
    """Give what tells the part of a press's bags from the ground that a flag is about.

    Parameters
    ----------
    flag : Flag
        Of any rule.

    Returns
    -------
    callable
        From a placed press to a chance, or one part for each drift of its track. [-]
    """
    cell = flag.cell
    if flag.rule == "outside_block":
        return lambda one: one.part_outside()
    if cell is None:
        return lambda one: 1.0
    if flag.rule == "closed_ground":
        return lambda one: one.part_closed(cell)
    if flag.rule == "sprayed_hold":
        return lambda one: one.part_held(cell)
    if flag.rule in BY_FIXES:
        return lambda one: one.part_in(cell)
    return lambda one: one.chances.get(cell, 0.0)  # what is weighed goes by the share of time


def presses_of(register: Register, flag: Flag) -> tuple[Press, ...]:
    """Give the bags that a flag names.

    Parameters
    ----------
    register : Register
        That raised it.
    flag : Flag
        With its records.

    Returns
    -------
    tuple of Press
        By time; empty of a rule that is about no bags.
    """
    named, part = set(flag.records), part_of(flag)
    found = [Press(one, float(np.mean(part(one)))) for one in register.known.placed
             if one.bag.name in named]
    return tuple(sorted(found, key=lambda one: (one.placed.bag.at, one.placed.bag.name)))


def groups_of(presses: Iterable[Press], r68_per_sigma: float) -> tuple[Group, ...]:
    """Gather presses that share one position error.

    Parameters
    ----------
    presses : iterable of Press
        By time.
    r68_per_sigma : float
        From a standard deviation to the 68 % radius. [-]

    Returns
    -------
    tuple of Group
        By time, then phone.
    """
    gathered: dict[tuple[str, int], list[Press]] = defaultdict(list)
    for one in presses:
        gathered[one.placed.bag.device, one.placed.group].append(one)
    groups = [_group(each, r68_per_sigma) for each in gathered.values()]
    return tuple(sorted(groups, key=lambda one: (one.since, one.device)))


def _group(presses: Sequence[Press], r68_per_sigma: float) -> Group:
    bags = [one.placed.bag for one in presses]
    sigmas = [one.placed.sigma_m for one in presses if one.placed.sigma_m is not None]
    return Group(
        device=bags[0].device, since=bags[0].at, until=bags[-1].at,
        pickers=tuple(sorted({bag.picker for bag in bags})),
        bags=sum(bag.bags for bag in bags),
        chance=mean_share([(one.placed.bag.bags, one.chance) for one in presses]),
        r68_m=r68_per_sigma * max(sigmas) if sigmas else None,
        how=tuple(sorted({one.placed.how for one in presses})),
        records=tuple(bag.name for bag in bags),
    )


def kg_there(register: Register, presses: Sequence[Press]) -> tuple[float, float]:
    """Weigh the bags expected from the ground that a flag is about.

    Parameters
    ----------
    register : Register
        For the weights of bags.
    presses : sequence of Press
        With their chances.

    Returns
    -------
    kg, sd_kg : float
        Expected, and its standard deviation: weight of a bag and position together. [kg]
    """
    there = [one.placed._replace(chances=_only(one.chance), drift=None, moved={})
             for one in presses]
    weighed = kg_of(there, _THERE, register.crop.weights, register.block)
    return weighed.kg, float(np.sqrt(weighed.variance))


def _only(chance: float) -> Mapping[str, float]:
    return {_THERE: chance}
