"""What walks told and which records count, remembered on disk: never needed, gone with tracks.

Rule 1: nothing here is the only copy of anything; the file may be deleted at any time.
Rule 2: no fault of it stops a register: what cannot be read is worked out anew.
Rule 3: swaths show where people walked; the file is only the owner's, and goes when tracks go.
Rule 4: of what was begun before tracks went nothing is kept here: it may be of those tracks.
"""

import contextlib
import os
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from sync.errors import IntakeError

T = TypeVar("T")
MEMO_FILE = "walks.sqlite"
_WAIT_S = 1.0
_PRIVATE = 0o600
#: The mark tells this file from one that is made once tracks went.
_TABLES = (
    "BEGIN IMMEDIATE",
    "CREATE TABLE IF NOT EXISTS memo (key TEXT PRIMARY KEY, value BLOB NOT NULL)",
    "CREATE TABLE IF NOT EXISTS file (mark BLOB NOT NULL)",
    "INSERT INTO file SELECT randomblob(16) WHERE NOT EXISTS (SELECT 1 FROM file)",
)
#: Such a file never was one, or is one no more.
_BROKEN = {"SQLITE_NOTADB", "SQLITE_CORRUPT"}


class DiskMemo:
    """A memo in a block folder, made before a record is read of which anything is kept.

    Parameters
    ----------
    folder : Path
        The block folder.
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / MEMO_FILE
        self._new: dict[str, bytes] = {}
        self._db: sqlite3.Connection | None = None
        self._mark = self._begun()

    def _begun(self) -> bytes | None:
        """Give the mark of the file, which is made where there is none; None without leave."""
        try:
            return self._marked()
        except sqlite3.Error as wrong:
            if getattr(wrong, "sqlite_errorname", None) not in _BROKEN:
                return None
        except OSError:
            return None
        forget(self._path.parent)
        with contextlib.suppress(sqlite3.Error, OSError):
            return self._marked()
        return None

    def _marked(self) -> bytes:
        if not self._path.exists():
            os.close(os.open(self._path, os.O_CREAT | os.O_WRONLY, _PRIVATE))
        with contextlib.closing(self._open()) as db:
            try:
                return _mark_of(db)
            except sqlite3.OperationalError:  # the file is new, or of a former program
                with db:
                    for step in _TABLES:
                        db.execute(step)
                return _mark_of(db)

    def read(self, key: str, reader: Callable[[bytes], T]) -> T | None:
        """Give what is remembered, as `reader` reads it; None if nothing is, or it is damaged."""
        said = self._new.get(key) or self._get(key)
        with contextlib.suppress(IntakeError):
            return None if said is None else reader(said)
        return None

    look = read

    def _get(self, key: str) -> bytes | None:
        """Read from disk; the file stays open until `keep`, for a register asks thousands."""
        try:
            if self._db is None:
                self._db = self._open()
            row = self._db.execute("SELECT value FROM memo WHERE key = ?", (key,)).fetchone()
        except sqlite3.Error:
            return None
        return bytes(row[0]) if row else None

    def put(self, key: str, value: bytes) -> None:
        """Remember; written to disk by `keep`."""
        self._new[key] = value

    def keep(self) -> None:
        """Write what is new to disk; without room or leave, or where tracks went, let go of it."""
        if self._db is not None:
            self._db.close()
            self._db = None
        new, self._new = self._new, {}
        if not new or self._mark is None:
            return
        with (contextlib.suppress(sqlite3.Error), contextlib.closing(self._open()) as db, db):
            db.execute("BEGIN IMMEDIATE")
            if _mark_of(db) == self._mark:
                db.executemany("INSERT OR REPLACE INTO memo VALUES (?,?)", new.items())

    def _open(self) -> sqlite3.Connection:
        """Open the file that is there; none is made."""
        db = sqlite3.connect(f"{self._path.absolute().as_uri()}?mode=rw", uri=True,
                             timeout=_WAIT_S, check_same_thread=False)
        db.execute("PRAGMA secure_delete = ON")
        return db


def _mark_of(db: sqlite3.Connection) -> bytes:
    (mark,) = db.execute("SELECT mark FROM file").fetchone()
    return bytes(mark)


def forget(folder: Path) -> None:
    """Delete what is remembered of a block folder."""
    for end in ("", "-journal", "-wal", "-shm"):
        (folder / f"{MEMO_FILE}{end}").unlink(missing_ok=True)
