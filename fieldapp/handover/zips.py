"""A small zip file as bytes and its seal: written the same each time, read as if it meant harm.

Rule 1: the same entries give the same bytes: stored, one date, the order given.
Rule 2: no header is believed: names are judged as written, and what comes out is counted while it
comes out.
Rule 3: nothing touches a disk.
"""

import dataclasses
import hashlib
import hmac
import io
import stat
import struct
import zipfile
import zlib
from collections.abc import Mapping
from typing import Any

from fieldapp.record.names import canonical

MOST_ENTRIES = 1000
#: Largest file, and most that may come out of it; a season of tracks is some 10 MB. [bytes]
LARGEST_FILE = 200_000_000
LARGEST_TOTAL = 200_000_000
#: What honest records compress to is 3 to 30 times smaller; a bomb is 1,000 times.
MOST_RATIO = 200
#: Under this size a ratio says nothing. [bytes]
RATIO_FROM = 1_000_000

_EPOCH = (1980, 1, 1, 0, 0, 0)
_CENTRAL = b"PK\x01\x02"
_ENCRYPTED = 0x1 | 0x40 | 0x2000
_CHUNK = 65536
#: What reading rotten bytes raises, found by flipping them.
_ROTTEN = (zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, struct.error, EOFError, OSError,
           ValueError, KeyError, IndexError, NotImplementedError, RuntimeError, OverflowError)


class ZipError(Exception):
    """A file is no zip that can be trusted; the message is one line and says what to do."""


@dataclasses.dataclass(frozen=True)
class Entry:
    """One entry as it came out of a zip.

    Attributes
    ----------
    content : bytes
        Empty where it could not be read.
    reason : str or None
        Why it could not be read.
    """

    content: bytes
    reason: str | None = None


def write_zip(entries: Mapping[str, bytes]) -> bytes:
    """Write entries into a zip.

    Parameters
    ----------
    entries : mapping of str to bytes
        By name, in the order in which they shall stand.

    Returns
    -------
    bytes
        The file, not compressed, so that no version of a compressor changes it.
    """
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as archive:
        for name, content in entries.items():
            info = zipfile.ZipInfo(name, _EPOCH)
            info.create_system = 3
            info.external_attr = (stat.S_IFREG | 0o600) << 16
            archive.writestr(info, content)
    return target.getvalue()


def read_zip(data: bytes) -> dict[str, Entry]:
    """Read all entries of a zip.

    Parameters
    ----------
    data : bytes
        The whole file.

    Returns
    -------
    dict of str to Entry
        By name, in the file's order; an entry whose bytes are rotten has a reason.

    Raises
    ------
    ZipError
        Not a zip, cut off, encrypted, too large, too many entries, or an entry whose name is a
        path, a link, doubled, or alike to another but for case.
    """
    if len(data) > LARGEST_FILE:
        raise ZipError(f"is larger than {LARGEST_FILE // 1_000_000} MB: no such file of ours is")
    if data.count(_CENTRAL) > MOST_ENTRIES:
        raise ZipError(f"holds more than {MOST_ENTRIES} entries: hand over in parts")
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
    except _ROTTEN:
        raise ZipError("is no zip file, or it was cut off: copy it again") from None
    with archive:
        infos = archive.infolist()
        _refuse_traps(infos)
        return _contents(archive, infos, limit=_limit(len(data)))


def seal_of(manifest: Mapping[str, Any], key: bytes) -> str:
    """Seal a manifest.

    Parameters
    ----------
    manifest : mapping
        The whole manifest; its own `seal` does not count.
    key : bytes
        The phone's pairing key.

    Returns
    -------
    str
        HMAC-SHA256 (RFC 2104, FIPS 180-4) over the canonical JSON of the manifest without `seal`,
        in hex.
    """
    unsealed = {name: value for name, value in manifest.items() if name != "seal"}
    return hmac.new(key, canonical(unsealed), hashlib.sha256).hexdigest()


def same_seal(manifest: Mapping[str, Any], key: bytes) -> bool:
    """Say whether a manifest's seal was made with a key, in a time that gives nothing away."""
    seal = manifest.get("seal")
    given = seal.encode("utf-8", "replace") if isinstance(seal, str) else b""
    return hmac.compare_digest(seal_of(manifest, key).encode("ascii"), given)


def _refuse_traps(infos: list[zipfile.ZipInfo]) -> None:
    seen: set[str] = set()
    for info in infos:
        name = info.orig_filename
        shown = ascii(name[:60])
        if any(sign in name for sign in ("\\", "\0", ":")) or name.startswith("/") or any(
                part in ("", ".", "..") for part in name.split("/")):
            raise ZipError(f"entry {shown} leads elsewhere on the disk: do not open this file")
        kind = stat.S_IFMT(info.external_attr >> 16)
        if kind not in (0, stat.S_IFREG):
            raise ZipError(f"entry {shown} is a link or no file: do not open this file")
        if info.flag_bits & _ENCRYPTED:
            raise ZipError(f"entry {shown} is locked with a password: make the file again without")
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise ZipError(f"entry {shown} is packed in an unknown way: make the file again")
        if name.casefold() in seen:
            raise ZipError(f"entry {shown} is there twice, or alike but for case: make the file "
                           "again")
        seen.add(name.casefold())


def _limit(size: int) -> int:
    return min(LARGEST_TOTAL, max(RATIO_FROM, MOST_RATIO * size))


def _contents(archive: zipfile.ZipFile, infos: list[zipfile.ZipInfo], *,
              limit: int) -> dict[str, Entry]:
    entries: dict[str, Entry] = {}
    left = limit
    for info in infos:
        try:
            content = _read(archive, info, left)
        except _ROTTEN:
            entries[info.orig_filename] = Entry(b"", "its bytes are damaged: copy it again")
            continue
        if len(content) > left:
            raise ZipError("unpacks to far more than its size: do not open this file")
        left -= len(content)
        entries[info.orig_filename] = Entry(content)
    return entries


def _read(archive: zipfile.ZipFile, info: zipfile.ZipInfo, most: int) -> bytes:
    parts: list[bytes] = []
    size = 0
    with archive.open(info) as source:
        while size <= most and (part := source.read(_CHUNK)):
            parts.append(part)
            size += len(part)
    return b"".join(parts)
