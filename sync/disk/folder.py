"""The block folder: what the owner backs up, read into a `Block`.

Rule 1: only this package knows the file names.
Rule 2: all mistakes of all files are reported together.
"""

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from fieldapp.record import CELL, PERSON
from sync.block import BagType, Block, Feature, Grid, Permit, Person, Plot, Rule
from sync.disk.tables import Table, read_toml
from sync.errors import DiskError, SettingsError
from sync.settings import Tunables, tunables_from

BLOCK_FILE = "block.toml"
OUTLINE_FILE = "outline.geojson"
CLASSES_FILE = "classes.geojson"
CLOSURES_FILE = "closures.geojson"
PERMITS_FILE = "permits.toml"
PEOPLE_FILE = "people.toml"
PLOTS_FILE = "plots.json"
_ROLES = ("owner", "foreman", "surveyor", "picker", "pilot")
_CAP_UNITS = ("kg_dry", "kg_wet", "bags", "m3")


def load_block(folder: Path) -> tuple[Block, Tunables]:
    """Read the block folder.

    Parameters
    ----------
    folder : Path
        The block folder.

    Returns
    -------
    Block
        What the owner wrote down.
    Tunables
        The numbers behind the formulas, with the owner's overrides.

    Raises
    ------
    DiskError
        If it is no block folder, or a file cannot be read.
    SettingsError
        If anything in the files is wrong; all of it at once.
    """
    if not (folder / BLOCK_FILE).is_file():
        raise DiskError(f"{folder}: no {BLOCK_FILE} here; make a block with `fallow new`")
    mistakes: list[str] = []
    values = read_toml(folder / BLOCK_FILE)
    block = _read_block(values, folder, mistakes)
    tunables = _tunables(values, mistakes)
    if mistakes:
        raise SettingsError(mistakes)
    return block, tunables


def _tunables(values: Mapping[str, Any], mistakes: list[str]) -> Tunables:
    overrides = values.get("settings", {})
    if not isinstance(overrides, Mapping):
        mistakes.append(f"{BLOCK_FILE} [settings]: write a table")
        return Tunables()
    try:
        return tunables_from(overrides)
    except SettingsError as wrong:
        mistakes.extend(wrong.mistakes)
        return Tunables()


def _read_block(values: Mapping[str, Any], folder: Path, mistakes: list[str]) -> Block:
    top = Table(values, BLOCK_FILE, mistakes)
    if values.get("format", 1) != 1:
        mistakes.append(f"{BLOCK_FILE} format = {values['format']!r}: this program reads format 1")
    return Block(
        block_id=top.text("id"),
        name=top.text("name"),
        zone=_zone(top),
        epsg=top.whole("epsg", low=1, high=999_999),
        grid=_grid(_table(values, "grid", mistakes)),
        season_start=top.month_day("season_start", "07-01"),
        rules=_rules(_tables(values, "rules", BLOCK_FILE, mistakes), mistakes),
        bags=_bags(_tables(values, "bags", BLOCK_FILE, mistakes), mistakes),
        people=_people(folder, mistakes),
        permits=_permits(folder, mistakes),
        plots=_plots(folder, mistakes),
        outline=_features(folder / OUTLINE_FILE, mistakes, required=True),
        classes=_features(folder / CLASSES_FILE, mistakes),
        closures=_features(folder / CLOSURES_FILE, mistakes),
        gate=_gate(top),
        declination_deg=top.number("declination_deg", 0.0, low=-180, high=180),
        check_in_min=top.whole("check_in_min", 60, low=0, high=1440),
        frame_m=top.number("frame_m", 0.5, low=0.1, high=2.0),
        probes=top.whole("probes", 3, low=1, high=20),
        lang=top.text("lang", "en", one_of=("en", "es")),
    )


def _table(values: Mapping[str, Any], key: str, mistakes: list[str]) -> Table:
    value = values.get(key, {})
    if not isinstance(value, Mapping):
        mistakes.append(f"{BLOCK_FILE} [{key}]: write a table")
        value = {}
    return Table(value, f"{BLOCK_FILE} [{key}]", mistakes)


def _tables(
    values: Mapping[str, Any], key: str, file: str, mistakes: list[str]
) -> list[Table]:
    value = values.get(key, [])
    if not isinstance(value, list) or not all(isinstance(v, Mapping) for v in value):
        mistakes.append(f"{file} [[{key}]]: write one table for each")
        value = []
    return [Table(v, f"{file} [[{key}]] number {i}", mistakes) for i, v in enumerate(value, 1)]


def _zone(top: Table) -> str:
    name = top.text("zone")
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        top.mistakes.append(f"{BLOCK_FILE} zone = {name!r}: write a zone such as Pacific/Auckland")
        return "UTC"
    return name


def _grid(table: Table) -> Grid:
    return Grid(
        table.number("origin_e"),
        table.number("origin_n"),
        table.number("cell_m", low=25, high=1000),
    )


def _gate(top: Table) -> tuple[float, float] | None:
    if "gate" not in top.values:
        return None

    def read(value: Any) -> tuple[float, float]:
        lat, lon = (float(part) for part in value)
        if not (-90 <= lat <= 90 and -180 <= lon <= 180):
            raise ValueError
        return lat, lon

    gate: tuple[float, float] | None = top.read_with("gate", read, "write [latitude, longitude]")
    return gate


def _rules(tables: Sequence[Table], mistakes: list[str]) -> tuple[Rule, ...]:
    """Read the rules; a later one writes again only what changes."""
    if not tables:
        mistakes.append(f"{BLOCK_FILE} [[rules]] is missing: write rest_months, recovery_years, "
                        "living_layer_mm and keep_pct")
    rules: list[Rule] = []
    carried: dict[str, Any] = {}
    for table in tables:
        carried = {**carried, **table.values}
        whole = Table(carried, table.title, mistakes)
        since = table.day("from") if rules else None
        if rules and since is None:
            mistakes.append(f"{table.title} from is missing: a later rule holds from a day on")
        rules.append(Rule(
            since=since,
            rest_months=whole.whole("rest_months", low=1, high=1200),
            recovery_years=whole.number("recovery_years", low=0, high=500, above=True),
            living_layer_mm=whole.number("living_layer_mm", low=0, high=800),
            keep_pct=whole.number("keep_pct", low=0, high=100),
        ))
    days = [rule.since for rule in rules[1:] if rule.since is not None]
    if days != sorted(days):
        mistakes.append(f"{BLOCK_FILE} [[rules]] from: write the rules in the order of their days")
    return tuple(rules)


def _bags(tables: Sequence[Table], mistakes: list[str]) -> tuple[BagType, ...]:
    if not tables:
        mistakes.append(f"{BLOCK_FILE} [[bags]] is missing: write type and dry_kg of the usual")
    bags = [
        BagType(
            table.text("type"),
            table.optional_number("litres", low=1, high=2000),
            table.number("dry_kg", low=0, high=400, above=True),
            table.day("from"),
        )
        for table in tables
    ]
    return tuple(sorted(bags, key=lambda bag: (bag.since is not None, bag.since or date.min)))


def _people(folder: Path, mistakes: list[str]) -> tuple[Person, ...]:
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


def _permits(folder: Path, mistakes: list[str]) -> tuple[Permit, ...]:
    path = folder / PERMITS_FILE
    if not path.is_file():
        return ()
    permits = []
    for table in _tables(read_toml(path), "permit", PERMITS_FILE, mistakes):
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


def read_json(path: Path) -> Any:
    """Read a JSON file of the folder.

    Raises
    ------
    SettingsError
        If it is no JSON.
    DiskError
        If it cannot be read.
    """
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except ValueError as wrong:
        raise SettingsError([f"{path.name}: not readable as JSON: {wrong}"]) from wrong
    except OSError as wrong:
        raise DiskError(f"{path}: {wrong.strerror}") from wrong


def _features(path: Path, mistakes: list[str], *, required: bool = False) -> tuple[Feature, ...]:
    if not path.is_file():
        if required:
            mistakes.append(f"{path.name} is missing: the block needs an outline")
        return ()
    value = read_json(path)
    features = value.get("features") if isinstance(value, Mapping) else None
    if not isinstance(features, list):
        mistakes.append(f"{path.name}: write a GeoJSON FeatureCollection")
        return ()
    return tuple(
        read for i, one in enumerate(features, 1)
        if (read := _feature(one, f"{path.name} feature {i}", mistakes)) is not None
    )


def _feature(value: Any, title: str, mistakes: list[str]) -> Feature | None:
    geometry = value.get("geometry") if isinstance(value, Mapping) else None
    if not isinstance(geometry, Mapping) or geometry.get("type") not in {
        "Polygon", "MultiPolygon"
    }:
        mistakes.append(f"{title}: its geometry must be a Polygon or MultiPolygon")
        return None
    properties = value.get("properties") or {}
    table = Table({k: v for k, v in properties.items() if v is not None}, title, mistakes)
    return Feature(geometry, properties, table.day("from"), table.day("until"))


def _plots(folder: Path, mistakes: list[str]) -> tuple[Plot, ...]:
    path = folder / PLOTS_FILE
    if not path.is_file():
        return ()
    value = read_json(path)
    try:
        plots = tuple(
            Plot(
                str(p["plot"]), _cell(p["cell"]), float(p["lat"]), float(p["lon"]),
                draw["how"] == "drawn", str(draw["when"]), bool(p["spare"]), bool(p["again"]),
                bool(p.get("pegged", False)),
            )
            for draw in value["draws"] for p in draw["plots"]
        )
    except (KeyError, TypeError, ValueError) as wrong:
        mistakes.append(f"{PLOTS_FILE}: {type(wrong).__name__} {wrong}; each plot needs plot,"
                        " cell, lat, lon, spare, again")
        return ()
    times = Counter(p.name for p in plots)
    mistakes.extend(
        f"{PLOTS_FILE} plot {name!r}: ids are never reused" for name, n in times.items() if n > 1
    )
    return plots


def _cell(value: object) -> str:
    if not isinstance(value, str) or not CELL.fullmatch(value):
        raise ValueError(f"cell {value!r}")
    return value
