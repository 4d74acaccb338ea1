"""people.toml and permits.toml: who works here, and what the authority allows."""

from collections.abc import Mapping
from pathlib import Path

from fieldapp.record import PERSON
from sync.block import Permit, Person
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
    for code, value in read_toml(path).items():
        table = Table(value if isinstance(value, Mapping) else {}, f"{PEOPLE_FILE} [{code}]",
                      mistakes)
        if not PERSON.fullmatch(code):
            mistakes.append(f"{PEOPLE_FILE} [{code}]: a person code is a capital letter and up to "
                            "seven capitals or digits")
        name = table.text("name", code)
        people.append(Person(
            code, name, table.text("call", code), table.text("role", "picker", one_of=_ROLES),
            table.day("from"), table.day("until"), table.texts("also"),
        ))
    return tuple(people)


def permits_in(folder: Path, mistakes: list[str]) -> tuple[Permit, ...]:
    """Read permits.toml; without it none is needed."""
    path = folder / PERMITS_FILE
    if not path.is_file():
        return ()
    permits = []
    for table in tables_in(read_toml(path), "permit", PERMITS_FILE, mistakes):
        cap = table.optional_number("cap", low=0)
        permits.append(Permit(
            name=table.text("permit"),
            parcels=table.texts("parcels"),
            since=table.day("from"),
            until=table.day("until"),
            year_start=table.month_day("year_start", "01-01"),
            cap=cap,
            cap_unit=table.text("cap_unit", one_of=_CAP_UNITS) if cap is not None else None,
            keep_pct=table.optional_number("keep_pct", low=0, high=100),
            living_layer_mm=table.optional_number("living_layer_mm", low=0, high=800),
            max_share_pct=table.optional_number("max_share_pct", low=0, high=100),
            max_kg_ha=table.optional_number("max_kg_ha", low=0),
            notice_days=None if "notice_days" not in table.values
            else table.whole("notice_days", low=0, high=1000),
        ))
    return tuple(permits)
