"""Files on the phone: written so that no power cut leaves half of one, and hand-overs out.

Rule 1: a file is written beside, brought to disk, and only then takes its name.
Rule 2: a hand-over that was once made is never written over by another.
"""

import os
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from fieldapp.device.journal import Journal
from fieldapp.handover import pack
from fieldapp.record import PHOTO

#: What of photos goes into one hand-over, well under what the shed refuses. [photos], [bytes]
PHOTOS_A_FILE = 900
PHOTO_BYTES_A_FILE = 150_000_000
_BESIDE = ".new"
_BINARY = getattr(os, "O_BINARY", 0)


def write_safely(path: Path, content: bytes, *, private: bool = False) -> None:
    """Write a whole file, or leave what stood there.

    Parameters
    ----------
    path : Path
        In a folder that exists.
    content : bytes
        All of it.
    private : bool
        True if only the owner may read it.

    Raises
    ------
    OSError
        If it could not be written; the file is then as it was.
    """
    beside = path.with_name(path.name + _BESIDE)
    try:
        mode = 0o600 if private else 0o666
        handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | _BINARY, mode)
        with os.fdopen(handle, "wb") as target:
            target.write(content)
            target.flush()
            os.fsync(target.fileno())
        beside.replace(path)
    except OSError:
        beside.unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Bring a folder's names to disk, where the system can."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def parts(journal: Journal, photos: Path | None) -> tuple[tuple[int, int], ...]:
    """Split what the shed is not known to hold into spans, one a hand-over.

    Parameters
    ----------
    journal : Journal
        Open.
    photos : Path or None
        Folder of this journal's photos.

    Returns
    -------
    tuple of (int, int)
        First and last number of each; one span unless there are very many photos. With nothing
        new the one span ends before it begins.
    """
    first, last = journal.first_unsent(), journal.last_seq()
    spans: list[tuple[int, int]] = []
    count = size = 0
    for record in journal.records(first, last):
        path = _photo(record, photos)
        if path is None:
            continue
        count, size = count + 1, size + path.stat().st_size
        if record["seq"] > first and (count > PHOTOS_A_FILE or size > PHOTO_BYTES_A_FILE):
            spans.append((first, record["seq"] - 1))
            first, count, size = record["seq"], 1, path.stat().st_size
    return (*spans, (first, last))


def hand_over(journal: Journal, span: tuple[int, int], *, block: str | None, program: str,
              made_at: datetime, key: bytes | None, photos: Path | None = None) -> bytes:
    """Make one hand-over.

    Parameters
    ----------
    journal : Journal
        Open.
    span : (int, int)
        One of `parts`.
    block, program, made_at, key
        As for `fieldapp.handover.pack`.
    photos : Path or None
        Folder of this journal's photos; one that is no longer there is left out.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    RecordError
        If the journal is empty.
    JournalError
        If the journal cannot be read.
    """
    records = list(journal.records(*span))
    return pack(records, device=journal.device, block=block, program=program, made_at=made_at,
                first_seq=span[0], last_seq=span[1], key=key,
                photos=dict(_photos(records, photos)))


def save_hand_over(folder: Path, data: bytes, *, device: str, span: tuple[int, int]) -> Path:
    """Write a hand-over where the person can find it.

    Parameters
    ----------
    folder : Path
        A USB stick or the phone's downloads; it exists.
    data : bytes
        The file.
    device : str
        Whose.
    span : (int, int)
        First and last number in it.

    Returns
    -------
    Path
        `DEVICE-FIRST-LAST.handover.zip`; with another file of that name there, `-2` and so on.

    Raises
    ------
    OSError
        If it could not be written.
    """
    stem = f"{device}-{span[0]}-{span[1]}"
    path = folder / f"{stem}.handover.zip"
    copy = 1
    while path.exists():
        if path.read_bytes() == data:
            return path
        copy += 1
        path = folder / f"{stem}-{copy}.handover.zip"
    write_safely(path, data)
    return path


def _photos(records: list[dict[str, Any]], folder: Path | None) -> Iterator[tuple[str, bytes]]:
    for record in records:
        path = _photo(record, folder)
        if path is not None:
            yield path.name, path.read_bytes()


def _photo(record: Mapping[str, Any], folder: Path | None) -> Path | None:
    name = record.get("photo")
    if folder is None or not isinstance(name, str) or not PHOTO.match(name):
        return None
    path = folder / name
    return path if path.is_file() else None
