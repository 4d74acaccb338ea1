"""The files brought to the phone: looked through, used, and put where they belong.

Rule 1: a name is only looked at, never followed: no links, no folders, nothing beyond a size.
Rule 2: a file leaves `in/` only after what it brought is kept; one that is refused is moved
aside, never deleted.
Rule 3: a pairing file is deleted once its key is kept: whoever holds the file holds the key.
"""

import dataclasses
import os
import re
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Literal

from fieldapp.device.files import sync_folder, write_safely
from fieldapp.device.pairing import PairingError
from fieldapp.ground import GroundError

Kind = Literal["pairing", "sheet", "refused"]
#: Takes a file's content, keeps what it brings and names the install it was for.
Use = Callable[[bytes], str]

#: Largest file that is read; a large block's sheet is some 2 MB. [bytes]
LARGEST_IN = 25_000_000
#: A second copy may come as `p3.sheet (1).zip`: downloads are so named.
_PAIRING = re.compile(r"\.pairing[^.]*\.json\Z", re.IGNORECASE)
_SHEET = re.compile(r"\.sheet[^.]*\.zip\Z", re.IGNORECASE)
#: Still being written, or the system's own.
_NOT_YET = re.compile(r"\A\.|\.new\Z")
_ODD = re.compile(r"[^A-Za-z0-9._() -]+")
_LONGEST_NAME = 80
_PLAIN = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(
    os, "O_BINARY", 0)


@dataclasses.dataclass(frozen=True)
class TakenIn:
    """What became of one file.

    Attributes
    ----------
    name : str
        As it stood in `in/`.
    kind : str
        pairing, sheet or refused.
    why : str
        One line that says why it was refused and what to do; else empty.
    device : str or None
        The install it was for; None where it was refused.
    """

    name: str
    kind: Kind
    why: str
    device: str | None


class _RefusedError(Exception):
    """A file is not even read; the message says why."""


def bring(folder: Path, name: str, content: bytes) -> Path:
    """Put a file into the inbox, whatever the place it comes from calls it.

    Parameters
    ----------
    folder : Path
        The inbox.
    name : str
        From outside: only its last part is used, odd letters as `-`.
    content : bytes
        All of it.

    Returns
    -------
    Path
        The file, not yet taken in; it takes the place of none that waits.

    Raises
    ------
    OSError
        If it could not be written.
    """
    last = _ODD.sub("-", name.replace("\\", "/").rpartition("/")[2]).lstrip(".")[-_LONGEST_NAME:]
    path = _free(folder, last or "file")
    write_safely(path, content, private=True)
    return path


def take_in(folder: Path, *, pair: Use, keep_sheet: Use) -> tuple[TakenIn, ...]:
    """Go through the inbox.

    Parameters
    ----------
    folder : Path
        The inbox, with `taken` and `refused` in it.
    pair, keep_sheet : callable
        Take a file's content, keep what it brings and give the device of the install it was
        for; they refuse by PairingError or GroundError.

    Returns
    -------
    tuple of TakenIn
        The pairings first, as a sheet may need the key that came with it; then by name. What
        is no plain file is left where it lies, links are moved aside.

    Raises
    ------
    OSError
        If the phone's storage failed; what was taken so far is kept, the rest waits.
    JournalError, StoreError
        If the phone's own files failed it; the file waits.
    """
    waiting = sorted(entry.name for entry in os.scandir(folder) if not _NOT_YET.search(entry.name)
                     and (entry.is_symlink() or entry.is_file(follow_symlinks=False)))
    waiting.sort(key=lambda name: _PAIRING.search(name) is None)
    return tuple(_take(folder / name, pair, keep_sheet) for name in waiting)


def _take(path: Path, pair: Use, keep_sheet: Use) -> TakenIn:
    kind: Kind = "pairing" if _PAIRING.search(path.name) else "sheet"
    try:
        if kind == "sheet" and not _SHEET.search(path.name):
            raise _RefusedError("the file is neither a pairing file nor a ground sheet: fetch it "
                                "again from the shed")
        content = _read(path)
        device = pair(content) if kind == "pairing" else keep_sheet(content)
    except (_RefusedError, PairingError, GroundError) as refusal:
        _move(path, path.parent / "refused")
        return TakenIn(path.name, "refused", str(refusal), None)
    if kind == "pairing":
        path.unlink()
        sync_folder(path.parent)
    else:
        _move(path, path.parent / "taken")
    return TakenIn(path.name, kind, "", device)


def _read(path: Path) -> bytes:
    """Read a plain file; what was changed into a link since it was listed is not followed."""
    if path.is_symlink():
        raise _RefusedError("it is a link and no file: bring the file itself")
    handle = os.open(path, _PLAIN)
    with os.fdopen(handle, "rb") as source:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise _RefusedError("it is no plain file: bring the file itself")
        content = source.read(LARGEST_IN + 1)
    if len(content) > LARGEST_IN:
        raise _RefusedError(f"it is larger than {LARGEST_IN // 1_000_000} MB: no pairing file or "
                            "ground sheet is")
    return content


def _move(path: Path, folder: Path) -> None:
    path.rename(_free(folder, path.name))
    sync_folder(folder)
    sync_folder(path.parent)


def _free(folder: Path, name: str) -> Path:
    """Give the path of that name, or with `-2` and so on before it where it is taken."""
    path, copy = folder / name, 1
    while os.path.lexists(path):
        copy += 1
        path = folder / f"{copy}-{name}"
    return path
