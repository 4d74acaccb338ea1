"""The check at the door: which lines of a file are sound records, and which must wait.

Rule 1: a line is taken whole or set aside whole, with file, line, field, value and reason.
Rule 2: whether a line is sound depends on the line alone, never on what is already held.
Rule 3: an unknown kind is kept; it counts for nothing until a program knows it.
"""

import dataclasses
import functools
import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, NamedTuple

from fieldapp.record import (
    LineError,
    Where,
    is_known_kind,
    name_of,
    parse_line,
    problems,
    sum_of,
    where_of,
)
from sync.intake.clock import lag_of, own_time

_SHOWN_VALUE = 80


class Said(NamedTuple):
    """What a record says of itself.

    Attributes
    ----------
    device, seq : str, int
        By its name.
    at : datetime or None
        By its own clock, UTC; None where that cannot be read.
    where : Where or None
        As it says itself.
    lag_s : float or None
        How far its clock was off; None where it does not say. [s]
    """

    device: str
    seq: int
    at: datetime | None
    where: Where | None
    lag_s: float | None


@dataclasses.dataclass(frozen=True)
class Held:
    """One sound record as the shed holds it.

    Attributes
    ----------
    name, total : str
        Its name and its sum (SHA-256 of its canonical JSON, hex).
    record : mapping
        The record itself, unknown fields included.
    sealed : bool
        True if any file that brought it was sealed.
    """

    name: str
    total: str
    record: Mapping[str, Any]
    sealed: bool

    @property
    def device(self) -> str:
        """Who numbered it."""
        return self.name.rpartition(":")[0]

    @property
    def seq(self) -> int:
        """Its number."""
        return int(self.name.rpartition(":")[2])

    @functools.cached_property
    def said(self) -> Said:
        """Who numbered it, and what it says of when and where it was noted; read once."""
        where = where_of(self.record)
        return Said(self.device, self.seq, own_time(self.record), where,
                    lag_of(self.record, where))


@dataclasses.dataclass(frozen=True)
class Aside:
    """One line that waits: where it came from, what is wrong with it, and the line itself.

    Attributes
    ----------
    file, line : str, int
        Where it stands, the first line being 1.
    name : str or None
        Its name by what can be read of it, else by the manifest.
    field, value, reason : str
        What is wrong.
    raw : str
        The line as it came; bytes that are no UTF-8 as Python writes them.
    sealed : bool
        True if the file that brought it was sealed.
    """

    file: str
    line: int
    name: str | None
    field: str
    value: str
    reason: str
    raw: str
    sealed: bool


@dataclasses.dataclass(frozen=True)
class Checked:
    """What came of the lines of one file."""

    sound: tuple[Held, ...]
    aside: tuple[Aside, ...]
    unknown: tuple[str, ...]


def check_lines(
    lines: Sequence[bytes], *, file: str, sealed: bool, expected: Sequence[str] = ()
) -> Checked:
    """Check the lines of one file.

    Parameters
    ----------
    lines : sequence of bytes
        One record a line, UTF-8 JSON, without the line ends.
    file : str
        Name of the file, for the list of what is set aside.
    sealed : bool
        Whether the file's seal was checked and fits.
    expected : sequence of str
        The names that the file's manifest promises, in order; they lend a broken line its number.

    Returns
    -------
    Checked
        Sound records, lines set aside, and names of records of unknown kinds (sound, but idle).

    Raises
    ------
    FileError
        If a line can be read in two ways; then nothing of the file may be taken.
    """
    sound: list[Held] = []
    aside: list[Aside] = []
    for number, line in enumerate(lines, start=1):
        promised = expected[number - 1] if len(expected) == len(lines) else None
        result = check_line(line, file=file, number=number, sealed=sealed, promised=promised)
        if isinstance(result, Held):
            sound.append(result)
        else:
            aside.append(result)
    unknown = tuple(h.name for h in sound if not is_known_kind(h.record))
    return Checked(tuple(sound), tuple(aside), unknown)


def check_line(
    line: bytes, *, file: str, number: int, sealed: bool, promised: str | None = None
) -> Held | Aside:
    """Check one line; the first thing wrong with it is what is shown.

    Parameters
    ----------
    line : bytes
        The line without its end.
    file, number
        Where it stands, the first line being 1.
    sealed : bool
        Whether the file's seal fits.
    promised : str or None
        The name this line should have by the file's manifest.

    Returns
    -------
    Held or Aside
        The record, or what to show of it.

    Raises
    ------
    FileError
        If the line can be read in two ways.
    """
    raw = _as_it_came(line)
    try:
        record = parse_line(line)
    except LineError as wrong:
        return Aside(
            file, number, promised, wrong.field, _shown(wrong.value), wrong.reason, raw, sealed
        )
    found = problems(record)
    if not found:
        return Held(name_of(record), sum_of(record), record, sealed)
    first = found[0]
    more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
    name = _readable_name(record) or promised
    shown = _shown(first.value)
    return Aside(file, number, name, first.field, shown, first.reason + more, raw, sealed)


def _as_it_came(line: bytes) -> str:
    """Keep a line as text; one that is not UTF-8 in a form that can never pass as another."""
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        return repr(line)


def _readable_name(record: Mapping[str, Any]) -> str | None:
    if any(p.field in {"device", "seq"} for p in problems(record)):
        return None
    return name_of(record)


def _shown(value: object) -> str:
    text = json.dumps(value, ensure_ascii=True, default=str)
    return text if len(text) <= _SHOWN_VALUE else text[: _SHOWN_VALUE - 1] + "…"
