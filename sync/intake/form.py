"""Hand-filled forms: CSV in, records out, row by row.

Rule 1: a row is a record of `form-` and the form's id, its number the row's.
Rule 2: a row that names another device's record is written down by the shed, since only the shed
may name others.
Rule 3: nothing that was written in a form is passed over in silence but an empty row.
"""

import csv
import dataclasses
import io
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from fieldapp.record import LAST_SEQ, NAME, SHED, name_of, problems, split_name, stamp
from sync.errors import IntakeError
from sync.intake.form_rows import FormProblem, FormRow, SortedRows, changed_rows
from sync.intake.form_values import FIELDS, WrongValueError, noon_of, value_of

__all__ = ["FIELDS", "FormProblem", "FormRead", "FormRow", "SortedRows", "changed_rows",
           "empty_form", "form_columns", "read_form"]

_HEAD = ("form", "row", "kind", "day", "person")
_TAIL = ("instead_of", "note")
#: What `empty_form` fills in itself.
_GIVEN = frozenset({"form", "row", "kind"})
_FORM_ID = re.compile(r"[a-z0-9]{1,16}")
_ROW = re.compile(r"[1-9][0-9]{0,8}")
_LONGEST = 5_000_000
_HARMLESS = re.compile(r"'[=+\-@]")


@dataclasses.dataclass(frozen=True)
class FormRead:
    """What a form says: its sound rows, and the others."""

    records: tuple[FormRow, ...]
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


def empty_form(kind: str, *, form_id: str, rows: int = 20) -> str:
    """Write an empty form.

    Parameters
    ----------
    kind : str
        Kind of record.
    form_id : str
        Made up for this form; 1 to 16 small letters and digits.
    rows : int
        Numbered rows to fill in.

    Returns
    -------
    str
        CSV.

    Raises
    ------
    ValueError
        If no form is made for that kind, or the id cannot be a form's.
    """
    columns = form_columns(kind)
    if not _FORM_ID.fullmatch(form_id):
        raise ValueError(f"form_id={form_id!r}: 1 to 16 small letters and digits")
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(columns)
    for row in range(1, rows + 1):
        writer.writerow([form_id, row, kind, *[""] * (len(columns) - len(_GIVEN))])
    return out.getvalue()


def read_form(data: str | bytes, *, zone: str) -> FormRead:
    """Read a filled form.

    Parameters
    ----------
    data : str or bytes
        CSV with commas, semicolons or tabs; UTF-8, with or without a mark at its head. A decimal
        comma may stand where semicolons part the columns.
    zone : str
        The block's zone; a row is dated local noon of its day.

    Returns
    -------
    FormRead
        Sound rows and the others, each with its line. Rows with nothing but what the empty form
        had are passed over; of rows with one number and two contents none is taken.

    Raises
    ------
    IntakeError
        If it is no form at all.
    """
    reader, names, comma = _reader(data)
    read: list[FormRow] = []
    wrong: list[FormProblem] = []
    for line, said in _rows(reader, names):
        try:
            read.append(_row(line, said, ZoneInfo(zone), comma=comma))
        except WrongValueError as fault:
            wrong.append(FormProblem(line, fault.field, str(fault.value), fault.reason))
    rows, twice = _one_of_each(read)
    return FormRead(rows, tuple(sorted((*wrong, *twice), key=lambda problem: problem.line)))


def _reader(data: str | bytes) -> tuple[Any, list[str], bool]:
    """Give the reader past its head, the names of the columns, and whether a comma is decimal."""
    if len(data) > _LONGEST:
        raise IntakeError("it is too long for a hand-filled form")
    try:
        text = (data.encode() if isinstance(data, str) else data).decode("utf-8-sig")
    except UnicodeError:
        raise IntakeError("it is no UTF-8 text; save the form as CSV UTF-8") from None
    head = re.split("[\r\n]", text, maxsplit=1)[0]
    separator = max(",;\t", key=head.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    try:
        names = [name.strip().lower() for name in next(reader, [])]
    except csv.Error as fault:
        raise IntakeError(f"it is no CSV: {fault}") from None
    missing = [name for name in _HEAD if name not in names]
    if missing:
        raise IntakeError(f"it is no form: it has no column {', '.join(missing)}; begin with "
                          "`fallow form`")
    doubled = sorted({name for name in names if name and names.count(name) > 1})
    if doubled:
        raise IntakeError(f"it has two columns {', '.join(doubled)}; leave one of them")
    return reader, names, separator == ";"


def _rows(reader: Any, names: Sequence[str]) -> Iterator[tuple[int, dict[str, str]]]:
    """Give the filled rows with their first line; what stands in no named column is of ''."""
    line = reader.line_num + 1
    try:
        for boxes in reader:
            said: dict[str, str] = {}
            for place, box in enumerate(boxes):
                if text := _as_meant(box):
                    said[names[place] if place < len(names) else ""] = text
            if said.keys() - _GIVEN:
                yield line, said
            line = reader.line_num + 1
    except csv.Error as fault:
        raise IntakeError(f"line {reader.line_num}: it is no CSV: {fault}") from None


def _as_meant(box: str) -> str:
    """Take off the apostrophe that the program's own tables set before a = + - or @."""
    text = box.strip()
    return text[1:] if _HARMLESS.match(text) else text


def _row(line: int, said: Mapping[str, str], zone: ZoneInfo, *, comma: bool) -> FormRow:
    record = _record(said, zone, comma=comma)
    for_shed = any(_names_another(record, field) for field in ("of", "instead_of"))
    judged = {**record, "device": SHED, "seq": LAST_SEQ} if for_shed else record
    for fault in problems(judged):
        raise WrongValueError(fault.field, said.get(fault.field, ""), fault.reason)
    return FormRow(line, record, for_shed)


def _record(said: Mapping[str, str], zone: ZoneInfo, *, comma: bool) -> dict[str, Any]:
    for name in _HEAD:
        if name not in said:
            raise WrongValueError(name, "", f"fill in {name}")
    kind = said["kind"]
    if kind not in FIELDS:
        raise WrongValueError("kind", kind, f"write one of {', '.join(FIELDS)}")
    if not _FORM_ID.fullmatch(said["form"]):
        raise WrongValueError("form", said["form"],
                              "write the form's id: small letters and digits")
    if not _ROW.fullmatch(said["row"]):
        raise WrongValueError("row", said["row"], "write the row's number, from 1")
    columns = form_columns(kind)
    for name, text in said.items():
        if name not in columns:
            where = f"column {name}" if name else "a column without a name"
            raise WrongValueError(name, text, f"stands in {where}, which a {kind} does not have")
    record: dict[str, Any] = {
        "device": f"form-{said['form']}", "seq": int(said["row"]), "kind": kind,
        "at": stamp(noon_of(said["day"], zone)), "person": said["person"], "where": None,
    }
    if kind == "quadrat":
        record["depth_mm"] = []  # no probe stood in moss
    for field in (*FIELDS[kind], *_TAIL):
        if field in said:
            record[field] = value_of(kind, field, said[field], comma=comma)
    return record


def _names_another(record: Mapping[str, Any], field: str) -> bool:
    target = record.get(field)
    named = isinstance(target, str) and NAME.match(target) is not None
    return named and split_name(str(target))[0] != record["device"]


def _one_of_each(
    read: Sequence[FormRow],
) -> tuple[tuple[FormRow, ...], tuple[FormProblem, ...]]:
    """Take rows that stand there twice alike once, and none of those that differ."""
    by_name: dict[str, list[FormRow]] = defaultdict(list)
    for row in read:
        by_name[name_of(row.record)].append(row)
    rows: list[FormRow] = []
    twice: list[FormProblem] = []
    for same in by_name.values():
        if all(row.record == same[0].record for row in same):
            rows.append(same[0])
        else:
            twice += [FormProblem(row.line, "row", str(row.record["seq"]),
                                  "two rows of this file have this number") for row in same]
    return tuple(rows), tuple(twice)
