"""The storage under TinyDB: readable JSON that survives a power cut.

Rule 1: the newest is written beside, brought to disk, and takes its name in one step.
Rule 2: the one before is kept as `.before` and read when the newest is damaged or gone.
Rule 3: a damaged file never takes the place of the one before.
"""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tinydb import TinyDB
from tinydb.storages import Storage

from fieldapp.device.files import write_safely


class StoreError(Exception):
    """A store's files cannot be read, neither the newest nor the one before."""


class SafeStorage(Storage):
    """What TinyDB reads from and writes to.

    Parameters
    ----------
    path : Path
        The file; its folder exists.
    private : bool
        True if only the owner may read it.
    """

    def __init__(self, path: Path, *, private: bool = False) -> None:
        self._path = path
        self._before = path.with_name(path.name + ".before")
        self._private = private

    def read(self) -> dict[str, dict[str, Any]] | None:
        """Read the newest, else the one before; None if nothing was ever written.

        Raises
        ------
        StoreError
            If files are there and none can be read.
        """
        for path in (self._path, self._before):
            content = _sound(path)
            if content is not None:
                return content
        if self._path.exists() or self._before.exists():
            raise StoreError(f"{self._path.name} and the one before it are damaged: keep them and "
                             "start anew")
        return None

    def write(self, data: dict[str, dict[str, Any]]) -> None:
        """Write all of it; the newest becomes the one before if it is sound.

        Raises
        ------
        OSError
            If it could not be written; what stood there stands.
        """
        content = json.dumps(data, indent=1, sort_keys=True, allow_nan=False).encode("ascii")
        if _sound(self._path) is not None:
            write_safely(self._before, self._path.read_bytes(), private=self._private)
        write_safely(self._path, content + b"\n", private=self._private)

    def close(self) -> None:
        """Nothing is held open."""


def open_store(path: Path, *, private: bool = False) -> TinyDB:
    """Open a TinyDB over a safe file.

    Parameters
    ----------
    path : Path
        The file; its folder exists, it may not.
    private : bool
        True if only the owner may read it.

    Returns
    -------
    TinyDB
        To be closed.
    """
    return TinyDB(path, storage=SafeStorage, private=private)


def keep_one(path: Path, document: Mapping[str, Any]) -> None:
    """Make one document the whole content of a store, in one step.

    Parameters
    ----------
    path : Path
        The store's file; its folder exists. Damaged files are written over.
    document : mapping
        JSON values.

    Raises
    ------
    OSError
        If it could not be written; what stood there stands.
    """
    SafeStorage(path).write({TinyDB.default_table_name: {"1": dict(document)}})


def kept_one(path: Path) -> dict[str, Any] | None:
    """Read a store's one document; None if there is none.

    Raises
    ------
    StoreError
        If files are there and none can be read.
    """
    with open_store(path) as store:
        rows = store.all()
    return dict(rows[-1]) if rows else None


def _sound(path: Path) -> dict[str, dict[str, Any]] | None:
    try:
        content = json.loads(path.read_bytes())
    except (OSError, ValueError, RecursionError):
        return None
    return content if isinstance(content, dict) else None
