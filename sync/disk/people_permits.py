"""people.toml and permits.toml: who works here, what the authority allows, when it works."""

import math
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

from fieldapp.record import DEVICE, PERSON
from sync.block import Permit, Person, season_of
from sync.disk.tables import Table, read_toml, tables_in

PERMITS_FILE = "permits.toml"
PEOPLE_FILE = "people.toml"
_ROLES = ("owner", "foreman", "surveyor", "picker", "pilot")
_CAP_UNITS = ("kg_dry", "kg_wet", "bags", "m3")


def people_in(folder: Path, mistakes: list[str]) -> tuple[Person, ...]:
    """Read people.toml; none without it."""
    path = folder / PEOPLE_FILE
    if not path.is_file():
        return ()
    people: list[Person] = []
    letters: set[str] = set()
    for code, value in read_toml(path).items():
        if not isinstance(value, Mapping):
            mistakes.append(f"{PEOPLE_FILE} [{code}]: write a table")
            continue
        table = Table(value, f"{PEOPLE_FILE} [{code}]", mistakes)
        table.only("name", "call", "role", "from", "until", "also", "counts_dots")
        if not PERSON.fullmatch(code):
            mistakes.append(f"{PEOPLE_FILE} [{code}]: a person code is a capital letter and up to "
                            "seven capitals or digits")
        name = table.text("name", code)
        people.append(Person(
            code, name, table.text("call", code), table.text("role", "picker", one_of=_ROLES),
            *table.span(), _also(table, letters), table.truth("counts_dots", False),
        ))
    return tuple(people)


def _also(table: Table, letters: set[str]) -> tuple[str, ...]:
    """Read the letters a person went by on phones without a sheet; each is one person's."""
    also = table.texts("also")
    for one in also:
        device, _, letter = one.partition(":")
        if not DEVICE.fullmatch(device) or not PERSON.fullmatch(letter):
            table.mistakes.append(f"{table.title} also = {one!r}: write it as x-k7f2:A")
        elif one in letters:
            table.mistakes.append(f"{table.title} also = {one!r}: it is somebody else's already")
        letters.add(one)
    return also


def permits_in(folder: Path, mistakes: list[str]) -> tuple[Permit, ...]:
    """Read permits.toml; without it none is needed."""
    path = folder / PERMITS_FILE
    if not path.is_file():
        return ()
    permits: list[Permit] = []
    values = read_toml(path)
    Table(values, PERMITS_FILE, mistakes).only("permit", "format")
    for table in tables_in(values, "permit", PERMITS_FILE, mistakes):
        table.only("permit", "parcels", "from", "until", "year_start", "cap", "cap_unit",
                   "keep_pct", "living_layer_mm", "max_share_pct", "max_kg_ha", "notice_days")
        since, until = table.span()
        year_start = table.month_day("year_start", "01-01")
        cap = table.optional_number("cap", low=0)
        permits.append(Permit(
            name=table.text("permit"),
            parcels=table.texts("parcels"),
            since=since,
            until=until,
            year_start=year_start,
            cap=cap,
            cap_unit=table.text("cap_unit", one_of=_CAP_UNITS) if cap is not None else None,
            keep_pct=table.optional_number("keep_pct", low=0, high=100),
            living_layer_mm=table.optional_number("living_layer_mm", low=0, high=800),
            max_share_pct=table.optional_number("max_share_pct", low=0, high=100),
            max_kg_ha=table.optional_number("max_kg_ha", low=0),
            notice_days=None if "notice_days" not in table.values
            else table.whole("notice_days", low=0, high=1000),
        ))
        _own_name(permits, table)
    return tuple(permits)


def _own_name(permits: Sequence[Permit], table: Table) -> None:
    """Refuse a name that one before has in the same year: a return is filed by name and year."""
    last = permits[-1]
    first, end = _years_of(last)
    for number, one in enumerate(permits[:-1], 1):
        since, until = _years_of(one)
        if one.name and one.name == last.name and max(first, since) <= min(end, until):
            year = max(first, since)
            when = "" if year == -math.inf else f" in its year {year:.0f}"
            table.mistakes.append(
                f"{table.title} permit = {last.name!r}: number {number} has that name too{when}, "
                "and a return is filed by name and year; write another name, or let one end "
                "before the other's year begins")
            return


def _years_of(permit: Permit) -> tuple[float, float]:
    """Give the first and last permit year with a day on which a permit holds; without end ±∞."""
    first = -math.inf if permit.since is None else season_of(permit.since, permit.year_start)
    last = math.inf if permit.until is None else season_of(permit.until, permit.year_start)
    return first, last


def holidays_in(top: Table) -> tuple[tuple[date, date], ...]:
    """Read `holidays` of block.toml: days, and spans such as "2025-12-20/2026-01-10".

    Parameters
    ----------
    top : Table
        All of block.toml.

    Returns
    -------
    tuple of (date, date)
        First and last day of each, in their order; none where the owner lists none.
    """
    value = top.values.get("holidays", [])
    if not isinstance(value, list):
        value = [value]
    found = []
    for one in value:
        span = _span_of(one)
        if span is None:
            top.mistakes.append(
                f"{top.title} holidays = {one!r}: write days such as 2025-10-27 and spans such as "
                '"2025-12-20/2026-01-10" in a list')
        else:
            found.append(span)
    return tuple(sorted(set(found)))


def _span_of(value: Any) -> tuple[date, date] | None:
    """Read a day, or a span from a first to a last day (ISO 8601); None if it is neither."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return value, value
    if not isinstance(value, str):
        return None
    first, slash, last = value.partition("/")
    try:
        span = date.fromisoformat(first), date.fromisoformat(last if slash else first)
    except ValueError:
        return None
    return span if span[0] <= span[1] else None
