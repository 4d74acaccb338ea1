"""The journal: all that was noted on this phone, by number, only ever added to.

Rule 1: a record is given back only when it is on disk; before that it has no number.
Rule 2: its number is taken inside the transaction that writes it, so there is no hole.
Rule 3: what the rules of a record refuse is never written.
Rule 4: numbers the shed holds are never given again, even if this file was set back.
Rule 5: a row that storage damaged is a hole like any other and hides none of its neighbours;
`damaged` names it, and nothing is written over it.
Rule 6: of an old track that the shed holds only the points go (`forgetting`), never the number.
"""

import sqlite3
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, Self

from fieldapp.device import forgetting
from fieldapp.device.journal_file import FAILURES, JournalError, journal_error, open_file
from fieldapp.record import (
    DEVICE,
    FileError,
    LineError,
    RecordError,
    canonical,
    is_known_kind,
    parse_line,
    problems,
    stamp,
)
from fieldapp.record.checks import shown

__all__ = ["Journal", "JournalError"]

#: Rows read at one go. [rows]
_PAGE = 500
#: A damaged row may claim to hold text or a number; what counts are its bytes.
_ROW = "seq, CAST(line AS BLOB)"
_LAST = """SELECT max((SELECT ifnull(max(seq), 0) FROM records),
                      (SELECT ifnull(max(last), 0) FROM held))"""


class Journal:
    """One device's journal, open.

    Two processes may each have it open; within one, threads take turns.

    Attributes
    ----------
    device : str
        Whose numbers it gives.
    """

    def __init__(self, connection: sqlite3.Connection, device: str) -> None:
        self._connection = connection
        self._turn = threading.RLock()
        self._damaged: set[int] = set()
        self.device = device

    @classmethod
    def open(cls, path: Path | str, *, device: str) -> Self:
        """Open a journal, or make an empty one.

        Parameters
        ----------
        path : Path or str
            Its file.
        device : str
            As `p3-k7f2`.

        Returns
        -------
        Journal
            To be closed.

        Raises
        ------
        RecordError
            If `device` is none.
        JournalError
            If the file is of another device, damaged or out of reach.
        """
        if not DEVICE.match(device):
            raise RecordError(f"device={device!r} is no device such as p3-k7f2")
        return cls(open_file(Path(path), device=device), device)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        with self._turn:
            self._connection.close()

    def append(self, record: Mapping[str, Any], *,
               drop_draft: str | None = None) -> dict[str, Any]:
        """Write one record.

        Parameters
        ----------
        record : mapping
            Without `device` and `seq`.
        drop_draft : str or None
            A draft that this record makes needless; both happen or neither.

        Returns
        -------
        dict
            The whole record as it now stands on disk.

        Raises
        ------
        RecordError
            If it brings its own number, is of an unknown kind or has problems.
        JournalError
            If it could not be written; then nothing of it was.
        """
        if "device" in record or "seq" in record:
            raise RecordError("device and seq are the journal's to give: leave them out")
        if not is_known_kind(record):
            raise RecordError(f"kind={record.get('kind')!r} is no kind of record")
        with self._writing() as connection:
            seq = connection.execute(_LAST).fetchone()[0] + 1
            line, whole = _line({**record, "device": self.device, "seq": seq})
            connection.execute("INSERT INTO records (seq, line) VALUES (?, ?)", (seq, line))
            if drop_draft is not None:
                connection.execute("DELETE FROM drafts WHERE name = ?", (drop_draft,))
        return whole

    @property
    def damaged(self) -> tuple[int, ...]:
        """The numbers whose rows were come upon so far and could not be read."""
        return tuple(sorted(self._damaged))

    def records(self, first: int = 1, last: int | None = None) -> Iterator[dict[str, Any]]:
        """Read records by number.

        Parameters
        ----------
        first, last : int
            Both included; None reads to the end as it stands now.

        Yields
        ------
        dict
            Record, by ascending number; what cannot be read is passed over.

        Raises
        ------
        JournalError
            If the file cannot be read.
        """
        end = self.last_seq() if last is None else last
        while first <= end:
            rows = self._rows(f"SELECT {_ROW} FROM records WHERE seq BETWEEN ? AND ? "
                              "ORDER BY seq LIMIT ?", (first, end, _PAGE))
            if not rows:
                return
            for seq, line in rows:
                record = self._sound(seq, line)
                if record is not None:
                    yield record
            first = max(first, rows[-1][0]) + 1

    def record(self, seq: int) -> dict[str, Any] | None:
        """Read one record; None if there is none of that number that can be read."""
        rows = self._rows(f"SELECT {_ROW} FROM records WHERE seq = ?", (seq,))
        return self._sound(*rows[0]) if rows else None

    def last_seq(self) -> int:
        """Give the highest number given so far; 0 before the first."""
        return self._number(_LAST)

    def keep_draft(self, name: str, draft: Mapping[str, Any]) -> None:
        """Put what is half noted on disk, under a name; it gets no number."""
        content = canonical(draft)
        with self._writing() as connection:
            connection.execute("INSERT INTO drafts (name, draft) VALUES (?, ?) ON CONFLICT (name) "
                               "DO UPDATE SET draft = excluded.draft", (name, content))

    def draft(self, name: str) -> dict[str, Any] | None:
        """Read a draft; None if there is none of that name."""
        return self.drafts().get(name)

    def drop_draft(self, name: str) -> None:
        """Throw a draft away; one that is not there is no mistake."""
        with self._writing() as connection:
            connection.execute("DELETE FROM drafts WHERE name = ?", (name,))

    def drafts(self) -> dict[str, dict[str, Any]]:
        """Read all drafts, by name."""
        rows = self._rows("SELECT name, draft FROM drafts ORDER BY name", ())
        return {name: _draft(name, draft) for name, draft in rows}

    def acknowledge(self, spans: Iterable[tuple[int, int]]) -> None:
        """Note what the shed is known to hold, by its answer or by a ground sheet.

        Parameters
        ----------
        spans : iterable of (int, int)
            First and last number of each; what was noted before stays noted.

        Raises
        ------
        RecordError
            If a span is none.
        """
        told = [(first, last) for first, last in spans]
        if any(not 1 <= first <= last for first, last in told):
            raise RecordError(f"spans={told!r} are not all a first and a last number")
        with self._writing() as connection:
            known = connection.execute("SELECT first, last FROM held").fetchall()
            connection.execute("DELETE FROM held")
            connection.executemany("INSERT INTO held (first, last) VALUES (?, ?)",
                                   _merged([*known, *told]))

    def acknowledged(self) -> tuple[tuple[int, int], ...]:
        """Give the numbers the shed is known to hold, as spans apart from each other."""
        rows = self._rows("SELECT first, last FROM held ORDER BY first", ())
        return tuple((first, last) for first, last in rows)

    def first_unsent(self) -> int:
        """Give the first number the shed is not known to hold; one past the last if all are."""
        held = self.acknowledged()
        return held[0][1] + 1 if held and held[0][0] == 1 else 1

    def unsent(self) -> int:
        """Count the records the shed is not known to hold."""
        return self._number("SELECT count(*) FROM records WHERE NOT EXISTS (SELECT 1 FROM held "
                            "WHERE records.seq BETWEEN held.first AND held.last)")

    def forget_tracks(self, *, before: datetime) -> int:
        """Let go of the points of old tracks that the shed holds, and compact the file.

        Parameters
        ----------
        before : datetime
            Aware; what was written down before it is old.

        Returns
        -------
        int
            How many tracks; their numbers, times, persons and sums stay.

        Raises
        ------
        JournalError
            If it could not be done; what was not, is done the next time.
        """
        lines = self._guarded(lambda: forgetting.old_tracks(
            self._connection, device=self.device, below=self.first_unsent(),
            before=stamp(before)))
        if lines:
            with self._writing() as connection:
                forgetting.let_go(connection, lines)
        self._guarded(lambda: forgetting.compact(self._connection))
        return len(lines)

    def check(self) -> None:
        """Look the whole file over; it takes a while.

        Raises
        ------
        JournalError
            If any page of it is damaged.
        """
        found = self._rows("PRAGMA integrity_check(1)", ())
        if found[0][0] != "ok":
            raise JournalError("damaged", f"the journal is damaged: hand over what it still gives "
                                          f"and keep the file ({found[0][0]})")

    def _sound(self, seq: int, line: bytes | None) -> dict[str, Any] | None:
        """Read a row; None if it does not say what was written under its number."""
        try:
            record = parse_line(line or b"")
        except (LineError, FileError):
            record = {}
        if (record.get("device"), record.get("seq")) == (self.device, seq):
            return record
        self._damaged.add(seq)
        return None

    def _rows(self, question: str, values: tuple[object, ...]) -> list[Any]:
        rows: list[Any] = self._guarded(
            lambda: self._connection.execute(question, values).fetchall())
        return rows

    def _number(self, question: str) -> int:
        found = self._rows(question, ())[0][0]
        if not isinstance(found, int):
            raise JournalError("damaged", "the journal's tables are damaged: keep the file")
        return found

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        with self._turn:
            self._guarded(lambda: self._connection.execute("BEGIN IMMEDIATE"))
            try:
                yield self._connection
                self._connection.execute("COMMIT")
            except BaseException as error:
                self._undo()
                if isinstance(error, FAILURES):
                    raise journal_error(error) from error
                raise

    def _undo(self) -> None:
        if self._connection.in_transaction:
            self._guarded(lambda: self._connection.execute("ROLLBACK"))

    def _guarded(self, work: Callable[[], Any]) -> Any:
        with self._turn:
            try:
                return work()
            except FAILURES as error:
                raise journal_error(error) from error


def _line(record: dict[str, Any]) -> tuple[bytes, dict[str, Any]]:
    """Give the line to write, and the record as it will be read back from it."""
    found = problems(record)
    if found:
        told = "; ".join(f"{problem.field}={shown(problem.value)} {problem.reason}"
                         for problem in found)
        raise RecordError(f"{record['kind']} record: {told}")
    line = canonical(record)
    try:
        return line, parse_line(line)
    except (LineError, FileError) as error:
        raise RecordError(f"{record['kind']} record cannot be read back: {error}") from error


def _draft(name: str, draft: bytes) -> dict[str, Any]:
    try:
        return parse_line(draft)
    except (LineError, FileError) as error:
        raise JournalError("damaged", f"draft {name} is damaged: {error}") from error


def _merged(spans: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    merged: list[tuple[int, int]] = []
    for first, last in sorted(spans):
        if merged and first <= merged[-1][1] + 1:
            merged[-1] = (merged[-1][0], max(last, merged[-1][1]))
        else:
            merged.append((first, last))
    return merged
