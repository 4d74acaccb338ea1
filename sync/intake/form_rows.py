"""A form's rows against what is held: new, already there, to be mended, or refused.

Rule 1: a row taken before is never taken over; changed, it is refused or mended by the shed.
Rule 2: a mend moves no day and no person, and stays within its kind; what would need that is
refused with what to do.
Rule 3: taking a form again, late or in another version that was taken once, changes nothing.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any

from fieldapp.record import SHED, canonical, name_of, split_name, sum_of
from sync.intake.check import Held

#: What a replacement takes from the first one, or must share with it.
_STAYS = ("kind", "at", "person", "instead_of")


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
class SortedRows:
    """Rows against what is held.

    Attributes
    ----------
    new : tuple of mapping
        Records under the form's own names.
    for_shed : tuple of mapping
        What the shed must write down, without device and number.
    known : int
        Rows that were there already.
    problems : tuple of FormProblem
        Rows refused.
    """

    new: tuple[Mapping[str, Any], ...]
    for_shed: tuple[Mapping[str, Any], ...]
    known: int
    problems: tuple[FormProblem, ...]


class _RefusedError(Exception):
    """A row cannot be taken as things stand."""

    def __init__(self, field: str, reason: str) -> None:
        super().__init__(reason)
        self.field, self.reason = field, reason


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
    by_name: dict[str, list[Held]] = defaultdict(list)
    for one in held:
        by_name[one.name].append(one)
    written = {_content(one.record) for one in held if split_name(one.name)[0] == SHED}
    new: list[Mapping[str, Any]] = []
    for_shed: list[Mapping[str, Any]] = []
    refused: list[FormProblem] = []
    known = 0
    for row in rows:
        name = name_of(row.record)
        before = by_name.get(name, [])
        by_shed = {**_shed_fields(row.record), **({"instead_of": name} if before else {})}
        same = any(one.total == sum_of(row.record) for one in before)
        if same or ((before or row.for_shed) and _content(by_shed) in written):
            known += 1
            continue
        try:
            _check_names(row.record, by_name)
            if before:
                _check_change(row.record, before[0].record, mend=mend)
            if before or row.for_shed:
                for_shed.append(by_shed)
                written.add(_content(by_shed))
            else:
                new.append(row.record)
        except _RefusedError as fault:
            value = str(row.record.get(fault.field, ""))
            refused.append(FormProblem(row.line, fault.field, value, fault.reason))
    return SortedRows(tuple(new), tuple(for_shed), known, tuple(refused))


def _check_names(record: Mapping[str, Any], by_name: Mapping[str, Sequence[Held]]) -> None:
    """Refuse a row that names a record of the shed that is not there, or one of another kind."""
    for field in ("of", "instead_of"):
        target = record.get(field)
        if target is None:
            continue
        there = by_name.get(target, [])
        if not there and split_name(target)[0] == SHED:
            raise _RefusedError(field, "the shed has no such record")
        kinds = sorted({str(one.record.get("kind")) for one in there})
        if field == "instead_of" and kinds and record["kind"] not in kinds:
            raise _RefusedError(field, f"it is a {kinds[0]}, and a {record['kind']} cannot stand "
                                       "in for it; void it by a form of kind void")


def _check_change(
    record: Mapping[str, Any], before: Mapping[str, Any], *, mend: bool
) -> None:
    """Refuse a changed row that may not be mended, or cannot be."""
    for field in _STAYS:
        if record.get(field) != before.get(field):
            shown = {"at": "day"}.get(field, field)
            raise _RefusedError(
                shown, f"the row was taken before with {before.get(field)!r}, and no mend moves "
                       f"the {shown}; void {name_of(record)} and write the row under a new number")
    if not mend:
        field = next((key for key in (*record, *before) if record.get(key) != before.get(key)),
                     "row")
        raise _RefusedError(field, f"the row was taken before with {before.get(field)!r}; say "
                                   "--mend to let it stand in")


def _shed_fields(record: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in record.items() if key not in {"device", "seq"}}


def _content(record: Mapping[str, Any]) -> bytes:
    return canonical(_shed_fields(record))
