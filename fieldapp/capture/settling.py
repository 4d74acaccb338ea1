"""What counts, kept up to date as records are added, so that no press settles all anew.

Rule 1: at any moment it says what `counts.settle` says of the same records.
Rule 2: records come by ascending number; a record names lower ones only, so that what it stands
in for in the end is known when it comes and never changes.
"""

from collections import Counter
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from fieldapp.capture.counts import Settled, Standing, own_lower
from fieldapp.record import instant, where_of


class Settling:
    """One phone's records and which of them count.

    Records that stand in for one another are one thing, known by the number of its first record.
    """

    def __init__(self) -> None:
        self._by_seq: dict[int, Mapping[str, Any]] = {}
        self._first: dict[int, int] = {}
        self._members: dict[int, list[int]] = {}
        self._counting: dict[int, int] = {}
        #: How many counting voids name a number.
        self._voids: Counter[int] = Counter()

    def add(self, record: Mapping[str, Any]) -> set[int]:
        """Take a record with a number above all before it.

        Parameters
        ----------
        record : mapping
            Any but a track.

        Returns
        -------
        set of int
            First numbers of the things for which another record counts now, or none.

        Notes
        -----
        Whether a record counts depends on higher numbers alone, so going on until no thing
        changes ends, and ends at what one walk from the highest number down gives.
        """
        seq = record["seq"]
        named = own_lower(record, "instead_of") if record.get("instead_of") else 0
        mends = named in self._by_seq and self._by_seq[named]["kind"] == record["kind"]
        first = self._first[named] if mends else seq
        self._by_seq[seq] = record
        self._first[seq] = first
        self._members.setdefault(first, []).append(seq)
        changed: set[int] = set()
        waiting = [first]
        while waiting:
            thing = waiting.pop()
            old, new = self._counting.get(thing), self._last_unvoided(thing)
            if old != new:
                changed.add(thing)
                self._put(thing, new)
                waiting += self._count_void(old, -1) + self._count_void(new, 1)
        return changed

    def _last_unvoided(self, thing: int) -> int | None:
        return next((seq for seq in reversed(self._members[thing]) if not self._voids[seq]), None)

    def _put(self, thing: int, seq: int | None) -> None:
        if seq is None:
            del self._counting[thing]
        else:
            self._counting[thing] = seq

    def _count_void(self, seq: int | None, by: int) -> list[int]:
        """Count what a void names in or out; give the thing that this may change."""
        if seq is None or self._by_seq[seq]["kind"] != "void":
            return []
        target = own_lower(self._by_seq[seq], "of")
        if target not in self._first:
            return []
        self._voids[target] += by
        return [self._first[target]]

    def record(self, seq: int) -> Mapping[str, Any]:
        """Give a record that was taken, by its number."""
        return self._by_seq[seq]

    def counts(self, seq: int) -> bool:
        """Say whether a record counts."""
        return seq in self._first and self._counting.get(self._first[seq]) == seq

    def first_of(self, seq: int) -> int:
        """Give the first record of the thing that a record is of, whether it counts or not."""
        return self._first[seq]

    def is_mended(self, seq: int) -> bool:
        """Say whether a later record counts in its place: a mend, and no undoing without one."""
        counting = self._counting.get(self._first[seq])
        if counting is None or counting <= seq:
            return False
        return not self._voids[seq] or seq in self._chain(counting)

    def _chain(self, seq: int) -> list[int]:
        """Give what a record stands in for: what it names, what that names, to the first."""
        chain: list[int] = []
        while seq != self._first[seq]:
            seq = own_lower(self._by_seq[seq], "instead_of")
            chain.append(seq)
        return chain

    def standing(self, first: int) -> Standing | None:
        """Give a thing as it counts now; None if it does not, and for a void."""
        seq, origin = self._counting.get(first), self._by_seq[first]
        if seq is None or origin["kind"] == "void":
            return None
        return Standing(seq, first, self._by_seq[seq], instant(origin["at"]),
                        str(origin["person"]), where_of(origin))

    def settled(self) -> Settled:
        """Give all that counts, as `counts.settle` gives it."""
        links: dict[int, int] = {}
        for seq in self._counting.values():
            links.update(pairwise([seq, *self._chain(seq)]))
        return Settled(frozenset(self._counting.values()), links)
