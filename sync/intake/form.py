"""Hand-filled forms: CSV in, records out, row by row.

Rule 1: a row is a record of `form-` and the form's id, its number the row's.
Rule 2: a row that stands in for another device's record is written down by the shed, since only
the shed may name others.
Rule 3: a row taken before is never taken over; changed, it is refused or mended by the shed.
"""

import csv
import dataclasses
import io
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from fieldapp.record import canonical, name_of, problems, stamp, sum_of
from sync.errors import IntakeError
from sync.intake.check import Held

_HEAD = ("form", "row", "kind", "day", "person")
_TAIL = ("instead_of", "note")
#: Fields of each kind, in the order of the columns.
FIELDS: Mapping[str, tuple[str, ...]] = {
    "bag": ("bags", "for", "type", "wet_kg", "pile", "cell", "covers"),
    "batch": ("batch", "stage", "bags", "from", "wet_kg", "dry_kg", "moist_pct", "pure_pct"),
    "clip": ("clip", "cut", "area_m2", "from_mm", "to_mm", "wet_g", "dry_g", "dried"),
    "mark": ("what", "name"),
    "notice": ("permit", "what", "start"),
    "past_pick": ("cell", "from", "to", "share_pct", "dry_kg"),
    "quadrat": ("plot", "cell", "when", "again", "side_m", "cover_pct", "depth_mm", "scrub_pct",
                "rush_pct", "water_table_mm", "ground_class", "clip"),
    "skip": ("plot", "why"),
    "void": ("of",),
    "work": ("what", "cells", "hours", "trial", "product", "hold_days"),
}
_NUMBERS = frozenset({
    "area_m2", "bags", "cover_pct", "dry_g", "dry_kg", "from_mm", "hold_days", "hours",
    "moist_pct", "pure_pct", "rush_pct", "scrub_pct", "share_pct", "side_m", "to_mm",
    "water_table_mm", "wet_g", "wet_kg",
})
_LONGEST = 5_000_000


@dataclasses.dataclass(frozen=True)
class FormProblem:
    """A row that was not taken: line of the file, field, value, and what to do."""

    line: int
    field: str
    value: str
    reason: str


@dataclasses.dataclass(frozen=True)
class FormRow:
    """A sound row: its record, and whether the shed must write it down."""

    line: int
    record: Mapping[str, Any]
    for_shed: bool


@dataclasses.dataclass(frozen=True)
class FormRead:
    """What a form says."""

    records: tuple[FormRow, ...]
    problems: tuple[FormProblem, ...]


@dataclasses.dataclass(frozen=True)
class SortedRows:
    """Rows against what is held: new records, mends for the shed, already there, refused."""

    new: tuple[Mapping[str, Any], ...]
    for_shed: tuple[Mapping[str, Any], ...]
    known: int
    problems: tuple[FormProblem, ...]


def form_columns(kind: str) -> tuple[str, ...]:
    """Give the columns of a form.

    Parameters
    ----------
    kind : str
        Kind of record.

    Returns
    -------
    tuple of str
        In order.

    Raises
    ------
    ValueError
        If no form is made for that kind.
    """
    if kind not in FIELDS:
        raise ValueError(f"kind {kind!r}: there are forms for {', '.join(FIELDS)}")
    return (*_HEAD, *FIELDS[kind], *_TAIL)


def empty_form(kind: str, *, form_id: str, rows: int) -> str:
    """Write an empty form.

    Parameters
    ----------
    kind : str
        Kind of record.
    form_id : str
        Made up for this form; letters and digits.
    rows : int
        Numbered rows to fill in.

    Returns
    -------
    str
        CSV.

    Raises
    ------
    ValueError
        If no form is made for that kind.
    """
    columns = form_columns(kind)
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(columns)
    for row in range(1, rows + 1):
        writer.writerow([form_id, row, kind, *[""] * (len(columns) - 3)])
    return out.getvalue()


def read_form(data: bytes, *, zone: str) -> FormRead:
    """Read a filled form.

    Parameters
    ----------
    data : bytes
        CSV with commas, semicolons or tabs; UTF-8, with or without a mark at its head.
    zone : str
        The block's zone; a row is dated local noon of its day.

    Returns
    -------
    FormRead
        Sound rows and the others, each with its line.

    Raises
    ------
    IntakeError
        If it is no form at all.
    """
    reader, comma = _reader(data)
    rows: list[FormRow] = []
    wrong: list[FormProblem] = []
    seen: set[str] = set()
    for line, row in _rows(reader):
        try:
            one = _record(row, ZoneInfo(zone), comma=comma)
            found = problems(one)
            if found and not (len(found) == 1 and _shed_may(found[0].field, one)):
                raise _WrongError(found[0].field, found[0].value, found[0].reason)
            if name_of(one) in seen:
                raise _WrongError("row", one["seq"], "two rows of this file have this number")
        except _WrongError as fault:
            wrong.append(FormProblem(line, fault.field, str(fault.value), fault.reason))
            continue
        seen.add(name_of(one))
        rows.append(FormRow(line, one, for_shed=bool(found)))
    return FormRead(tuple(rows), tuple(wrong))


class _WrongError(Exception):
    """One row is wrong in one field."""

    def __init__(self, field: str, value: object, reason: str) -> None:
        super().__init__(reason)
        self.field, self.value, self.reason = field, value, reason


def _shed_may(field: str, record: Mapping[str, Any]) -> bool:
    """Say whether a row is wrong only because it names another device's record."""
    target = record.get(field) if field in {"instead_of", "of"} else None
    shed = {**record, "device": "shed", "seq": 2**53 - 1}
    return target is not None and not problems(shed)


def _reader(data: bytes) -> tuple["csv.DictReader[str]", bool]:
    if len(data) > _LONGEST:
        raise IntakeError("it is too long for a hand-filled form")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise IntakeError("it is no UTF-8 text; save the form as CSV UTF-8") from None
    head = text.partition("\n")[0]
    separator = max(",;\t", key=head.count)
    reader = csv.DictReader(io.StringIO(text, newline=""), delimiter=separator)
    try:
        names = [name.strip() for name in reader.fieldnames or ()]
    except csv.Error as fault:
        raise IntakeError(f"it is no CSV: {fault}") from None
    missing = [name for name in _HEAD if name not in names]
    if missing:
        raise IntakeError(f"it is no form: it has no column {', '.join(missing)}; begin with "
                          "`fallow form`")
    reader.fieldnames = names
    return reader, separator == ";"


def _rows(reader: "csv.DictReader[str]") -> Iterator[tuple[int, dict[str, str]]]:
    """Give the filled rows; one with nothing but its number is passed over."""
    try:
        for row in reader:
            said = {
                key: value.strip() for key, value in row.items()
                if isinstance(key, str) and isinstance(value, str) and value.strip()
            }
            if set(said) - {"form", "row", "kind"}:
                yield reader.line_num, said
    except csv.Error as fault:
        raise IntakeError(f"line {reader.line_num}: it is no CSV: {fault}") from None


def _record(row: Mapping[str, str], zone: ZoneInfo, *, comma: bool) -> dict[str, Any]:
    for name in _HEAD:
        if name not in row:
            raise _WrongError(name, "", f"fill in {name}")
    kind = row["kind"]
    if kind not in FIELDS:
        raise _WrongError("kind", kind, f"write one of {', '.join(FIELDS)}")
    if not re.fullmatch(r"[a-z0-9]{1,16}", row["form"]):
        raise _WrongError("form", row["form"], "write the form's id: small letters and digits")
    if not re.fullmatch(r"[1-9][0-9]{0,8}", row["row"]):
        raise _WrongError("row", row["row"], "write the row's number, from 1")
    record: dict[str, Any] = {
        "device": f"form-{row['form']}", "seq": int(row["row"]), "kind": kind,
        "at": stamp(_noon(row["day"], zone)), "person": row["person"], "where": None,
    }
    for field in (*FIELDS[kind], *_TAIL):
        if field in row:
            record[field] = _value(kind, field, row[field], comma=comma)
    return record


def _noon(text: str, zone: ZoneInfo) -> datetime:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise _WrongError("day", text, "write a day such as 2026-01-21") from None
    return datetime.combine(day, time(12), zone).astimezone(UTC)


def _value(kind: str, field: str, text: str, *, comma: bool) -> Any:
    if kind == "batch" and field == "from":
        return [label.strip() for label in text.split("|") if label.strip()]
    if kind == "past_pick" and field in {"from", "to"}:
        return text
    reader = _READERS.get(field)
    if reader is not None:
        return reader(field, text)
    if field in _NUMBERS:
        return _number(field, text.replace(",", ".") if comma else text)
    return text


def _number(field: str, text: str) -> float | int:
    if not re.fullmatch(r"[-+]?[0-9]{1,12}(\.[0-9]{1,9})?", text):
        raise _WrongError(field, text, "write a number")
    value = float(text)
    return int(value) if value == int(value) else value


def _depths(field: str, text: str) -> list[float | int]:
    return [_number(field, part) for part in text.split()]


def _cells(_: str, text: str) -> list[str]:
    return text.replace(",", " ").split()


def _yes(field: str, text: str) -> bool:
    if text.lower() not in {"yes", "no"}:
        raise _WrongError(field, text, "write yes or no")
    return text.lower() == "yes"


def _covers(field: str, text: str) -> list[Any]:
    parts = text.split()
    if len(parts) != 3 or not all(part.isascii() and part.isdigit() for part in parts[1:]):
        raise _WrongError(field, text, "write phone, first and last number: p2-c3d4 3 5")
    return [parts[0], int(parts[1]), int(parts[2])]


_READERS: Mapping[str, Callable[[str, str], Any]] = {
    "depth_mm": _depths, "cells": _cells, "again": _yes, "covers": _covers,
}


def changed_rows(
    rows: Sequence[FormRow], held: Sequence[Held], *, mend: bool
) -> SortedRows:
    """Sort a form's rows by what is held already.

    Parameters
    ----------
    rows : sequence of FormRow
        Sound rows.
    held : sequence of Held
        Every record at the shed.
    mend : bool
        Whether a changed row may stand in for the one taken before.

    Returns
    -------
    SortedRows
        New records, what the shed must write down, how many were there, and the refused.
    """
    by_name = {one.name: one for one in held}
    written = [one.record for one in held if one.name.startswith("shed:")]
    new: list[Mapping[str, Any]] = []
    for_shed: list[Mapping[str, Any]] = []
    refused: list[FormProblem] = []
    known = 0
    for row in rows:
        fields = _shed_fields(row.record)
        before = by_name.get(name_of(row.record))
        if row.for_shed or before is not None:
            mending = fields if row.for_shed else {**fields, "instead_of": name_of(row.record)}
            same = before is not None and before.total == sum_of(row.record)
            if same or any(_same(mending, one) for one in written):
                known += 1
            elif row.for_shed or mend:
                for_shed.append(mending)
            else:
                refused.append(_refused(row, before))
        else:
            new.append(row.record)
    return SortedRows(tuple(new), tuple(for_shed), known, tuple(refused))


def _shed_fields(record: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in record.items() if key not in {"device", "seq"}}


def _same(fields: Mapping[str, Any], record: Mapping[str, Any]) -> bool:
    return canonical(fields) == canonical(_shed_fields(record))


def _refused(row: FormRow, before: Held | None) -> FormProblem:
    old = before.record if before is not None else {}
    field = next(
        (key for key in (*row.record, *old) if row.record.get(key) != old.get(key)), "row"
    )
    return FormProblem(
        row.line, field, str(row.record.get(field, "")),
        f"the row was taken before with {old.get(field)!r}; say --mend to let it stand in",
    )
