"""The chance that bags came from ground they should not have come from.

Rule 1: a pick is at least two bags; one bag near a border would cry wolf.
Rule 2: presses that share one position error count as one group.
"""

import dataclasses
from collections.abc import Callable, Sequence
from datetime import date

from sync.block import Block
from sync.flags.flag import HowSure
from sync.geometry.bags import Placed
from sync.picks.early import chance_at_least, expected_bags, how_sure
from sync.picks.made import group_shares, kg_of
from sync.picks.sources import Weights
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
    first_day : date
        First day with a picking day's bags, else with any.
    bags, kg : float
        Expected there. [kg]
    records : tuple of str
        By day and name.
    """

    probability: float
    how_sure: HowSure
    first_day: date
    bags: float
    kg: float
    records: tuple[str, ...]


def bags_there(
    presses: Sequence[Placed],
    chance_of: Callable[[Placed], float],
    weights: Weights,
    block: Block,
    tunables: Tunables,
) -> Found | None:
    """Judge whether enough of some presses came from some ground.

    Parameters
    ----------
    presses : sequence of Placed
        Bags to judge.
    chance_of : callable
        Chance of a press to have come from there. [-]
    weights : Weights
        Kg of a bag. [kg]
    block, tunables
        Seasons and bag types; what a pick is and what is shown.

    Returns
    -------
    Found or None
        None where it is too unlikely to show.
    """
    there = [
        dataclasses.replace(one, chances={_THERE: chance})
        for one in presses if (chance := chance_of(one)) > 0.0
    ]
    groups = [(g.bags, g.share) for g in group_shares(there, _THERE)]
    probability = chance_at_least(groups, tunables.early_bags) if groups else 0.0
    level = how_sure(probability, tunables)
    if level is None:
        return None
    named = [one for one in there if one.chances[_THERE] >= _LEAST_CHANCE]
    named.sort(key=lambda one: (one.bag.day, one.bag.name))
    return Found(
        probability, level, _first_day(there, tunables), expected_bags(groups),
        kg_of(there, _THERE, weights, block).kg, tuple(one.bag.name for one in named),
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
