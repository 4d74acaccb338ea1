"""What walks told, remembered on disk beside the journal: fast, never needed, gone when tracks go.

Rule 1: nothing here is the only copy of anything; the file may be deleted at any time.
Rule 2: no fault of it stops a register: what cannot be read is worked out anew.
Rule 3: swaths show where people walked; the file is only the owner's, and goes when tracks go.
"""

import contextlib
import os
import sqlite3
from pathlib import Path

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

    def get(self, key: str) -> bytes | None:
        """Give what is remembered; None if nothing is, or it cannot be read."""
        if key in self._new:
            return self._new[key]
        if not self._path.is_file():
            return None
        try:
            with contextlib.closing(self._open()) as db:
                row = db.execute("SELECT value FROM memo WHERE key = ?", (key,)).fetchone()
        except sqlite3.Error:
            return None
        return None if row is None else bytes(row[0])

    def put(self, key: str, value: bytes) -> None:
        """Remember; written to disk by `keep`."""
        self._new[key] = value

    def keep(self) -> None:
        """Write what is new to disk; without room or leave it is let go of."""
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
        db = sqlite3.connect(self._path, timeout=_WAIT_S)
        db.execute("PRAGMA secure_delete = ON")
        return db


def forget(folder: Path) -> None:
    """Delete what is remembered of a block folder."""
    for end in ("", "-journal", "-wal", "-shm"):
        (folder / f"{MEMO_FILE}{end}").unlink(missing_ok=True)
