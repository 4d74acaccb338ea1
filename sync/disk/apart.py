"""Every record held, plain tracks by their heads alone, device by device.

Rule 1: what is read of a device is given again, the very same objects, while its records, and the
records and lines that name any of them, are the same; no figure changes by it.
Rule 2: only what the last register had stays.
"""

import dataclasses
import json
import sqlite3
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from sync.disk.heads_again import HeadsAgain
from sync.disk.track_heads import Pack
from sync.intake.check import Aside, Held
from sync.intake.heads import (
    NO_HEADS,
    Heads,
    Tracks,
    numbers_named,
    numbers_waiting,
    to_read,
    without,
)
from sync.intake.same import all_same
from sync.intake.sums import Sums, device_sum, sum_of_devices

_ROW = ("SELECT name, total, body, EXISTS (SELECT 1 FROM sealed s WHERE"
        " s.name = r.name AND s.total = r.total) FROM record r WHERE rowid = ?")


@dataclasses.dataclass(frozen=True)
class Apart:
    """Every record held, plain tracks by their heads alone.

    Attributes
    ----------
    held : tuple of Held
        All but plain tracks, by name and sum.
    tracks : Tracks
        Plain tracks that nothing else names; their bodies are read when asked for.
    sums : Sums
        Of each device.
    records_sum : str
        Of all names and sums.
    """

    held: tuple[Held, ...]
    tracks: Tracks
    sums: Sums
    records_sum: str


@dataclasses.dataclass(frozen=True, eq=False)
class _Device:
    """What is read of a device, and what that is made of.

    Attributes
    ----------
    others : tuple of Held
        All but plain tracks, in the order of the rows.
    heads : Heads
        Of plain tracks; numbers may stand twice.
    named : tuple of frozenset of int
        Its numbers that records of other devices name, and those of lines that wait.
    own : mapping of str to frozenset of int
        Numbers that the others bear and name, by device.
    full : tuple of int
        Rows of plain tracks that are read after all.
    rest : Heads
        The other heads.
    total : str
        Sum of its numbers and sums.
    read : tuple of Held
        The records in `full`.
    held : tuple of Held
        They and the others, by name and sum.
    """

    others: tuple[Held, ...]
    heads: Heads
    named: tuple[frozenset[int], ...]
    own: Mapping[str, frozenset[int]]
    full: tuple[int, ...]
    rest: Heads
    total: str
    read: tuple[Held, ...] = ()
    held: tuple[Held, ...] = ()


class Devices:
    """What was read of each device for the last register."""

    def __init__(self) -> None:
        self._heads = HeadsAgain()
        self._known: dict[str, _Device] = {}
        self._clock_off_s = 0.0
        # Rows of plain tracks that are read in full, as they stand and as they are read.
        self._rows: dict[int, tuple[tuple[Any, ...], Held]] = {}

    def apart(
        self, db: sqlite3.Connection, packs: Sequence[Pack], waiting: Sequence[Aside], *,
        clock_off_s: float, read: Callable[[Sequence[int]], Sequence[Mapping[str, Any]]],
    ) -> Apart:
        """Take the records of a journal apart.

        Parameters
        ----------
        db : Connection
            Of the journal, within one transaction.
        packs : sequence of Pack
            All of it.
        waiting : sequence of Aside
            Lines that wait.
        clock_off_s : float
            The most by which phone and satellite time may differ. [s]
        read : callable
            As of `Tracks`.

        Returns
        -------
        Apart
            What is read, and the heads of what is not.
        """
        if clock_off_s != self._clock_off_s:
            self._known, self._clock_off_s = {}, clock_off_s
        people, heads = self._heads.of(packs)
        others = _others_of(packs)
        own = {device: self._names(device, each) for device, each in others.items()}
        lines = numbers_waiting(waiting)
        found = {}
        for device in sorted(others.keys() | heads.keys(), key=lambda one: f"{one}:"):
            named = (*(said[device] for other, said in own.items()
                       if other != device and device in said),
                     lines.get(device, frozenset()))
            found[device] = self._device(
                device, others.get(device, ()), heads.get(device, NO_HEADS), named,
                own.get(device, {}))
        self._rows = self._read(db, [row for one in found.values() for row in one.full])
        self._known = {device: self._with_rows(one) for device, one in found.items()}
        each = self._known
        held = tuple(one for device in each.values() for one in device.held)
        tracks = Tracks(people, {device: each[device].rest for device in sorted(each)
                                 if len(each[device].rest)}, read)
        sums = {device: one.total for device, one in each.items()}
        return Apart(held, tracks, Sums(held, tracks, sums), sum_of_devices(sums))

    def _names(self, device: str, others: Sequence[Held]) -> Mapping[str, frozenset[int]]:
        known = self._known.get(device)
        if known is not None and all_same(known.others, others):
            return known.own
        return numbers_named(others)

    def _device(
        self, device: str, others: tuple[Held, ...], heads: Heads,
        named: tuple[frozenset[int], ...], own: Mapping[str, frozenset[int]],
    ) -> _Device:
        known = self._known.get(device)
        if known is not None and known.heads is heads and known.named == named and (
                all_same(known.others, others)):
            return known
        numbers = to_read(device, heads, others, (own.get(device, ()), *named),
                          clock_off_s=self._clock_off_s)
        return _Device(
            others, heads, named, own,
            tuple(heads["row"][np.isin(heads["seq"], numbers)].tolist()),
            without(heads, numbers), device_sum(others, heads))

    def _read(
        self, db: sqlite3.Connection, rows: Sequence[int]
    ) -> dict[int, tuple[tuple[Any, ...], Held]]:
        """Read rows; what stands there as it stood the last time is not parsed again."""
        found = {}
        for row in rows:
            said = db.execute(_ROW, (row,)).fetchone()
            known = self._rows.get(row)
            if known is None or known[0] != said:
                name, total, body, sealed = said
                known = said, Held(name, total, json.loads(body), bool(sealed))
            found[row] = known
        return found

    def _with_rows(self, one: _Device) -> _Device:
        read = tuple(self._rows[row][1] for row in one.full)
        if one.held and all_same(one.read, read):
            return one
        held = sorted((*one.others, *read), key=lambda each: (each.name, each.total))
        return dataclasses.replace(one, read=read, held=tuple(held))


def _others_of(packs: Sequence[Pack]) -> dict[str, tuple[Held, ...]]:
    found: dict[str, list[Held]] = defaultdict(list)
    for pack in packs:
        for device, each in pack.others_of.items():
            found[device] += each
    return {device: tuple(each) for device, each in found.items()}
