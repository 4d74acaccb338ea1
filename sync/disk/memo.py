"""What walks told and which records count, remembered on disk: never needed, gone with tracks.

Rule 1: nothing here is the only copy of anything; the file may be deleted at any time.
Rule 2: no fault of it stops a register: what cannot be read is worked out anew.
Rule 3: swaths show where people walked; the file is only the owner's, and goes when tracks go.
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


class DiskMemo:
    """A memo in a block folder.

    Parameters
    ----------
    folder : Path
        The block folder.
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / MEMO_FILE
        self._new: dict[str, bytes] = {}
        self._db: sqlite3.Connection | None = None

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
            if self._db is None and self._path.is_file():
                self._db = self._open()
            row = self._db and self._db.execute(
                "SELECT value FROM memo WHERE key = ?", (key,)).fetchone()
        except sqlite3.Error:
            return None
        return bytes(row[0]) if row else None

    def put(self, key: str, value: bytes) -> None:
        """Remember; written to disk by `keep`."""
        self._new[key] = value

    def keep(self) -> None:
        """Write what is new to disk; without room or leave it is let go of."""
        if self._db is not None:
            self._db.close()
            self._db = None
        if not self._new:
            return
        with contextlib.suppress(sqlite3.Error, OSError):
            if not self._path.exists():
                os.close(os.open(self._path, os.O_CREAT | os.O_WRONLY, _PRIVATE))
            with contextlib.closing(self._open()) as db, db:
                db.execute(
                    "CREATE TABLE IF NOT EXISTS memo (key TEXT PRIMARY KEY, value BLOB NOT NULL)")
                db.executemany("INSERT OR REPLACE INTO memo VALUES (?,?)", self._new.items())
        self._new = {}

    def _open(self) -> sqlite3.Connection:
        db = sqlite3.connect(self._path, timeout=_WAIT_S, check_same_thread=False)
        db.execute("PRAGMA secure_delete = ON")
        return db


def forget(folder: Path) -> None:
    """Delete what is remembered of a block folder."""
    for end in ("", "-journal", "-wal", "-shm"):
        (folder / f"{MEMO_FILE}{end}").unlink(missing_ok=True)
