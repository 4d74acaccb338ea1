"""The shed's journal: every record that was ever taken, with its arrival and file.

Rule 1: a record is never changed or deleted; a second content of a name is a second row. Only the
points of old tracks are let go of: under the same name and sum stands what they told.
Rule 2: one hand-over is one transaction: all of its sound records, or none.
Rule 3: what waits keeps its line as it came, until it passes a new check.
"""

import dataclasses
import json
import sqlite3
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from fieldapp.record import canonical, name_of, problems, stamp, sum_of
from sync.disk.apart import Apart, Devices
from sync.disk.track_heads import TABLES, Packs, bodies_in
from sync.errors import DiskError, IntakeError
from sync.intake.check import Aside, Held
from sync.report.sheet import held_spans

JOURNAL_FILE = "journal.sqlite"
#: How long one process waits for another before it says so. [s]
_WAIT_S = 20.0
_RETRY_S = 0.02
_TABLES = """
CREATE TABLE IF NOT EXISTS record (
  name TEXT NOT NULL, total TEXT NOT NULL, body BLOB NOT NULL,
  arrived TEXT NOT NULL, file TEXT NOT NULL, PRIMARY KEY (name, total));
CREATE TABLE IF NOT EXISTS sealed (
  name TEXT NOT NULL, total TEXT NOT NULL, arrived TEXT NOT NULL, PRIMARY KEY (name, total));
CREATE TABLE IF NOT EXISTS aside (
  raw TEXT NOT NULL, file TEXT NOT NULL, line INTEGER NOT NULL, name TEXT NOT NULL,
  field TEXT NOT NULL, value TEXT NOT NULL, reason TEXT NOT NULL, sealed INTEGER NOT NULL,
  arrived TEXT NOT NULL, passed INTEGER NOT NULL DEFAULT 0, PRIMARY KEY (raw, name));
CREATE INDEX IF NOT EXISTS points ON record (json_extract(CAST(body AS TEXT), '$.at'))
  WHERE json_extract(CAST(body AS TEXT), '$.kind') = 'track'
  AND json_extract(CAST(body AS TEXT), '$.dt_ms') IS NOT NULL;
CREATE TRIGGER IF NOT EXISTS record_is_kept BEFORE DELETE ON record
  BEGIN SELECT RAISE(ABORT, 'a record is never deleted'); END;
"""
_STAYS = """
CREATE TRIGGER IF NOT EXISTS record_stays BEFORE UPDATE ON record
  BEGIN SELECT RAISE(ABORT, 'a record is never changed'); END;
"""
_POINTS = ("json_extract(CAST(body AS TEXT), '$.kind') = 'track'"
           " AND json_extract(CAST(body AS TEXT), '$.dt_ms') IS NOT NULL")


@dataclasses.dataclass(frozen=True)
class Taken:
    """What one taking did: records new to the shed, and those already there."""

    new: int
    known: int
    aside: int


class ShedJournal:
    """The journal of one block folder.

    Parameters
    ----------
    folder : Path
        The block folder; the file is made if it is not there.

    Raises
    ------
    DiskError
        If the file is locked by another, damaged, or cannot be written.
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / JOURNAL_FILE
        with _said_plainly(self._path):
            self._db = sqlite3.connect(self._path, isolation_level=None, timeout=_WAIT_S)
            try:
                _set_up(self._db)
            except BaseException:
                self._db.close()
                raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    def take(
        self, sound: Sequence[Held], aside: Sequence[Aside], *, file: str, arrived: datetime
    ) -> Taken:
        """Write down the records of one file, whole.

        Parameters
        ----------
        sound : sequence of Held
            Records that passed the check.
        aside : sequence of Aside
            Lines that wait.
        file : str
            The file they came in.
        arrived : datetime
            Now, UTC. A record already held keeps the time it first arrived.

        Returns
        -------
        Taken
            How many were new, already held, set aside.

        Raises
        ------
        DiskError
            If it could not be written; then nothing of it was.
        """
        when = stamp(arrived)
        with self._transaction() as db:
            new = sum(self._insert(db, one, file, when) for one in sound)
            for one in aside:
                db.execute(
                    "INSERT INTO aside (raw, file, line, name, field, value, reason,"
                    " sealed, arrived) VALUES (?,?,?,?,?,?,?,?,?)"
                    " ON CONFLICT (raw, name) DO UPDATE SET sealed = max(sealed, excluded.sealed)",
                    (one.raw, one.file, one.line, one.name or "", one.field, one.value,
                     one.reason, int(one.sealed), when),
                )
        return Taken(new, len(sound) - new, len(aside))

    @staticmethod
    def _insert(db: sqlite3.Connection, one: Held, file: str, when: str) -> int:
        added = db.execute(
            "INSERT OR IGNORE INTO record VALUES (?,?,?,?,?)",
            (one.name, one.total, canonical(one.record), when, file),
        ).rowcount
        if one.sealed:
            db.execute("INSERT OR IGNORE INTO sealed VALUES (?,?,?)", (one.name, one.total, when))
        return added

    def write_down(self, fields: Sequence[Mapping[str, Any]], *, arrived: datetime) -> list[str]:
        """Write down numbered records that the owner makes at the shed.

        Parameters
        ----------
        fields : sequence of mapping
            The records without device and number.
        arrived : datetime
            Now, UTC.

        Returns
        -------
        list of str
            Their names.

        Raises
        ------
        IntakeError
            If one breaks a limit; then none is written.
        """
        with self._transaction() as db:
            first = self._next_shed_number(db)
            records = [
                {**one, "device": "shed", "seq": seq} for seq, one in enumerate(fields, first)
            ]
            for record in records:
                for wrong in problems(record):
                    raise IntakeError(f"{wrong.field}={wrong.value!r}: {wrong.reason}")
                held = Held(name_of(record), sum_of(record), record, sealed=True)
                self._insert(db, held, "shed", stamp(arrived))
        return [name_of(record) for record in records]

    @staticmethod
    def _next_shed_number(db: sqlite3.Connection) -> int:
        rows = db.execute("SELECT name FROM record WHERE name LIKE 'shed:%'")
        return 1 + max((int(name.split(":")[1]) for (name,) in rows), default=0)

    def held(self, known_by: datetime | None = None) -> tuple[Held, ...]:
        """Give every record held, or held by a time.

        Parameters
        ----------
        known_by : datetime, optional
            Leave out what arrived later, UTC.

        Returns
        -------
        tuple of Held
            By name and sum.
        """
        until = _until(known_by)
        with _said_plainly(self._path):
            rows = self._db.execute(
                "SELECT r.name, r.total, r.body, s.arrived FROM record r LEFT JOIN sealed s"
                " ON s.name = r.name AND s.total = r.total AND s.arrived <= ?"
                " WHERE r.arrived <= ? ORDER BY r.name, r.total",
                (until, until),
            ).fetchall()
        return tuple(
            Held(name, total, json.loads(body), seal is not None)
            for name, total, body, seal in rows
        )

    def held_apart(
        self, *, clock_off_s: float, packs: Packs | None = None, devices: Devices | None = None
    ) -> Apart:
        """Give every record held but plain tracks, of which there are a hundred to one.

        Parameters
        ----------
        clock_off_s : float
            The most by which phone and satellite time may differ. [s]
        packs, devices : optional
            What was read before; no figure changes by it.

        Returns
        -------
        Apart
            What is read, and the heads of what is not.
        """
        known = packs or Packs()
        with _said_plainly(self._path):
            known.make(self._db)
            self._db.execute("BEGIN")
            try:
                return (devices or Devices()).apart(
                    self._db, known.all_of(self._db), self.waiting(), clock_off_s=clock_off_s,
                    read=_Bodies(self._path))
            finally:
                self._db.execute("COMMIT")

    def waiting(self, known_by: datetime | None = None) -> tuple[Aside, ...]:
        """Give every line that waits, or waited by a time, by file and line."""
        with _said_plainly(self._path):
            rows = self._db.execute(
                "SELECT file, line, name, field, value, reason, raw, sealed FROM aside"
                " WHERE passed = 0 AND arrived <= ? ORDER BY file, line, raw, name",
                (_until(known_by),),
            ).fetchall()
        return tuple(
            Aside(file, line, name or None, field, value, reason, raw, bool(sealed))
            for file, line, name, field, value, reason, raw, sealed in rows
        )

    def mended(self) -> frozenset[str]:
        """Give the names that records of the shed stand in for."""
        with _said_plainly(self._path):
            rows = self._db.execute("SELECT body FROM record WHERE name LIKE 'shed:%'").fetchall()
        said = (json.loads(body).get("instead_of") for (body,) in rows)
        return frozenset(name for name in said if name is not None)

    def let_pass(self, raw: str, one: Held) -> None:
        """Take in a line that waited and now passes the check.

        Parameters
        ----------
        raw : str
            The line as it waits.
        one : Held
            The record; it keeps the line's first arrival and file.

        Raises
        ------
        IntakeError
            If no such line was set aside.
        """
        with self._transaction() as db:
            waited = db.execute(
                "SELECT file, arrived FROM aside WHERE raw = ? ORDER BY arrived, name", (raw,)
            ).fetchone()
            if waited is None:
                raise IntakeError(f"{one.name}: no such line was set aside")
            file, arrived = waited
            self._insert(db, one, file, arrived)
            db.execute("UPDATE aside SET passed = 1 WHERE raw = ?", (raw,))

    def numbers_of(self, device: str) -> tuple[tuple[int, int], ...]:
        """Give the numbers of a device that are on disk here, sealed or let pass, as spans.

        Parameters
        ----------
        device : str
            As `p3-k7f2`.

        Returns
        -------
        tuple of (int, int)
            First and last number of each span, ascending; a line set aside counts as received.
            What only an unsealed file brought is not among them: it may not be that phone's.
        """
        low, high = f"{device}:", f"{device};"  # ; is the sign after :
        with _said_plainly(self._path):
            rows = self._db.execute(
                "SELECT name FROM sealed WHERE name >= ? AND name < ? UNION"
                " SELECT name FROM aside WHERE sealed = 1 AND name >= ? AND name < ?",
                (low, high, low, high),
            ).fetchall()
        return held_spans(sorted(int(name.rpartition(":")[2]) for (name,) in rows))

    def mark(self) -> tuple[int, int, int]:
        """Give a sign that changes with whatever is taken in: records, seals, lines that wait."""
        with _said_plainly(self._path):
            found: tuple[int, int, int] = self._db.execute(
                # No row goes, so the last one's number is their count: ten seasons have a million.
                "SELECT (SELECT ifnull(max(rowid), 0) FROM record),"
                " (SELECT ifnull(max(rowid), 0) FROM sealed),"
                " (SELECT ifnull(sum(1 + 2 * passed), 0) FROM aside)"
            ).fetchone()
        return found

    def thinnings(self) -> int:
        """Give how often tracks were let go of."""
        with _said_plainly(self._path):
            (found,) = self._db.execute("PRAGMA user_version").fetchone()
        return int(found)

    def last_arrivals(self) -> dict[str, str]:
        """Give when something new of each device last came in, UTC."""
        with _said_plainly(self._path):
            rows = self._db.execute(
                "SELECT substr(name, 1, instr(name, ':') - 1), max(arrived) FROM record GROUP BY 1"
            ).fetchall()
        return dict(rows)

    def arrivals(self) -> dict[tuple[str, str], str]:
        """Give when each record held first came in, UTC, by name and sum."""
        with _said_plainly(self._path):
            rows = self._db.execute("SELECT name, total, arrived FROM record").fetchall()
        return {(name, total): arrived for name, total, arrived in rows}

    def record(self, name: str) -> tuple[Mapping[str, Any], ...]:
        """Give the contents held under a record's name; empty if there is none."""
        with _said_plainly(self._path):
            rows = self._db.execute(
                "SELECT body FROM record WHERE name = ? ORDER BY total", (name,)).fetchall()
        return tuple(json.loads(body) for (body,) in rows)

    def oldest_points(self) -> date | None:
        """Give the day by UTC of the oldest track with points, as its phone dated it."""
        with _said_plainly(self._path):
            (at,) = self._db.execute(
                "SELECT min(json_extract(CAST(body AS TEXT), '$.at')) FROM record"
                f" WHERE {_POINTS}").fetchone()
        return None if at is None else date.fromisoformat(at[:10])

    def thin(self, bodies: Mapping[tuple[str, str], bytes]) -> None:
        """Put into the place of old tracks what they told, and compact the file.

        Parameters
        ----------
        bodies : mapping of (str, str) to bytes
            By name and sum, as JSON.

        Raises
        ------
        DiskError
            If it could not be written; then nothing was let go of.
        """
        with _said_plainly(self._path):
            self._db.execute("PRAGMA secure_delete = ON")
        with self._transaction() as db:
            db.execute("DROP TRIGGER record_stays")
            for (name, total), body in bodies.items():
                db.execute("UPDATE record SET body = ? WHERE name = ? AND total = ?"
                           f" AND {_POINTS}", (body, name, total))
                db.execute("UPDATE aside SET raw = 'let go of: ' || ? || line WHERE passed = 1"
                           " AND name = ?", (total, name))
            db.execute(_STAYS)
            db.execute("DELETE FROM pack")
            db.execute(f"PRAGMA user_version = {self.thinnings() + 1}")
        with _said_plainly(self._path):
            for words in ("PRAGMA wal_checkpoint(TRUNCATE)", "VACUUM",
                          "PRAGMA wal_checkpoint(TRUNCATE)"):
                self._db.execute(words).fetchall()

    @contextmanager
    def _transaction(self) -> Iterator[sqlite3.Connection]:
        with _said_plainly(self._path):
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield self._db
                self._db.execute("COMMIT")
            except BaseException:
                if self._db.in_transaction:  # a full disk may have ended it already
                    self._db.execute("ROLLBACK")
                raise


@dataclasses.dataclass(frozen=True)
class _Bodies:
    """Reads rows of a journal, when it is closed too; two of one journal are equal."""

    path: Path

    def __call__(self, rows: Sequence[int]) -> list[Mapping[str, Any]]:
        """Give the records that stand in some rows."""
        with _said_plainly(self.path), closing(
                sqlite3.connect(self.path, timeout=_WAIT_S)) as db:
            return bodies_in(db, rows, self.path.name)


def _set_up(db: sqlite3.Connection) -> None:
    """Set up; the change to WAL and its recovery may answer "locked" without waiting."""
    until = time.monotonic() + _WAIT_S
    while True:
        try:
            db.execute("PRAGMA journal_mode = WAL")
            db.execute("PRAGMA synchronous = FULL")
            db.executescript(_TABLES + _STAYS + TABLES)
        except sqlite3.OperationalError as wrong:
            busy = wrong.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY
            if not busy or time.monotonic() > until:
                raise
            time.sleep(_RETRY_S)
        else:
            return


def _until(known_by: datetime | None) -> str:
    return "9999" if known_by is None else stamp(known_by)


@contextmanager
def _said_plainly(path: Path) -> Iterator[None]:
    """Say what a database error means for the person at the shed."""
    try:
        yield
    except sqlite3.Error as wrong:
        reasons = {
            "locked": "another program is writing to it; wait and try again",
            "full": "the disk is full; make room and try again",
            "malformed": "it is damaged; take the last backup and take the hand-overs again",
            "not a database": "it is damaged; take the last backup and take the hand-overs again",
        }
        said = next((text for word, text in reasons.items() if word in str(wrong)), str(wrong))
        raise DiskError(f"{path.name}: {said}") from wrong
