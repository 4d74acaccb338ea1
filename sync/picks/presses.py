"""Which presses share one position error: those of one phone, near in time and place.

Rule 1: a press that is in the group it was in for a register built before is the very same object
again; no figure changes by it.
Rule 2: only what the last register had stays.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta

from sync.geometry.asking import Whose
from sync.geometry.placed import Placed
from sync.intake.same import all_same
from sync.picks.groups import group_presses
from sync.settings import Tunables

#: Presses by picker and phone.
ByWhose = Mapping[Whose, tuple[Placed, ...]]
#: Where the number of its group stands in a placed press.
_GROUP = Placed._fields.index("group")


@dataclasses.dataclass(frozen=True, eq=False)
class _Phone:
    """The presses of one phone, picker by picker, without and with the numbers of their groups.

    Attributes
    ----------
    groups : int
        How many groups there are.
    latest : datetime or None
        The latest press with a place.
    """

    plain: tuple[tuple[Placed, ...], ...]
    numbered: tuple[tuple[Placed, ...], ...]
    groups: int
    latest: datetime | None


class Numbered:
    """The presses of all phones as they were numbered last, by the same tunables."""

    def __init__(self) -> None:
        self._phones: dict[str, _Phone] = {}

    def give(self, placed: ByWhose, tunables: Tunables) -> dict[Whose, tuple[Placed, ...]]:
        """Give presses with their numbers, and keep them for the next time."""
        of_phone: dict[str, list[Whose]] = defaultdict(list)
        for whose in placed:
            of_phone[whose[1]].append(whose)
        self._phones = {
            device: _numbered(tuple(placed[one] for one in each), self._phones.get(device),
                              tunables)
            for device, each in of_phone.items()}
        found = {
            whose: numbered for device, each in of_phone.items()
            for whose, numbered in zip(each, self._phones[device].numbered, strict=True)}
        return {whose: found[whose] for whose in placed}


def with_groups(
    placed: ByWhose, tunables: Tunables, kept: Numbered | None = None
) -> dict[Whose, tuple[Placed, ...]]:
    """Put numbers to the position groups of each phone's presses.

    Parameters
    ----------
    placed : mapping of (str, str) to tuple of Placed
        Presses by picker and phone, in any order; those without a fix share no error and get
        groups of their own.
    tunables : Tunables
        How near in time [min] and place [m] a press must be to its group's first.
    kept : Numbered, optional
        The presses as they were numbered before, by the same tunables.

    Returns
    -------
    dict of (str, str) to tuple of Placed
        In the order given, `group` filled in.
    """
    return (kept or Numbered()).give(placed, tunables)


def _numbered(
    plain: tuple[tuple[Placed, ...], ...], before: _Phone | None, tunables: Tunables
) -> _Phone:
    """Put numbers to the position groups of one phone."""
    if before is None:
        return _all_numbered(plain, {}, tunables)
    if all_same(before.plain, plain):
        return before
    more = _more(plain, before.plain)
    if more is not None:
        found = _all_numbered(more, {}, tunables, first=before.groups)
        begins = min((one.bag.at for each in more for one in each if one.e is not None),
                     default=None)
        if begins is None or before.latest is None or (
                begins - before.latest > timedelta(minutes=tunables.group_minutes)):
            return _Phone(
                plain, tuple(was + new for was, new in zip(
                    before.numbered, found.numbered, strict=True)),
                found.groups, found.latest or before.latest)
    return _all_numbered(plain, {
        id(one): found for was, now in zip(before.plain, before.numbered, strict=True)
        for one, found in zip(was, now, strict=True)}, tunables)


def _more(
    plain: Sequence[tuple[Placed, ...]], before: Sequence[tuple[Placed, ...]]
) -> tuple[tuple[Placed, ...], ...] | None:
    """Give the presses that came after those of before; None where these are not the same."""
    same = len(plain) == len(before) and all(
        len(now) >= len(was) and all_same(now[:len(was)], was)
        for now, was in zip(plain, before, strict=True))
    return tuple(
        now[len(was):] for now, was in zip(plain, before, strict=True)) if same else None


def _all_numbered(
    plain: tuple[tuple[Placed, ...], ...], known: Mapping[int, Placed], tunables: Tunables,
    first: int = 0,
) -> _Phone:
    """Put numbers to all of some presses, from a first one on."""
    there = [(one.bag.at, one.e, one.n) for each in plain for one in each
             if one.e is not None and one.n is not None]
    found = [first + group for group in group_presses(
        there, minutes=tunables.group_minutes, metres=tunables.group_m)]
    groups = iter(found)
    return _Phone(plain, tuple(
        tuple([_with_number(one, groups, known.get(id(one))) for one in each])
        for each in plain), max(found, default=first - 1) + 1,
        max((at for at, _, _ in there), default=None))


def _with_number(one: Placed, groups: Iterator[int], known: Placed | None) -> Placed:
    group = -1 - one.bag.seq if one.e is None or one.n is None else next(groups)
    if known is not None and known.group == group:
        return known
    # In half the time of its `_replace`.
    return Placed._make((*one[:_GROUP], group, *one[_GROUP + 1:]))
