"""In which order bags change hands, so that nobody takes what is not there yet.

Rule 1: a batch gives before it is counted again at a stage that its taker has reached, and after
it is counted at one that its taker was never at.
Rule 2: among moves that do not wait for each other the earlier day goes first.
Rule 3: where labels run in a ring, the first move in time goes ahead.
"""

import heapq
from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from itertools import pairwise

from sync.picks.ledger.batches import MOVING, Batch
from sync.picks.sources import Label

#: A batch comes to a stage.
Move = tuple[Label, str]


def moves_of(batches: Sequence[Batch], made_of: Mapping[Label, Sequence[Label]]) -> list[Move]:
    """Put all moves in order.

    Parameters
    ----------
    batches : sequence of Batch
        Those that have left their piles.
    made_of : mapping of Label to sequence of Label
        The batches that each was made of.

    Returns
    -------
    list of Move
        Every stage of every batch once, those of one batch in their own order.
    """
    by_key = {batch.key: batch for batch in batches}
    when = {(batch.key, name): _when(batch, name) for batch in batches for name in batch.stages}
    waits: dict[Move, set[Move]] = {move: set() for move in when}
    for batch in batches:
        stages = list(batch.stages)
        for before, after in pairwise(stages):
            waits[batch.key, after].add((batch.key, before))
        for source in made_of.get(batch.key, ()):
            _wait_for(by_key[source], batch, waits)
    return _in_order(when, waits)


def _wait_for(source: Batch, taker: Batch, waits: dict[Move, set[Move]]) -> None:
    taking: Move = (taker.key, next(iter(taker.stages)))
    reached = MOVING.index(taking[1])
    for name in source.stages:
        counted: Move = (source.key, name)
        if name == source.first or MOVING.index(name) < reached:
            waits[taking].add(counted)
        else:
            waits[counted].add(taking)


def _when(batch: Batch, stage: str) -> tuple[date, int, str, int]:
    return batch.stages[stage].day, MOVING.index(stage), batch.label, batch.season


def _in_order(
    when: Mapping[Move, tuple[date, int, str, int]], waits: dict[Move, set[Move]]
) -> list[Move]:
    after: dict[Move, list[Move]] = defaultdict(list)
    for move, before in waits.items():
        for one in before:
            after[one].append(move)
    ready = [(when[move], move) for move in when if not waits[move]]
    heapq.heapify(ready)
    done: dict[Move, None] = {}
    while len(done) < len(when):
        # None is ready where labels run in a ring: somebody must begin.
        _, move = heapq.heappop(ready) if ready else min(
            (when[one], one) for one in when if one not in done)
        if move in done:
            continue
        done[move] = None
        for one in after[move]:
            waits[one].discard(move)
            if not waits[one] and one not in done:
                heapq.heappush(ready, (when[one], one))
    return list(done)
