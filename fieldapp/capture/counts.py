"""Which of this phone's own records count, and what stands in for what.

Rule 1: a record counts unless a counting void, or a counting record that is `instead_of` it, names
it; a phone names its own lower numbers only, so one walk from the highest number down settles all.
Rule 2: records that stand in for one another, however long the chain, are one thing; the last of
them that no counting void names counts for it.
Rule 3: what stands in for another takes its time, place and person.

This is the plain statement of the rules, over all records at once; `settling` keeps the same up
to date one record at a time, and is held to it.
"""

import dataclasses
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from typing import Any

from fieldapp.record import RecordError, Where, instant, split_name, where_of


@dataclasses.dataclass(frozen=True)
class Standing:
    """A record that counts, seen as the one it stands in for.

    Attributes
    ----------
    seq : int
        Its own number.
    first : int
        The number of the record that it stands in for in the end; its own if for none.
    record : mapping
        As written.
    at : datetime
        When the first was noted.
    person : str
        By whom.
    where : Where or None
        Where.
    """

    seq: int
    first: int
    record: Mapping[str, Any]
    at: datetime
    person: str
    where: Where | None

    @property
    def kind(self) -> str:
        """Its kind."""
        return str(self.record["kind"])

    @property
    def whose(self) -> str:
        """Whose work it is: a bag may be noted for somebody else."""
        return str(self.record.get("for") or self.person)


@dataclasses.dataclass(frozen=True)
class Settled:
    """What counts, and which number stands in for which."""

    counts: frozenset[int]
    stands_for: Mapping[int, int]

    def first_of(self, seq: int) -> int:
        """Follow a number back to the one it stands in for in the end."""
        while seq in self.stands_for:
            seq = self.stands_for[seq]
        return seq


def settle(records: Iterable[Mapping[str, Any]]) -> Settled:
    """Settle what counts among one phone's records.

    Parameters
    ----------
    records : iterable of mapping
        Of one device, in any order; tracks may be left out.

    Returns
    -------
    Settled
        Voids that count are among those that count.
    """
    by_seq = {record["seq"]: record for record in records}
    voided: set[int] = set()
    settled: set[int] = set()
    counts: set[int] = set()
    stands_for: dict[int, int] = {}
    for seq in sorted(by_seq, reverse=True):
        if seq in voided:
            continue
        links = _links(by_seq, seq)
        first = links[-1][1] if links else seq
        if first in settled:
            continue
        settled.add(first)
        counts.add(seq)
        stands_for.update(links)
        if by_seq[seq]["kind"] == "void":
            voided.add(own_lower(by_seq[seq], "of"))
    return Settled(frozenset(counts), stands_for)


def _links(by_seq: Mapping[int, Mapping[str, Any]], seq: int) -> list[tuple[int, int]]:
    """List who stands in for whom, from a record back to the first; only within its kind."""
    links: list[tuple[int, int]] = []
    while True:
        record = by_seq[seq]
        target = own_lower(record, "instead_of") if record.get("instead_of") else 0
        if target not in by_seq or by_seq[target]["kind"] != record["kind"]:
            return links
        links.append((seq, target))
        seq = target


def counting(records: Iterable[Mapping[str, Any]]) -> set[int]:
    """Say which of one phone's records count, by number; voids that count among them."""
    return set(settle(records).counts)


def standing(by_seq: Mapping[int, Mapping[str, Any]], settled: Settled,
             wanted: Callable[[Mapping[str, Any]], bool]) -> list[Standing]:
    """Give the records that count, but for voids, each as the one it stands in for.

    Parameters
    ----------
    by_seq : mapping of int to mapping
        The records by number.
    settled : Settled
        What counts among them.
    wanted : callable
        Says of a first record whether it is wanted.

    Returns
    -------
    list of Standing
        By the number of the first, as the things happened.
    """
    shown: list[Standing] = []
    for seq in settled.counts:
        first = settled.first_of(seq)
        origin = by_seq[first]
        if origin["kind"] != "void" and wanted(origin):
            shown.append(Standing(seq, first, by_seq[seq], instant(origin["at"]),
                                  str(origin["person"]), where_of(origin)))
    return sorted(shown, key=lambda one: one.first)


def own_lower(record: Mapping[str, Any], field: str) -> int:
    """Give the number a record names.

    Parameters
    ----------
    record : mapping
        With `device` and `seq`.
    field : str
        `of` or `instead_of`.

    Returns
    -------
    int
        One of its own device and lower than its own; 0 if it names none such.
    """
    try:
        device, seq = split_name(record.get(field) or "")
    except RecordError:
        return 0
    return seq if device == record["device"] and seq < record["seq"] else 0
