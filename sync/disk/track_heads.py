"""Records in the shed's journal packed by a thousand rows: heads of tracks, all others whole.

Rule 1: nothing here is the only copy of anything; a pack goes with any change of its records.
Rule 2: what cannot be packed now, for want of room or leave, is read from the records.
Rule 3: each pack is written by itself, so that no hand-over waits while ten seasons are packed.
"""

import contextlib
import dataclasses
import functools
import hashlib
import json
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from sync.errors import DiskError
from sync.intake.check import Held
from sync.intake.heads import HEAD, Heads, head_of

#: Rows of one pack; the rows after the last full one are read each time.
_PACK = 1024
#: Packs of former programs held no other records; they are let go of.
TABLES = """
DROP TRIGGER IF EXISTS head_goes;
DROP TABLE IF EXISTS head;
CREATE TABLE IF NOT EXISTS pack (
  first INTEGER PRIMARY KEY, last INTEGER NOT NULL, ends TEXT NOT NULL, sum TEXT NOT NULL,
  codes TEXT NOT NULL, heads BLOB NOT NULL, others BLOB NOT NULL);
CREATE TRIGGER IF NOT EXISTS pack_goes AFTER UPDATE ON record
  BEGIN DELETE FROM pack WHERE first <= OLD.rowid AND last >= OLD.rowid; END;
"""
_ROWS = """SELECT rowid, name, total, body, EXISTS (SELECT 1 FROM sealed s WHERE
 s.name = r.name AND s.total = r.total) FROM record r WHERE rowid > ? ORDER BY rowid LIMIT ?"""
#: Row, name, sum, body and whether a sealed file brought it.
_Row = tuple[int, str, str, bytes, int]
#: What stands in a row: a plain track's head, person and device, or any other record.
_Parsed = tuple[tuple[int, int, int, int, float, int], str, str] | Held


@dataclasses.dataclass(frozen=True, eq=False)
class Pack:
    """Some rows of the journal.

    Attributes
    ----------
    sum : str
        Of all that it is written as; other records have another.
    codes : tuple of tuple of str
        Devices and people that the heads count in.
    heads : Heads
        Of plain tracks, by device as `codes` counts, then in the order of the rows.
    others : tuple of Held
        All other records.
    """

    sum: str
    codes: tuple[tuple[str, ...], tuple[str, ...]]
    heads: Heads
    others: tuple[Held, ...]

    def heads_of(self, device: str) -> Heads:
        """Give the heads of a device of `codes`, in the order of the rows."""
        place = self.codes[0].index(device)
        return self.heads[self._ends[place]:self._ends[place + 1]]

    @functools.cached_property
    def _ends(self) -> list[int]:
        """How many heads there are up to each device."""
        of_device = np.bincount(self.heads["device"], minlength=len(self.codes[0]))
        return [0, *np.cumsum(of_device).tolist()]

    @functools.cached_property
    def others_of(self) -> Mapping[str, tuple[Held, ...]]:
        """The other records by device, in the order of the rows."""
        found: dict[str, list[Held]] = {}
        for one in self.others:
            found.setdefault(one.device, []).append(one)
        return {device: tuple(each) for device, each in found.items()}


class Packs:
    """Packs that were read for a register, to be given again for the next one.

    What stands in the same row with the same bytes is the same object again, so that what was
    made of it can be given again.
    """

    def __init__(self) -> None:
        self._known: dict[str, Pack] = {}
        # Of rows after the last full pack, which are read each time.
        self._rows: dict[int, tuple[_Row, _Parsed]] = {}

    def make(self, db: sqlite3.Connection) -> None:
        """Make the full packs that are missing, outside of any transaction.

        Parameters
        ----------
        db : Connection
            Of the journal.
        """
        with contextlib.suppress(sqlite3.Error):
            with _transaction(db):
                self._known, reached = self._sound(db)
            while True:
                with _transaction(db):
                    rows = db.execute(_ROWS, (reached, _PACK)).fetchall()
                    if len(rows) < _PACK:
                        return
                    pack, written = _packed(rows, _parsed(rows, self._rows))
                    _keep(db, rows, (pack.sum, *written))
                self._known[pack.sum] = pack
                reached = rows[-1][0]

    def all_of(self, db: sqlite3.Connection) -> list[Pack]:
        """Give all rows of the journal in packs, those of full packs from here or from disk.

        Parameters
        ----------
        db : Connection
            Of the journal.

        Returns
        -------
        list of Pack
            In the order of the rows.
        """
        self._known, reached = self._sound(db)
        return [*self._known.values(), *self._read_on(db, reached)]

    def _read_on(self, db: sqlite3.Connection, reached: int) -> Iterator[Pack]:
        """Give the rows after the last full pack; what these held the last time is not parsed."""
        before, self._rows = self._rows, {}
        while rows := db.execute(_ROWS, (reached, _PACK)).fetchall():
            parsed = _parsed(rows, before)
            self._rows |= {row[0]: (row, one) for row, one in zip(rows, parsed, strict=True)}
            yield _packed(rows, parsed)[0]
            reached = rows[-1][0]

    def _sound(self, db: sqlite3.Connection) -> tuple[dict[str, Pack], int]:
        """Give the packs before the first that is none, by sum, and the row that they reach."""
        found: dict[str, Pack] = {}
        reached = 0
        rows = db.execute(
            "SELECT first, last, ends = a.name || a.total || ',' || b.name || b.total, p.sum"
            " FROM pack p JOIN record a ON a.rowid = first JOIN record b ON b.rowid = last"
            " ORDER BY first").fetchall()
        for first, last, same, total in rows:
            pack = self._known.get(total) or _from_disk(db, first)
            if first != reached + 1 or not same or pack is None:
                break  # from here on it is made again
            found[total] = _sealed_since(db, pack)
            reached = last
        return found, reached


@contextlib.contextmanager
def _transaction(db: sqlite3.Connection) -> Iterator[None]:
    db.execute("BEGIN")
    try:
        yield
        db.execute("COMMIT")
    finally:
        if db.in_transaction:  # a full disk may have ended it already
            db.execute("ROLLBACK")


def _from_disk(db: sqlite3.Connection, first: int) -> Pack | None:
    """Read a pack; None of one that is damaged."""
    total, codes, heads, others = db.execute(
        "SELECT sum, codes, heads, others FROM pack WHERE first = ?", (first,)).fetchone()
    if total != _sum(codes, heads, others):
        return None
    devices, people = json.loads(codes)
    return Pack(
        total, (tuple(devices), tuple(people)), _by_device(np.frombuffer(heads, HEAD)),
        tuple(Held(name, total, record, bool(sealed))
              for name, total, sealed, record in json.loads(others)))


def _sum(codes: str, heads: bytes, others: bytes) -> str:
    total = hashlib.sha256(f"{codes}|{len(heads)}|".encode())
    for each in (heads, b"|", others):  # not joined first: ten seasons are a hundred megabytes
        total.update(each)
    return total.hexdigest()


def _sealed_since(db: sqlite3.Connection, pack: Pack) -> Pack:
    """Look whether a sealed file has brought again what an unsealed one had."""
    late = {place for place, one in enumerate(pack.others)
            if not one.sealed and _is_sealed(db, one.name, one.total)}
    if not late:
        return pack
    return dataclasses.replace(pack, others=tuple(
        dataclasses.replace(one, sealed=True) if place in late else one
        for place, one in enumerate(pack.others)))


def _is_sealed(db: sqlite3.Connection, name: str, total: str) -> bool:
    return db.execute("SELECT 1 FROM sealed WHERE name = ? AND total = ?",
                      (name, total)).fetchone() is not None


#: Codes, heads and other records as they stand on disk.
_Written = tuple[str, bytes, bytes]


def _parsed(rows: Sequence[_Row], before: Mapping[int, tuple[_Row, _Parsed]]) -> list[_Parsed]:
    """Read rows: those that were read before and are the same are given again."""
    found: list[_Parsed] = []
    for row in rows:
        known = before.get(row[0])
        if known is not None and known[0] == row:
            found.append(known[1])
            continue
        _, name, total, body, sealed = row
        record = json.loads(body)
        head = head_of(record)
        found.append(Held(name, total, record, bool(sealed)) if head is None
                     else (head, record["person"], record["device"]))
    return found


def _packed(rows: Sequence[_Row], parsed: Sequence[_Parsed]) -> tuple[Pack, _Written]:
    devices: dict[str, int] = {}
    people: dict[str, int] = {}
    heads, others, bodies = [], [], []
    for (row, name, total, body, sealed), one in zip(rows, parsed, strict=True):
        if isinstance(one, Held):
            others.append(one)
            bodies.append(f'["{name}","{total}",{sealed},'.encode() + body + b"]")
            continue
        head, person, device = one
        heads.append((*head, people.setdefault(person, len(people)),
                      devices.setdefault(device, len(devices)), bytes.fromhex(total), row))
    array = _by_device(np.array(heads, HEAD))
    codes = tuple(devices), tuple(people)
    written = json.dumps(codes), array.tobytes(), b"[" + b",".join(bodies) + b"]"
    return Pack(_sum(*written), codes, array, tuple(others)), written


def _by_device(heads: Heads) -> Heads:
    """Put heads in the order of their devices; packs of former programs are in that of rows."""
    devices = heads["device"]
    if (devices[1:] >= devices[:-1]).all():
        return heads
    return heads[np.argsort(devices, kind="stable")]


def _keep(
    db: sqlite3.Connection, rows: Sequence[_Row], written: tuple[str, str, bytes, bytes]
) -> None:
    (first, *start, _, _), (last, *end, _, _) = rows[0], rows[-1]
    db.execute("INSERT OR REPLACE INTO pack VALUES (?,?,?,?,?,?,?)", (
        first, last, f"{''.join(start)},{''.join(end)}", *written))


def bodies_in(
    db: sqlite3.Connection, rows: Sequence[int], file: str
) -> list[Mapping[str, Any]]:
    """Read the records in some rows.

    Raises
    ------
    DiskError
        If one is gone, or its points were let go of meanwhile.
    """
    found = []
    for row in rows:
        body = db.execute("SELECT body FROM record WHERE rowid = ?", (row,)).fetchone()
        record = None if body is None else json.loads(body[0])
        if record is None or record.get("dt_ms") is None:
            raise DiskError(f"{file}: tracks were let go of while they were read; ask again")
        found.append(record)
    return found
