"""Heads of tracks in the shed's journal: packed by thousands of rows, rebuilt at will.

Rule 1: nothing here is the only copy of anything; heads go with any change of their records.
Rule 2: what cannot be packed now, for want of room or leave, is read from the records.
"""

import contextlib
import dataclasses
import json
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from sync.errors import DiskError
from sync.intake.heads import HEAD, Heads, Tracks, head_of

#: Rows of one pack.
_PACK = 4096
TABLES = """
CREATE TABLE IF NOT EXISTS head (
  first INTEGER PRIMARY KEY, last INTEGER NOT NULL, ends TEXT NOT NULL, codes TEXT NOT NULL,
  packed BLOB NOT NULL, others BLOB NOT NULL);
CREATE TRIGGER IF NOT EXISTS head_goes AFTER UPDATE ON record
  BEGIN DELETE FROM head WHERE first <= OLD.rowid AND last >= OLD.rowid; END;
"""


@dataclasses.dataclass(frozen=True)
class Pack:
    """Some rows of the journal: the heads of their plain tracks, and which rows are others.

    Attributes
    ----------
    codes : tuple of tuple of str
        Devices and people that the heads count in.
    others : sequence of int
        Rows that must be read.
    """

    codes: tuple[tuple[str, ...], tuple[str, ...]]
    heads: Heads
    others: Sequence[int]


def packs_of(db: sqlite3.Connection) -> list[Pack]:
    """Give all rows of the journal in packs, those of full packs from disk.

    Parameters
    ----------
    db : Connection
        Of the journal.

    Returns
    -------
    list of Pack
        In the order of the rows.
    """
    found, reached = [], 0
    rows = db.execute("SELECT first, last, ends, codes, packed, others FROM head ORDER BY first")
    for first, last, ends, codes, packed, others in rows.fetchall():
        if first != reached + 1 or ends != _ends(db, first, last):
            break
        devices, people = json.loads(codes)
        found.append(Pack((tuple(devices), tuple(people)), np.frombuffer(packed, HEAD),
                          np.frombuffer(others, "<i8").tolist()))
        reached = last
    return found + _read_on(db, reached)


def _ends(db: sqlite3.Connection, first: int, last: int) -> str:
    """Give what tells that rows are still those that were packed."""
    return ",".join(str(row) for row in db.execute(
        "SELECT name || total FROM record WHERE rowid IN (?, ?) ORDER BY rowid", (first, last)))


def _read_on(db: sqlite3.Connection, reached: int) -> list[Pack]:
    found: list[Pack] = []
    while True:
        rows = db.execute("SELECT rowid, total, body FROM record WHERE rowid > ? ORDER BY rowid"
                          " LIMIT ?", (reached, _PACK)).fetchall()
        if not rows:
            return found
        found.append(_packed(rows))
        if len(rows) == _PACK:
            _keep(db, rows[0][0], rows[-1][0], found[-1])
        reached = rows[-1][0]


def _packed(rows: Sequence[tuple[int, str, bytes]]) -> Pack:
    devices: dict[str, int] = {}
    people: dict[str, int] = {}
    heads, others = [], []
    for row, total, body in rows:
        record = json.loads(body)
        head = head_of(record)
        if head is None:
            others.append(row)
            continue
        heads.append((*head, people.setdefault(record["person"], len(people)),
                      devices.setdefault(record["device"], len(devices)),
                      bytes.fromhex(total), row))
    return Pack((tuple(devices), tuple(people)), np.array(heads, HEAD), others)


def _keep(db: sqlite3.Connection, first: int, last: int, pack: Pack) -> None:
    with contextlib.suppress(sqlite3.Error):
        db.execute("INSERT OR REPLACE INTO head VALUES (?,?,?,?,?,?)", (
            first, last, _ends(db, first, last), json.dumps(pack.codes),
            pack.heads.tobytes(), np.array(pack.others, "<i8").tobytes()))


def tracks_of_packs(
    packs: Sequence[Pack], read: Callable[[Sequence[int]], Sequence[Mapping[str, Any]]]
) -> Tracks:
    """Put the heads of all packs together.

    Parameters
    ----------
    packs : sequence of Pack
        All of the journal.
    read : callable
        As of `Tracks`.

    Returns
    -------
    Tracks
        By device and number; a number may stand twice.
    """
    people: dict[str, int] = {}
    parts: dict[str, list[Heads]] = {}
    for pack in packs:
        devices, mine = pack.codes
        heads = pack.heads.copy()
        known = np.array([people.setdefault(code, len(people)) for code in mine], np.int32)
        if len(heads):
            heads["person"] = known[heads["person"]]
        for number, device in enumerate(devices):
            parts.setdefault(device, []).append(heads[heads["device"] == number])
    by_device = {}
    for device, each in sorted(parts.items()):
        together = np.concatenate(each)
        by_device[device] = together[np.argsort(together["seq"], kind="stable")]
    return Tracks(tuple(people), by_device, read)


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
