"""What a hand-over says of itself.

Rule 1: its shape is judged whole before any part of it is used.
Rule 2: a field this program does not know is kept, since the seal is taken over it too.
"""

import dataclasses
from collections.abc import Iterable, Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any

from fieldapp.handover.zips import same_seal
from fieldapp.record.checks import Check, an_instant, like, list_of, text, whole
from fieldapp.record.lines import FileError, LineError, parse_object
from fieldapp.record.names import DEVICE, LAST_SEQ, PHOTO, SHED, SUM, instant, stamp

#: 1,000 photos and as many holes need some 150 kB. [bytes]
LONGEST_MANIFEST = 1_000_000


class HandoverError(Exception):
    """A file is no hand-over that can be taken; the message is one line and says what to do."""


@dataclasses.dataclass(frozen=True)
class Manifest:
    """A hand-over's manifest.

    Attributes
    ----------
    device, block, program : str
        Whose numbers, of which block (None if the phone was never paired), by which version.
    made_at : datetime
        By the phone's clock, UTC.
    first_seq, last_seq : int
        What the file answers for; `first_seq` is one past `last_seq` when nothing is new.
    count : int
        Records in it.
    missing : tuple of (int, int)
        Holes the phone admits, first and last number of each.
    records_sha256 : str
        Of the bytes of `records.ndjson`.
    photos : mapping of str to str
        SHA-256 by name.
    seal : str or None
        None if unsealed.
    unknown : mapping
        Fields this program does not know.
    """

    device: str
    block: str | None
    program: str
    made_at: datetime
    first_seq: int
    last_seq: int
    count: int
    missing: tuple[tuple[int, int], ...]
    records_sha256: str
    photos: Mapping[str, str]
    seal: str | None
    unknown: Mapping[str, Any] = dataclasses.field(default_factory=dict)


def manifest_of(data: bytes) -> Manifest:
    """Read a manifest.

    Parameters
    ----------
    data : bytes
        Of `manifest.json`.

    Returns
    -------
    Manifest
        Its seal not yet tried.

    Raises
    ------
    HandoverError
        If its shape is wrong; the first mistake is named.
    """
    try:
        fields = parse_object(data, longest=LONGEST_MANIFEST)
    except (LineError, FileError) as error:
        raise HandoverError(f"manifest.json: {_one_line(error)}: make the file again") from None
    for name, check in _SHAPE.items():
        if name not in fields:
            raise HandoverError(f"manifest.json has no {name}: make the file again")
        value = fields[name]
        if reason := None if value is None and name in _NULLABLE else check(value):
            raise HandoverError(f"manifest.json {name}={ascii(value)[:60]}: {reason}")
    manifest = Manifest(
        fields["device"], fields["block"], fields["program"], instant(fields["made_at"]),
        fields["first_seq"], fields["last_seq"], fields["count"],
        tuple((first, last) for first, last in fields["missing"]), fields["records_sha256"],
        MappingProxyType(fields["photos"]), fields["seal"],
        MappingProxyType({key: value for key, value in fields.items() if key not in _SHAPE}))
    _hold_together(manifest)
    return manifest


def manifest_json(manifest: Manifest) -> dict[str, Any]:
    """Write a manifest as the object that stands in the file, its seal as it is."""
    return {
        **manifest.unknown, "handover": 1, "device": manifest.device, "block": manifest.block,
        "program": manifest.program, "made_at": stamp(manifest.made_at),
        "first_seq": manifest.first_seq, "last_seq": manifest.last_seq, "count": manifest.count,
        "missing": [list(span) for span in manifest.missing],
        "records_sha256": manifest.records_sha256, "photos": dict(manifest.photos),
        "seal": manifest.seal}


def seal_fits(manifest: Manifest, key: bytes) -> bool:
    """Say whether a manifest was sealed with a key, in a time that gives nothing away.

    Parameters
    ----------
    manifest : Manifest
        As read; unsealed never fits.
    key : bytes
        The phone's pairing key.

    Returns
    -------
    bool
        True if the file is that phone's and whole.
    """
    return same_seal(manifest_json(manifest), key)


def expected_seqs(manifest: Manifest) -> tuple[range, ...]:
    """Give the numbers the file should hold: first to last without the holes admitted.

    Parameters
    ----------
    manifest : Manifest
        As read.

    Returns
    -------
    tuple of range
        Spans, ascending; together as long as `count` unless the phone is mistaken.
    """
    spans: list[range] = []
    lowest = manifest.first_seq
    for first, last in manifest.missing:
        spans.append(range(lowest, first))
        lowest = last + 1
    spans.append(range(lowest, manifest.last_seq + 1))
    return tuple(span for span in spans if span)


def _hold_together(manifest: Manifest) -> None:
    if manifest.device == SHED:
        raise HandoverError("manifest.json device='shed': the shed hands nothing over to itself")
    if manifest.first_seq > manifest.last_seq + 1:
        raise HandoverError(f"manifest.json first_seq={manifest.first_seq} lies past "
                            f"last_seq={manifest.last_seq}: make the file again")
    if manifest.count > manifest.last_seq + 1 - manifest.first_seq:
        raise HandoverError(f"manifest.json count={manifest.count} is more than its numbers: "
                            "make the file again")
    if not _ascending(manifest.missing, manifest.first_seq, manifest.last_seq):
        raise HandoverError("manifest.json missing: holes must ascend from first_seq to last_seq: "
                            "make the file again")


def _ascending(spans: Iterable[tuple[int, int]], lowest: int, highest: int) -> bool:
    for first, last in spans:
        if not lowest <= first <= last <= highest:
            return False
        lowest = last + 1
    return True


def _photos(value: object) -> str | None:
    if not isinstance(value, Mapping):
        return "must be an object"
    for name, sha in value.items():
        if not PHOTO.match(name) or not isinstance(sha, str) or not SUM.match(sha):
            return f"photo {ascii(name)[:60]} must be a name such as p3-k7f2-12.jpg and a sum"
    return None


def _version(value: object) -> str | None:
    known = value == 1 and not isinstance(value, bool)
    return None if known else "is a later form of the file: bring the shed's program up to date"


def _one_line(error: Exception) -> str:
    return " ".join(ascii(str(error))[1:-1].split())[:200]


_SEQ = whole(1, LAST_SEQ)
_NULLABLE = ("block", "seal")
_SHAPE: Mapping[str, Check] = MappingProxyType({
    "handover": _version, "device": like(DEVICE, "a device such as p3-k7f2"), "block": text(200),
    "program": text(200), "made_at": an_instant, "first_seq": _SEQ, "last_seq": _SEQ,
    "count": whole(0, LAST_SEQ), "missing": list_of(list_of(_SEQ, least=2, most=2)),
    "records_sha256": like(SUM, "a SHA-256 sum"), "photos": _photos,
    "seal": like(SUM, "a seal of 64 hex digits")})
