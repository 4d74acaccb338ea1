"""What was merged and seen for the register before, to be given again where it is the same.

Rule 1: what is given again equals what would be made anew; no figure changes by it.
Rule 2: it is given again only where all that it was made of is the very same object, or equal
where it is a few names.
Rule 3: only what the last register had stays.
"""

import bisect
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from typing import Any, TypeVar

from sync.intake.counted import Counted
from sync.intake.part import IN_TIME, PartMerged, Rules
from sync.intake.parts import Part
from sync.intake.same import all_same, same_ends
from sync.intake.seen import BagSeen

T = TypeVar("T")
#: What something is made of: objects that must be the very same, and a value that must be equal.
MadeOf = tuple[Sequence[object], Hashable]
#: So many new records are put into their places one by one; more are sorted with all others. Own
#: choice.
_FEW = 1000


class Again:
    """Merged parts and what was seen in them; one thread at a time uses it."""

    def __init__(self) -> None:
        self._rules: Rules | None = None
        self._parts: dict[tuple[str, ...], tuple[Part, PartMerged]] = {}
        self._made: dict[str, dict[str, tuple[MadeOf, Any]]] = {}
        self._seen: dict[str, dict[str, tuple[Counted, Any]]] = {}
        self._parts_in_time: tuple[Sequence[Counted], ...] = ()
        self._in_time: tuple[Counted, ...] = ()
        self._bags: tuple[tuple[Counted, ...], tuple[BagSeen, ...]] = ((), ())
        self._confirmed: Mapping[str, object] = {}

    def parts(
        self, parts: Sequence[Part], rules: Rules,
        merged: Callable[[Part, Mapping[str, Counted]], PartMerged],
    ) -> list[PartMerged]:
        """Give merged parts, those of before where their records are the same.

        Parameters
        ----------
        parts : sequence of Part
            All records.
        rules : Rules
            What they are merged by.
        merged : callable
            Merges a part; it is told what counted before in those that are not the same.
        """
        known = self._parts
        same = {part.devices for part in parts
                if part.devices in known and rules == self._rules
                and known[part.devices][0].is_same(part)}
        before = {one.name: one for devices, (_, old) in known.items() if devices not in same
                  for one in old.counted}
        now = {
            part.devices: known[part.devices] if part.devices in same
            else (part, merged(part, before)) for part in parts}
        self._rules, self._parts = rules, now
        return [one for _, one in self._parts.values()]

    def in_time(self, parts: Sequence[Sequence[Counted]]) -> tuple[Counted, ...]:
        """Give the counted records of all parts by time.

        Parameters
        ----------
        parts : sequence of sequence of Counted
            What counts, in any order; a part that is the very same object is looked at no more,
            and of the others those that were there before stand in order already.
        """
        before = set(map(id, self._parts_in_time))
        old = {id(one) for part in self._left(parts) for one in part}
        new = [one for part in parts if id(part) not in before for one in part]
        now = set(map(id, new))
        found = list(self._in_time)
        if gone := old - now:
            found = [one for one in found if id(one) not in gone]
        new = [one for one in new if id(one) not in old]
        if len(new) > _FEW:
            found = sorted((one for part in parts for one in part), key=IN_TIME)
        else:
            for one in new:
                bisect.insort(found, one, key=IN_TIME)
        self._parts_in_time = tuple(parts)
        if new or gone:
            self._in_time = tuple(found)
        return self._in_time

    def _left(self, parts: Sequence[Sequence[Counted]]) -> list[Sequence[Counted]]:
        """Give the parts of before that are there no more."""
        now = set(map(id, parts))
        return [part for part in self._parts_in_time if id(part) not in now]

    def each(self, what: str, made_of: Mapping[str, MadeOf], make: Callable[[str], T]
             ) -> dict[str, T]:
        """Give things by name, those of before where they are made of the same.

        Parameters
        ----------
        what : str
            Of what kind they are.
        made_of : mapping
            By name, what each is made of.
        make : callable
            Makes the one of a name.

        Returns
        -------
        dict
            By name, in the order of `made_of`.
        """
        before = self._made.get(what, {})
        now: dict[str, tuple[MadeOf, T]] = {}
        for name, (parts, value) in made_of.items():
            known = before.get(name)
            if known is None or known[0][1] != value or not all_same(known[0][0], parts):
                known = (parts, value), make(name)
            now[name] = known
        self._made[what] = now
        return {name: one for name, (_, one) in now.items()}

    def seen(self, what: str, counted: Iterable[Counted], make: Callable[[Counted], T]
             ) -> tuple[T, ...]:
        """Give what is seen in counted records, what was seen before where a record is the same.

        Parameters
        ----------
        what : str
            Of what kind it is; a kind is always made by the same rule.
        counted : iterable of Counted
            Of different names.
        make : callable
            Makes it of the record alone.
        """
        before = self._seen.get(what, {})
        now: dict[str, tuple[Counted, T]] = {}
        for one in counted:
            known = before.get(one.name)
            now[one.name] = known if known is not None and known[0] is one else (one, make(one))
        self._seen[what] = now
        return tuple(made for _, made in now.values())

    def bags(
        self, counted: Sequence[Counted], confirmed: Mapping[str, object],
        cell_of: Callable[[Counted], str | None], make: Callable[[Counted, str | None], BagSeen],
    ) -> tuple[BagSeen, ...]:
        """Give bags as seen, those of before where record and confirmed cell are the same.

        Parameters
        ----------
        counted : sequence of Counted
            Counting bags.
        confirmed : mapping
            What was confirmed on each phone.
        cell_of : callable
            Gives the cell confirmed at a record, by that of its phone alone.
        make : callable
            Makes a bag of a record and that cell.
        """
        def bag(one: Counted, known: BagSeen | None) -> BagSeen:
            cell = cell_of(one)
            return known if known is not None and known.confirmed == cell else make(one, cell)

        was, seen = self._bags
        first, last = same_ends(was, counted)
        known = {id(one): made for one, made in zip(
            was[first:len(was) - last], seen[first:len(was) - last], strict=True)}
        found = [*seen[:first], *(bag(one, known.get(id(one)))
                                  for one in counted[first:len(counted) - last]),
                 *seen[len(was) - last:]]
        moved = {device for device in self._confirmed.keys() | confirmed.keys()
                 if self._confirmed.get(device) != confirmed.get(device)}
        for place, one in enumerate(counted if moved else ()):
            if one.device in moved:
                found[place] = bag(one, found[place])
        self._bags, self._confirmed = (tuple(counted), tuple(found)), confirmed
        return self._bags[1]
