"""The words of a record: codes, names, instants, and the bytes that its sum is taken over.

Rule 1: a pattern matches the whole text or nothing, in ASCII digits only.
Rule 2: two records with the same content have the same canonical bytes, whoever wrote them.
Rule 3: instants are aware and UTC; text that is no real instant is refused, never mended.
"""

import dataclasses
import hashlib
import json
import math
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

#: Highest number of a record: the last whole number that a double still counts by ones.
LAST_SEQ = 2**53 - 1
KINDS: tuple[str, ...] = (
    "outing", "track", "bag", "void", "quadrat", "skip", "clip", "mark", "work", "check_in",
    "batch", "past_pick", "notice", "ruling")
#: The device that stands for the shed itself.
SHED = "shed"

_DEVICE = r"(?:[a-z][a-z0-9]{0,7}-[a-z2-7]{4}|shed|form-[a-z0-9]{1,16}|gpx-[0-9a-f]{8})"
PERSON = re.compile(r"\A[A-Z][A-Z0-9]{0,7}\Z")
DEVICE = re.compile(rf"\A{_DEVICE}\Z")
NAME = re.compile(rf"\A{_DEVICE}:[1-9][0-9]{{0,15}}\Z")
CELL = re.compile(r"\A[A-Z]{1,2}[0-9]{2,3}\Z")
LABEL = re.compile(r"\A\S(?:[^\r\n]{0,30}\S)?\Z")
SUM = re.compile(r"\A[0-9a-f]{64}\Z")
PHOTO = re.compile(r"\A[a-z0-9-]{1,40}\.jpg\Z")
DAY = re.compile(r"\A[0-9]{4}-[0-9]{2}-[0-9]{2}\Z")
INSTANT = re.compile(
    r"\A[0-9]{4}-[0-9]{2}-[0-9]{2}T(?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]\.[0-9]{3}Z\Z")


class RecordError(Exception):
    """Our own code broke a rule: what it asked for can be no record."""


@dataclasses.dataclass(frozen=True)
class Problem:
    """One thing wrong with, or odd about, a record.

    Attributes
    ----------
    field : str
        The field it is about.
    value : object
        What stands there; None where the field is missing.
    reason : str
        What is wrong and what to do.
    """

    field: str
    value: object
    reason: str


def canonical(value: Any) -> bytes:
    """Write a value as canonical JSON: the bytes that sums and seals are taken over.

    Keys sorted, separators ``,`` and ``:``, ASCII only, whole numbers without a point, −0 as 0.

    Parameters
    ----------
    value : JSON value
        Mappings with text keys, sequences, text, finite numbers, booleans, None.

    Returns
    -------
    bytes
        One line without its end.

    Raises
    ------
    RecordError
        If the value holds NaN, Infinity or something that JSON has no word for.
    """
    try:
        text = json.dumps(_plain(value), sort_keys=True, separators=(",", ":"))
    except (RecursionError, ValueError) as error:
        raise RecordError(f"value cannot be written, too deep or too long: {error}") from error
    return text.encode("ascii")


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        if not math.isfinite(value):
            raise RecordError(f"{value!r} is no number that can be kept: leave the field out")
        return int(value) if value.is_integer() else value
    if value is None or isinstance(value, str | int):
        return value
    if isinstance(value, Mapping):
        if not all(isinstance(key, str) for key in value):
            raise RecordError(f"keys {list(value)!r} are not all text")
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    raise RecordError(f"{value!r} of {type(value).__name__} cannot stand in a record")


def sum_of(record: Mapping[str, Any]) -> str:
    """Give a record's sum: the SHA-256 of its canonical JSON, in hex."""
    return hashlib.sha256(canonical(record)).hexdigest()


def name_of(record: Mapping[str, Any]) -> str:
    """Give a record's name, ``device:seq``."""
    return f"{record['device']}:{record['seq']}"


def split_name(name: str) -> tuple[str, int]:
    """Take a record's name apart.

    Parameters
    ----------
    name : str
        As ``p3-k7f2:12``.

    Returns
    -------
    tuple of str and int
        Device and number.

    Raises
    ------
    RecordError
        If the text is no record's name.
    """
    if not NAME.match(name):
        raise RecordError(f"name={name!r} is no record's name, such as p3-k7f2:12")
    device, _, number = name.rpartition(":")
    return device, int(number)


def instant(text: str) -> datetime:
    """Read an instant, strictly ``YYYY-MM-DDTHH:MM:SS.mmmZ`` (a profile of RFC 3339).

    Parameters
    ----------
    text : str
        With milliseconds and ``Z``; a leap second is refused.

    Returns
    -------
    datetime
        Aware, UTC.

    Raises
    ------
    RecordError
        If the text has another shape or its day is in no calendar.
    """
    if isinstance(text, str) and INSTANT.match(text):
        try:
            return datetime.fromisoformat(text)  # of a Z it makes UTC
        except (ValueError, OverflowError):
            pass
    raise RecordError(f"{text!r} is no instant such as 2026-01-20T18:40:00.000Z")


def stamp(moment: datetime) -> str:
    """Write an instant to the millisecond; what is finer is cut off.

    Parameters
    ----------
    moment : datetime
        Aware, of any zone.

    Returns
    -------
    str
        As `instant` reads it.

    Raises
    ------
    RecordError
        If the moment has no zone.
    """
    if moment.utcoffset() is None:
        raise RecordError(f"moment={moment!r} has no zone: pass an aware one")
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def is_known_kind(record: Mapping[str, Any]) -> bool:
    """Say whether this program knows the record's kind; other kinds are kept and reported."""
    return record.get("kind") in KINDS
