"""The chance that bags came from ground they should not have come from.

Rule 1: a pick is at least two bags; one bag near a border would cry wolf.
Rule 2: presses that share one position error count as one group; a point says that all its bags
are there or none, a track what part of them is, for each error it may have.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Callable, Sequence
from datetime import date

import numpy as np

from sync.block import Block
from sync.flags.flag import HowSure
from sync.geometry.crs import Floats
from sync.geometry.placed import Placed
from sync.picks.bags import kg_of
from sync.picks.early import expected_bags, how_sure
from sync.picks.early_tracks import chance_at_most, chance_of_sum
from sync.picks.groups import mean_share
from sync.picks.sources import Weights
from sync.register.build import Register
from sync.settings import Tunables

_THERE = "there"
#: A bag with less of a chance is not named among a flag's records.
_LEAST_CHANCE = 0.01


@dataclasses.dataclass(frozen=True)
class Found:
    """Bags that may have come from some ground.

    Attributes
    ----------
    probability : float
        Chance of at least a pick. [-]
    first_day, last_day : date
        First day with a picking day's bags, else with any; last day with any.
    bags, kg : float
        Expected there. [kg]
    records : tuple of str
        By day and name.
    """

    probability: float
    how_sure: HowSure
    first_day: date
    last_day: date
    bags: float
    kg: float
    records: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class There:
    """A piece of ground, by what of a press's bags came from it.

    Attributes
    ----------
    chance : callable
        Chance that a press's bags came from there, the mean of their part. [-]
    part : callable
        That part: a chance, or one part for each drift of its track. [-]
    """

    chance: Callable[[Placed], float]
    part: Callable[[Placed], float | Floats]


def found_there(
    register: Register, what: tuple[str, str, int], presses: Sequence[Placed], there: There
) -> Found | None:
    """Judge whether enough of some presses of a season came from some ground.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    what : (str, str, int)
        The rule, what the presses are about, and the season they are all of.
    presses, there
        As for `bags_there`.

    Returns
    -------
    Found or None
        As `bags_there` gives it; of the very same presses and weights it was judged once.
    """
    weights = register.crop.weights
    found: Found | None = register.known.kept.there.give(
        what, (tuple(presses), weights.by_season.get(what[2])),
        lambda: bags_there(presses, there, weights, register.block, register.tunables))
    return found


def bags_there(
    presses: Sequence[Placed],
    there: There,
    weights: Weights,
    block: Block,
    tunables: Tunables,
) -> Found | None:
    """Judge whether enough of some presses came from some ground.

    Parameters
    ----------
    presses : sequence of Placed
        Bags to judge.
    there : There
        The ground.
    weights : Weights
        Kg of a bag. [kg]
    block, tunables
        Seasons and bag types; what a pick is and what is shown.

    Returns
    -------
    Found or None
        None where it is too unlikely to show.
    """
    expected = expected_bags([(one.bag.bags, there.chance(one)) for one in presses])
    # The owner may have put the levels into any order.
    lowest = min(tunables.flag_perhaps, tunables.flag_likely, tunables.flag_sure)
    if chance_at_most(expected, tunables.early_bags) < lowest:
        return None
    parts = [(one, part) for one in presses if _is_any(part := there.part(one))]
    points, amounts = in_groups(parts)
    probability = chance_of_sum(points, amounts, tunables.early_bags) if parts else 0.0
    level = how_sure(probability, tunables)
    if level is None:
        return None
    found = [
        one._replace(chances={_THERE: float(np.mean(part))}, drift=None, moved={})
        for one, part in parts
    ]
    named = [one for one in found if one.chances[_THERE] >= _LEAST_CHANCE]
    named.sort(key=lambda one: (one.bag.day, one.bag.name))
    return Found(
        probability, level, _first_day(found, tunables), max(one.bag.day for one in found),
        expected_bags([(one.bag.bags, one.chances[_THERE]) for one in found]),
        kg_of(found, _THERE, weights, block).kg, tuple(one.bag.name for one in named),
    )


def _is_any(part: float | Floats) -> bool:
    return bool(np.any(part)) if isinstance(part, np.ndarray) else part != 0.0


def in_groups(
    parts: Sequence[tuple[Placed, float | Floats]]
) -> tuple[list[tuple[float, float]], list[Floats]]:
    """Gather presses that share one error: by chance, and by drift of their tracks."""
    points: dict[tuple[str, int], list[tuple[float, float]]] = defaultdict(list)
    drifts: dict[tuple[str, int], list[Floats]] = defaultdict(list)
    for one, part in parts:
        key = (one.bag.device, one.group)
        if isinstance(part, float):
            points[key].append((one.bag.bags, part))
        else:
            drifts[key].append(one.bag.bags * part)
    return (
        [(sum(bags for bags, _ in group), mean_share(group)) for group in points.values()],
        [group[0] if len(group) == 1 else np.sum(group, axis=0) for group in drifts.values()],
    )


def chance_text(probability: float) -> str:
    """Say a chance in words that claim no more digits than it has."""
    return "over 0.9999" if probability > 0.9999 else f"{probability:.4f}"


def _first_day(there: Sequence[Placed], tunables: Tunables) -> date:
    by_day: dict[date, float] = {}
    for one in there:
        by_day[one.bag.day] = by_day.get(one.bag.day, 0.0) + one.bag.bags * one.chances[_THERE]
    picking = [day for day, bags in by_day.items() if bags >= tunables.least_bags_a_day]
    return min(picking or by_day)
