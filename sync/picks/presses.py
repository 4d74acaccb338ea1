"""Which presses share one position error: those of one phone, near in time and place."""

import dataclasses
from collections import defaultdict
from collections.abc import Sequence

from sync.geometry.placed import Placed
from sync.picks.groups import group_presses
from sync.picks.once import Once
from sync.settings import Tunables


def with_groups(
    placed: Sequence[Placed], tunables: Tunables, kept: Once[tuple[Placed, ...]] | None = None
) -> tuple[Placed, ...]:
    """Put numbers to the position groups of each phone's presses.

    Parameters
    ----------
    placed : sequence of Placed
        Presses; those without a fix share no error and get groups of their own.
    tunables : Tunables
        How near in time [min] and place [m] a press must be to its group's first.
    kept : Once, optional
        The presses of phones as they were numbered before, by the same tunables.

    Returns
    -------
    tuple of Placed
        In the order given, `group` filled in.
    """
    known: Once[tuple[Placed, ...]] = kept or Once()
    by_phone: dict[str, list[int]] = defaultdict(list)
    for i, one in enumerate(placed):
        by_phone[one.bag.device].append(i)
    found = list(placed)
    for device, members in by_phone.items():
        mine = tuple(placed[i] for i in members)
        numbered = known.give(device, mine, lambda mine=mine: _numbered(  # type: ignore[misc]
            mine, tunables))
        for i, one in zip(members, numbered, strict=True):
            found[i] = one
    return tuple(found)


def _numbered(mine: Sequence[Placed], tunables: Tunables) -> tuple[Placed, ...]:
    """Put numbers to the position groups of one phone."""
    fixed = [i for i, one in enumerate(mine) if one.e is not None]
    groups = group_presses(
        [(mine[i].bag.at, mine[i].e or 0.0, mine[i].n or 0.0) for i in fixed],
        minutes=tunables.group_minutes, metres=tunables.group_m)
    group_of = dict(zip(fixed, groups, strict=True))
    return tuple(dataclasses.replace(one, group=group_of.get(i, -1 - one.bag.seq))
                 for i, one in enumerate(mine))
