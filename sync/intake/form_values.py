"""What is written in one box of a form, as the value of a record's field.

Rule 1: a box is read as what its field holds, or refused with what to write.
Rule 2: no number is guessed: a comma is a decimal one only where the form parts its columns by
semicolons, and never parts two numbers.
Rule 3: limits are the record's own and are not judged here.
"""

import re
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, time
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

#: Kinds that a form is made for, with their fields in the order of the columns. A track and what
#: only a phone knows cannot be written by hand; a ruling is made on a flag as it stands.
FIELDS: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "bag": ("bags", "for", "type", "wet_kg", "pile", "cell", "covers"),
    "batch": ("batch", "stage", "bags", "from", "wet_kg", "dry_kg", "moist_pct", "pure_pct"),
    "clip": ("clip", "cut", "area_m2", "from_mm", "to_mm", "wet_g", "dry_g", "dried"),
    "mark": ("what", "name"),
    "notice": ("permit", "what", "start"),
    "outing": ("state", "role", "cell", "finished"),
    "past_pick": ("cell", "from", "to", "share_pct", "dry_kg"),
    "quadrat": ("plot", "cell", "when", "again", "side_m", "cover_pct", "depth_mm", "scrub_pct",
                "rush_pct", "water_table_mm", "ground_class", "clip"),
    "skip": ("plot", "why"),
    "void": ("of",),
    "work": ("what", "cells", "hours", "trial", "product", "hold_days"),
})
_NUMBERS = frozenset({
    "area_m2", "bags", "cover_pct", "dry_g", "dry_kg", "from_mm", "hold_days", "hours",
    "moist_pct", "pure_pct", "rush_pct", "scrub_pct", "share_pct", "side_m", "to_mm",
    "water_table_mm", "wet_g", "wet_kg",
})
_YES_NO: Mapping[str, bool] = MappingProxyType(
    {"yes": True, "true": True, "no": False, "false": False})
_NUMBER = re.compile(r"[-+]?[0-9]{1,12}(\.[0-9]{1,9})?")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
#: As a note may be; no other text of a record is nearly so long.
_LONGEST = 2000


class WrongValueError(Exception):
    """One row is wrong in one field; the message is what to do.

    Parameters
    ----------
    field : str
        The column.
    value : object
        What stands there.
    reason : str
        What to write instead.
    """

    def __init__(self, field: str, value: object, reason: str) -> None:
        super().__init__(f"{field}={value!r}: {reason}")
        self.field, self.value, self.reason = field, value, reason


def value_of(kind: str, field: str, text: str, *, comma: bool) -> Any:
    """Read one box.

    Parameters
    ----------
    kind, field : str
        Kind of record and name of the column.
    text : str
        What stands there, without spaces at its ends.
    comma : bool
        Whether a decimal comma may stand in a number.

    Returns
    -------
    str, int, float, bool or list
        Cells are parted by spaces or commas, depths [mm] by spaces. Labels are parted by `|` where
        there is one, so that they may hold spaces, else by spaces or commas. `covers` is device,
        first and last number.

    Raises
    ------
    WrongValueError
        If it is nothing that the field can hold.
    """
    if len(text) > _LONGEST:
        raise WrongValueError(field, text[:60], f"write {_LONGEST} characters at most")
    if kind == "batch" and field == "from":
        return _labels(text)
    if kind == "past_pick" and field in {"from", "to"}:
        return text
    reader = _READERS.get(field)
    if reader is not None:
        return reader(field, text)
    if field in _NUMBERS:
        return _number(field, text.replace(",", ".") if comma else text)
    return text


def noon_of(text: str, zone: ZoneInfo) -> datetime:
    """Give local noon of a day.

    Parameters
    ----------
    text : str
        As `2026-01-21`.
    zone : ZoneInfo
        The block's.

    Returns
    -------
    datetime
        UTC.

    Raises
    ------
    WrongValueError
        If it is no day, or one that has no noon in every zone.
    """
    if _DAY.fullmatch(text):
        try:
            noon = datetime.combine(date.fromisoformat(text), time(12), zone)
            return noon.astimezone(UTC)
        except (ValueError, OverflowError):
            pass
    raise WrongValueError("day", text, "write a day such as 2026-01-21")


def _number(field: str, text: str) -> float | int:
    plain = text.replace("−", "-")
    if not _NUMBER.fullmatch(plain):
        raise WrongValueError(field, text, "write a number")
    value = float(plain)
    return int(value) if value == int(value) else value


def _depths(field: str, text: str) -> list[float | int]:
    return [_number(field, part) for part in text.split()]


def _cells(_: str, text: str) -> list[str]:
    return text.replace(",", " ").split()


def _labels(text: str) -> list[str]:
    parts = text.split("|") if "|" in text else text.replace(",", " ").split()
    return [label.strip() for label in parts if label.strip()]


def _yes(field: str, text: str) -> bool:
    if text.lower() not in _YES_NO:
        raise WrongValueError(field, text, "write yes or no")
    return _YES_NO[text.lower()]


def _covers(field: str, text: str) -> list[Any]:
    parts = text.split()
    if len(parts) != 3 or not all(re.fullmatch("[0-9]{1,16}", part) for part in parts[1:]):
        raise WrongValueError(field, text, "write phone, first and last number: p2-c3d4 3 5")
    return [parts[0], int(parts[1]), int(parts[2])]


_READERS: Mapping[str, Callable[[str, str], Any]] = MappingProxyType({
    "depth_mm": _depths, "cells": _cells, "finished": _cells, "again": _yes, "covers": _covers,
})
