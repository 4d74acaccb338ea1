"""Hand-overs that are still coming in over the shed's Wi-Fi, part by part.

Rule 1: a part that arrived stays, so that a phone goes on where it was cut off.
Rule 2: a device has one upload at a time; another one drops what it had begun.
Rule 3: what is whole is taken as a file from a stick is, by the same door, and then forgotten.
Rule 4: what nobody comes back for is let go of at a start: the phone still has it.
"""

import dataclasses
import hashlib
import os
import re
import shutil
from datetime import datetime, timedelta
from pathlib import Path

from fieldapp.handover.zips import LARGEST_FILE
from fieldapp.record import DEVICE
from sync.errors import IntakeError

INCOMING_FOLDER = "incoming"
_SUM = re.compile(r"\A[0-9a-f]{64}\Z")
_CHUNK = 1 << 20
#: A phone that was away this long sends from the beginning.
_PART_KEPT = timedelta(days=60)
#: Whatever else lies there was being taken when the shed died.
_REST_KEPT = timedelta(days=1)


class OffsetError(Exception):
    """Bytes do not go on where the last ended; `have` says where they should.

    Parameters
    ----------
    have : int
        Bytes on disk.
    """

    def __init__(self, have: int) -> None:
        super().__init__(f"the shed has {have} bytes: go on from there")
        self.have = have


@dataclasses.dataclass(frozen=True)
class Upload:
    """One hand-over on its way: whose, its SHA-256 and its size [bytes]."""

    device: str
    sha256: str
    size: int


def begin_upload(folder: Path, upload: Upload) -> int:
    """Begin an upload, or find where one goes on.

    Parameters
    ----------
    folder : Path
        The block folder.
    upload : Upload
        What is announced; nothing of it is believed.

    Returns
    -------
    int
        Bytes that are on disk already.

    Raises
    ------
    IntakeError
        If it cannot be a hand-over: its device, sum or size is none.
    """
    if not DEVICE.match(upload.device) or not _SUM.match(upload.sha256):
        raise IntakeError("an upload names its device and the SHA-256 of its file")
    if not 0 < upload.size <= LARGEST_FILE:
        raise IntakeError(f"a hand-over has at most {LARGEST_FILE // 1_000_000} MB, and this one "
                          "claims another size: make it again, in parts")
    incoming = folder / INCOMING_FOLDER
    incoming.mkdir(mode=0o700, exist_ok=True)
    mine = _path(folder, upload)
    for other in incoming.glob(f"{upload.device}.*.part"):
        if other != mine:
            other.unlink(missing_ok=True)
    return _have(mine, upload)


def known_upload(folder: Path, device: str, sha256: str) -> Upload | None:
    """Find an upload that a device has begun."""
    if not DEVICE.match(device) or not _SUM.match(sha256):
        return None
    found = list((folder / INCOMING_FOLDER).glob(f"{device}.{sha256}.*.part"))
    return Upload(device, sha256, int(found[0].name.split(".")[2])) if found else None


def add_part(folder: Path, upload: Upload, offset: int, part: bytes) -> int:
    """Add bytes at the end of an upload.

    Parameters
    ----------
    folder : Path
        The block folder.
    upload : Upload
        Begun before.
    offset : int
        Where these bytes stand in the file.
    part : bytes
        They.

    Returns
    -------
    int
        Bytes now on disk.

    Raises
    ------
    OffsetError
        If they do not begin where the last ended, or reach past the size announced.
    """
    path = _path(folder, upload)
    have = _have(path, upload)
    if offset != have or have + len(part) > upload.size:
        raise OffsetError(have)
    with path.open("r+b") as target:
        target.seek(offset)  # the same part twice at once, after a cut, is written over itself
        target.write(part)
        target.flush()
        os.fsync(target.fileno())
    return have + len(part)


def finish_upload(folder: Path, upload: Upload) -> Path:
    """Check that a whole upload is what was announced, and give its file.

    Returns
    -------
    Path
        The hand-over; its name is the device's and the first digits of its sum.

    Raises
    ------
    OffsetError
        If bytes are missing, or all are there and make another sum; then it begins anew, at 0.
    """
    path = _path(folder, upload)
    have = _have(path, upload)
    if have < upload.size:
        raise OffsetError(have)
    if _sum_of(path) != upload.sha256:
        path.unlink(missing_ok=True)
        raise OffsetError(0)
    whole = path.with_name(f"{upload.device}-{upload.sha256[:8]}.handover.zip")
    path.replace(whole)
    return whole


def forget_leftovers(folder: Path, *, now: datetime) -> None:
    """Let go of what uploads of long ago, or a shed that died, have left.

    Parameters
    ----------
    folder : Path
        The block folder.
    now : datetime
        UTC.
    """
    for path in (folder / INCOMING_FOLDER).glob("*"):
        kept = _PART_KEPT if path.suffix == ".part" else _REST_KEPT
        if now.timestamp() - path.stat().st_mtime < kept.total_seconds():
            continue
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink(missing_ok=True)


def _path(folder: Path, upload: Upload) -> Path:
    return folder / INCOMING_FOLDER / f"{upload.device}.{upload.sha256}.{upload.size}.part"


def _have(path: Path, upload: Upload) -> int:
    if not path.exists():
        path.touch(mode=0o600)
    have = path.stat().st_size
    if have > upload.size:
        path.unlink()
        path.touch(mode=0o600)
        return 0
    return have


def _sum_of(path: Path) -> str:
    total = hashlib.sha256()
    with path.open("rb") as source:
        while part := source.read(_CHUNK):
            total.update(part)
    return total.hexdigest()
