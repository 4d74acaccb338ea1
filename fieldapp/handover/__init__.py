"""The hand-over: records of one phone and their photos as one sealed file, and back.

Rule 1: it is read from bytes only, and wholly judged before any record is taken.
Rule 2: the same records, times and key give the same bytes.
Rule 3: what makes the whole file doubtful refuses it (`HandoverError`); a line that is no record
and a bad photo are the reader's to set aside alone.
"""

import dataclasses
import hashlib
from collections.abc import Iterable, Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any

from fieldapp.handover.manifest import (
    HandoverError,
    Manifest,
    expected_seqs,
    manifest_json,
    manifest_of,
    seal_fits,
)
from fieldapp.handover.zips import Entry, ZipError, read_zip, seal_of, write_zip
from fieldapp.record.lines import FileError, LineError, parse_line
from fieldapp.record.names import DEVICE, LAST_SEQ, PHOTO, RecordError, canonical, stamp

__all__ = ["Handover", "HandoverError", "Manifest", "expected_seqs", "manifest_json", "pack",
           "seal_fits", "seal_of", "unpack"]

_MANIFEST = "manifest.json"
_RECORDS = "records.ndjson"
_PHOTOS = "photos/"


@dataclasses.dataclass(frozen=True)
class Handover:
    """A hand-over whose file is sound.

    Attributes
    ----------
    manifest : Manifest
        What the file says of itself; whether its seal fits is asked apart.
    lines : tuple of bytes
        The records, one a line without its end, unchecked, in the file's order.
    photos : mapping of str to bytes
        By name; their sums fit.
    bad_photos : tuple of (str, str)
        Name and reason of each photo to set aside.
    """

    manifest: Manifest
    lines: tuple[bytes, ...]
    photos: Mapping[str, bytes]
    bad_photos: tuple[tuple[str, str], ...]


def pack(records: Iterable[Mapping[str, Any]], *, device: str, block: str | None, program: str,
         made_at: datetime, first_seq: int, last_seq: int, key: bytes | None,
         photos: Mapping[str, bytes]) -> bytes:
    """Make a hand-over file.

    Parameters
    ----------
    records : iterable of mapping
        Of one device, by ascending number.
    device : str
        Theirs.
    block : str or None
        The block's id; None if the phone was never paired.
    program : str
        The program's version.
    made_at : datetime
        Now, aware.
    first_seq, last_seq : int
        What the file answers for; numbers between without a record are admitted as missing. With
        nothing new, `first_seq` is one past `last_seq`.
    key : bytes or None
        The pairing key; None leaves the file unsealed.
    photos : mapping of str to bytes
        By name.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    RecordError
        If a record is of another device, out of the span or out of order, or a photo's name is
        none.
    """
    if not DEVICE.match(device) or last_seq < 1 or not (
            1 <= first_seq <= last_seq + 1 <= LAST_SEQ + 1):
        raise RecordError(f"device={device!r} first_seq={first_seq!r} last_seq={last_seq!r} make "
                          "no hand-over")
    if any(not PHOTO.match(name) for name in photos):
        raise RecordError(f"photos={sorted(photos)!r} are not all named such as p3-k7f2-12.jpg")
    seqs: list[int] = []
    lines: list[bytes] = []
    for record in records:
        lowest = seqs[-1] + 1 if seqs else first_seq
        if record.get("device") != device or not lowest <= record["seq"] <= last_seq:
            raise RecordError(f"record {record.get('device')}:{record.get('seq')} is not of "
                              f"{device}:{lowest} to {last_seq}")
        seqs.append(record["seq"])
        lines.append(canonical(record) + b"\n")
    body = b"".join(lines)
    manifest: dict[str, Any] = {
        "handover": 1, "device": device, "block": block, "program": program,
        "made_at": stamp(made_at), "first_seq": first_seq, "last_seq": last_seq,
        "count": len(seqs), "missing": _gaps(seqs, first_seq, last_seq),
        "records_sha256": _sha256(body),
        "photos": {name: _sha256(photos[name]) for name in sorted(photos)},
    }
    manifest["seal"] = None if key is None else seal_of(manifest, key)
    return write_zip({_MANIFEST: canonical(manifest) + b"\n", _RECORDS: body,
                      **{_PHOTOS + name: photos[name] for name in sorted(photos)}})


def unpack(data: bytes) -> Handover:
    """Read a hand-over file.

    Parameters
    ----------
    data : bytes
        The whole file.

    Returns
    -------
    Handover
        Its seal not yet tried, its lines not yet judged one by one.

    Raises
    ------
    HandoverError
        With one line that says what is wrong and what to do; nothing of the file may be used.
    """
    try:
        entries = read_zip(data)
    except ZipError as error:
        raise HandoverError(f"the file {error}") from None
    unknown = [name for name in entries if not _is_ours(name)]
    if unknown:
        raise HandoverError(f"the file holds {unknown[0][:60]!a}, which is no part of a "
                            "hand-over: make it again on the phone")
    manifest = manifest_of(_needed(entries, _MANIFEST))
    body = _needed(entries, _RECORDS)
    if _sha256(body) != manifest.records_sha256:
        raise HandoverError("the sum of the records does not match the manifest: copy the file "
                            "again, or make it again on the phone")
    lines = _lines(body, manifest)
    photos, bad = _photos(entries, manifest)
    return Handover(manifest, lines, MappingProxyType(photos), tuple(bad))


def _is_ours(name: str) -> bool:
    photo = name.removeprefix(_PHOTOS) if name.startswith(_PHOTOS) else ""
    return name in (_MANIFEST, _RECORDS) or PHOTO.match(photo) is not None


def _needed(entries: Mapping[str, Entry], name: str) -> bytes:
    entry = entries.get(name)
    if entry is None:
        raise HandoverError(f"the file has no {name}: it is no hand-over")
    if entry.reason is not None:
        raise HandoverError(f"{name} in the file: {entry.reason}")
    return entry.content


def _lines(body: bytes, manifest: Manifest) -> tuple[bytes, ...]:
    found = body.count(b"\n") + (1 if body and not body.endswith(b"\n") else 0)
    if found != manifest.count:
        raise HandoverError(f"the file holds {found} records and its manifest says "
                            f"{manifest.count}: make it again on the phone")
    lines = tuple(body.split(b"\n")[:found])
    lowest = manifest.first_seq
    for number, line in enumerate(lines, start=1):
        seq = _seq(line, number, manifest.device)
        if seq is None:
            continue
        if not lowest <= seq <= manifest.last_seq:
            raise HandoverError(f"line {number} has number {seq}, not {lowest} to "
                                f"{manifest.last_seq}: make the file again on the phone")
        lowest = seq + 1
    return lines


def _seq(line: bytes, number: int, device: str) -> int | None:
    try:
        record = parse_line(line)
    except FileError as error:
        raise HandoverError(f"line {number}: {error}: make the file again on the phone") from None
    except LineError:
        return None
    if record.get("device") is not None and record["device"] != device:
        raise HandoverError(f"line {number} is of device {ascii(record['device'])[:60]}, the file "
                            f"of {device}: make it again on the phone")
    seq = record.get("seq")
    if isinstance(seq, int) and not isinstance(seq, bool) and 1 <= seq <= LAST_SEQ:
        return seq
    return None


def _photos(entries: Mapping[str, Entry],
            manifest: Manifest) -> tuple[dict[str, bytes], list[tuple[str, str]]]:
    there = {name.removeprefix(_PHOTOS): entry for name, entry in entries.items()
             if name.startswith(_PHOTOS)}
    good: dict[str, bytes] = {}
    bad: list[tuple[str, str]] = []
    for name in sorted({*there, *manifest.photos}):
        entry = there.get(name)
        if entry is None:
            bad.append((name, "is in the manifest and not in the file"))
        elif name not in manifest.photos:
            bad.append((name, "is in the file and not in the manifest"))
        elif entry.reason is not None:
            bad.append((name, entry.reason))
        elif _sha256(entry.content) != manifest.photos[name]:
            bad.append((name, "its sum does not match the manifest"))
        else:
            good[name] = entry.content
    return good, bad


def _gaps(seqs: list[int], first_seq: int, last_seq: int) -> list[list[int]]:
    gaps: list[list[int]] = []
    expected = first_seq
    for seq in [*seqs, last_seq + 1]:
        if seq > expected:
            gaps.append([expected, seq - 1])
        expected = seq + 1
    return gaps


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
