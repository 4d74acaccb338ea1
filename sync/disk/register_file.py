"""The register as a file: TinyDB documents, rebuilt at will, never the only copy of anything.

Rule 1: written whole and safely; the one before is kept.
Rule 2: nothing in it is read back to make a figure.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from fieldapp.device.store import SafeStorage, StoreError, open_store
from sync.errors import DiskError

REGISTER_FILE = "register.json"
_LISTS = ("classes", "cells", "flags", "permits")


def keep_register(folder: Path, document: Mapping[str, Any]) -> None:
    """Write a register's document as TinyDB tables.

    Parameters
    ----------
    folder : Path
        The block folder.
    document : mapping
        As `fallow register --json` prints it.

    Raises
    ------
    DiskError
        If it cannot be written; what stood there stands.
    """
    head = {key: value for key, value in document.items() if key not in _LISTS}
    tables: dict[str, dict[str, Any]] = {"register": {"1": head}}
    for name in _LISTS:
        tables[name] = {str(i): row for i, row in enumerate(document[name], 1)}
    try:
        SafeStorage(folder / REGISTER_FILE).write(tables)
    except OSError as wrong:
        raise DiskError(f"{REGISTER_FILE}: {wrong.strerror}") from wrong


def kept_register(folder: Path) -> dict[str, Any] | None:
    """Read the register that was last written; None if there is none.

    Raises
    ------
    DiskError
        If the file and the one before it are damaged.
    """
    try:
        with open_store(folder / REGISTER_FILE) as store:
            heads = store.table("register").all()
            if not heads:
                return None
            lists = {
                name: [dict(row) for row in sorted(
                    store.table(name).all(), key=lambda row: row.doc_id
                )]
                for name in _LISTS
            }
            return {**dict(heads[-1]), **lists}
    except StoreError as wrong:
        raise DiskError(f"{REGISTER_FILE}: damaged; it is rebuilt by `fallow register`") from wrong
