"""Which presses share one position error: those of one phone, near in time and place.

Rule 1: a press that is in the group it was in for a register built before is the very same object
again; no figure changes by it.
Rule 2: only what the last register had stays.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Sequence

from sync.geometry.placed import Placed
from sync.intake.same import all_same
from sync.picks.groups import group_presses
from sync.settings import Tunables


@dataclasses.dataclass(frozen=True, eq=False)
class _Phone:
    """The presses of one phone, without and with the numbers of their groups."""

    plain: tuple[Placed, ...]
    numbered: tuple[Placed, ...]


class Numbered:
    """The presses of all phones as they were numbered last, by the same tunables."""

    def __init__(self) -> None:
        self._phones: dict[str, _Phone] = {}

    def give(
        self, by_phone: dict[str, tuple[Placed, ...]], tunables: Tunables
    ) -> dict[str, tuple[Placed, ...]]:
        """Give the presses of all phones with their numbers; they are kept for the next time."""
        self._phones = {
            device: _numbered(plain, self._phones.get(device), tunables)
            for device, plain in by_phone.items()}
        return {device: each.numbered for device, each in self._phones.items()}


def with_groups(
    placed: Sequence[Placed], tunables: Tunables, kept: Numbered | None = None
) -> tuple[Placed, ...]:
    """Put numbers to the position groups of each phone's presses.

    Parameters
    ----------
    placed : sequence of Placed
        Presses; those without a fix share no error and get groups of their own.
    tunables : Tunables
        How near in time [min] and place [m] a press must be to its group's first.
    kept : Numbered, optional
        The presses as they were numbered before, by the same tunables.

    Returns
    -------
    tuple of Placed
        In the order given, `group` filled in.
    """
    by_phone: dict[str, list[Placed]] = defaultdict(list)
    for one in placed:
        by_phone[one.bag.device].append(one)
    numbered = (kept or Numbered()).give(
        {device: tuple(each) for device, each in by_phone.items()}, tunables)
    turns = {device: iter(each) for device, each in numbered.items()}
    return tuple(next(turns[one.bag.device]) for one in placed)


def _numbered(plain: tuple[Placed, ...], before: _Phone | None, tunables: Tunables) -> _Phone:
    """Put numbers to the position groups of one phone."""
    if before is not None and all_same(before.plain, plain):
        return before
    known = {} if before is None else {
        id(one): found for one, found in zip(before.plain, before.numbered, strict=True)}
    fixed = [i for i, one in enumerate(plain) if one.e is not None]
    groups = group_presses(
        [(plain[i].bag.at, plain[i].e or 0.0, plain[i].n or 0.0) for i in fixed],
        minutes=tunables.group_minutes, metres=tunables.group_m)
    group_of = dict(zip(fixed, groups, strict=True))
    return _Phone(plain, tuple(
        _with_number(one, group_of.get(i, -1 - one.bag.seq), known.get(id(one)))
        for i, one in enumerate(plain)))


def _with_number(one: Placed, group: int, known: Placed | None) -> Placed:
    if known is not None and known.group == group:
        return known
    return dataclasses.replace(one, group=group)
