"""What walks told and which records count, remembered on disk: never needed, gone with tracks.

Rule 1: nothing here is the only copy of anything; the file may be deleted at any time.
Rule 2: no fault of it stops a register: what cannot be read is worked out anew.
Rule 3: swaths show where people walked; the file is only the owner's, and goes when tracks go.
Rule 4: whoever began before tracks went keeps nothing, and a file of before goes: it says in its
`user_version` how often tracks had gone from the journal when it was made.
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
#: What SQLite says of a file that is no database, or is one no more.
_BROKEN = {"SQLITE_NOTADB", "SQLITE_CORRUPT"}


class DiskMemo:
    """A memo in a block folder.

    Parameters
    ----------
    folder : Path
        The block folder.
    thinnings : int
        How often tracks had gone from the journal, asked before any of its records was read.
    """

    def __init__(self, folder: Path, thinnings: int) -> None:
        self._folder = folder
        self._path = folder / MEMO_FILE
        self._thinnings = thinnings
        self._new: dict[str, bytes] = {}
        self._db: sqlite3.Connection | None = None
        self._begin()

    def _begin(self) -> None:
        """Make the file where there is none: one that is gone at the end went with tracks."""
        with contextlib.suppress(sqlite3.Error, OSError):
            if self._is_of_before():
                forget(self._folder)
            if not self._path.exists():
                os.close(os.open(self._path, os.O_CREAT | os.O_WRONLY, _PRIVATE))
                with contextlib.closing(self._open()) as db:
                    db.execute(f"PRAGMA user_version = {self._thinnings}")

    def _is_of_before(self) -> bool:
        """Say whether there is a file that was made before tracks went."""
        if not self._path.exists():
            return False
        with contextlib.closing(self._open()) as db:
            return _thinnings_in(db) < self._thinnings

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
        return row[0] if row and isinstance(row[0], bytes) else None

    def put(self, key: str, value: bytes) -> None:
        """Remember; written to disk by `keep`."""
        self._new[key] = value

    def keep(self) -> None:
        """Write what is new to disk; without room or leave, or where tracks went, let go of it."""
        if self._db is not None:
            self._db.close()
            self._db = None
        new, self._new = self._new, {}
        if not new:
            return
        try:
            with contextlib.closing(self._open()) as db, db:
                db.execute("BEGIN IMMEDIATE")
                if _thinnings_in(db) == self._thinnings:
                    db.execute("CREATE TABLE IF NOT EXISTS memo"
                               " (key TEXT PRIMARY KEY, value BLOB NOT NULL)")
                    db.executemany("INSERT OR REPLACE INTO memo VALUES (?,?)", new.items())
        except sqlite3.Error as wrong:
            if getattr(wrong, "sqlite_errorname", None) in _BROKEN:  # begun anew the next time
                with contextlib.suppress(OSError):
                    forget(self._folder)

    def _open(self) -> sqlite3.Connection:
        """Open the file that is there; none is made."""
        db = sqlite3.connect(f"{self._path.absolute().as_uri()}?mode=rw", uri=True,
                             timeout=_WAIT_S, check_same_thread=False)
        db.execute("PRAGMA secure_delete = ON")
        return db


def _thinnings_in(db: sqlite3.Connection) -> int:
    (found,) = db.execute("PRAGMA user_version").fetchone()
    return int(found)


def forget(folder: Path) -> None:
    """Delete what is remembered of a block folder."""
    for end in ("", "-journal", "-wal", "-shm"):
        (folder / f"{MEMO_FILE}{end}").unlink(missing_ok=True)
