"""Which presses share one position error: those of one phone, near in time and place."""

import dataclasses
from collections import defaultdict
from collections.abc import Sequence

from sync.geometry.placed import Placed
from sync.picks.groups import group_presses
from sync.settings import Tunables


def with_groups(placed: Sequence[Placed], tunables: Tunables) -> tuple[Placed, ...]:
    """Put numbers to the position groups of each phone's presses.

    Parameters
    ----------
    placed : sequence of Placed
        Presses; those without a fix share no error and get groups of their own.
    tunables : Tunables
        How near in time [min] and place [m] a press must be to its group's first.

    Returns
    -------
    tuple of Placed
        In the order given, `group` filled in.
    """
    by_phone: dict[str, list[int]] = defaultdict(list)
    for i, one in enumerate(placed):
        if one.e is not None:
            by_phone[one.bag.device].append(i)
    group_of: dict[int, int] = {}
    for members in by_phone.values():
        fixes = [(placed[i].bag.at, placed[i].e or 0.0, placed[i].n or 0.0) for i in members]
        groups = group_presses(
            fixes, minutes=tunables.group_minutes, metres=tunables.group_m
        )
        group_of.update(zip(members, groups, strict=True))
    return tuple(
        dataclasses.replace(one, group=group_of.get(i, -1 - one.bag.seq))
        for i, one in enumerate(placed)
    )
