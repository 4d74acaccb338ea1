"""Bags that wait on piles: tallied there and not carried off yet.

Rule 1: a batch carries bags off once it is lifted, or arrived or dried without a word of the lift;
one that is only weighed still lies there.
Rule 2: a label is unique in a season only; a batch speaks of the labels of its own season or,
where that has none, of the one before.
"""

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence

from sync.block import season_of
from sync.intake.merge import Counted
from sync.picks.sources import Label
from sync.register.build import Register

#: The first of these that is noted says how many bags left the pile.
_CARRIED = ("lifted", "arrived", "dried")


def waiting_bags(register: Register) -> dict[Label, float]:
    """Count the bags that wait on each pile on the day asked about.

    Parameters
    ----------
    register : Register
        Of that day.

    Returns
    -------
    dict of Label to float
        Bags by label and season, of this season and the one before; piles without any left out.
        A batch of unknown number takes all that its piles hold.
    """
    start = register.block.season_start
    this_season = season_of(register.on, start)
    waiting: dict[Label, float] = defaultdict(float)
    for bag in register.events.bags:
        season = season_of(bag.day, start)
        if bag.pile is not None and bag.day <= register.on and season >= this_season - 1:
            waiting[bag.pile, season] += bag.bags
    for season, labels, bags in _carried(register):
        left = bags
        for label in labels:
            pile = (label, season) if (label, season) in waiting else (label, season - 1)
            gone = min(left, waiting.get(pile, 0.0))
            if gone > 0.0:
                waiting[pile] -= gone
                left -= gone
    return {pile: bags for pile, bags in waiting.items() if bags > 0.0}


def _carried(register: Register) -> Iterator[tuple[int, tuple[str, ...], float]]:
    """Give season, piles and bags of each batch that was carried off, in time order."""
    start = register.block.season_start
    batches: dict[Label, list[Counted]] = defaultdict(list)
    for one in register.merged.counted:
        if one.kind == "batch" and one.day <= register.on:
            batches[one.record["batch"], season_of(one.day, start)].append(one)
    for (label, season), records in batches.items():
        bags = _bags_carried(records)
        if bags is not None:
            sources = {name for one in records for name in one.record.get("from") or ()}
            yield season, tuple(sorted(sources or {label})), bags


def _bags_carried(records: Sequence[Counted]) -> float | None:
    for stage in _CARRIED:
        noted = [one.record.get("bags") for one in records if one.record["stage"] == stage]
        if noted:
            return math.inf if None in noted else float(sum(n for n in noted if n is not None))
    return None
