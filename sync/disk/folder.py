"""The block folder: what the owner backs up, read into a `Block`.

Rule 1: only this package knows the file names.
Rule 2: all mistakes of all files are reported together.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from sync.block import BagType, Block, Grid, Rule
from sync.disk.costs import costs_in, hook_limit_in
from sync.disk.maps import CLASSES_FILE, CLOSURES_FILE, OUTLINE_FILE, features_in, plots_in
from sync.disk.people_permits import holidays_in, people_in, permits_in
from sync.disk.tables import Table, read_toml, tables_in
from sync.disk.trials import trials_in
from sync.errors import DiskError, SettingsError
from sync.settings import Tunables, tunables_from

BLOCK_FILE = "block.toml"


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
        rules=_rules(tables_in(values, "rules", BLOCK_FILE, mistakes), mistakes),
        bags=_bags(tables_in(values, "bags", BLOCK_FILE, mistakes), mistakes),
        people=people_in(folder, mistakes),
        permits=permits_in(folder, mistakes),
        plots=plots_in(folder, mistakes),
        outline=features_in(folder / OUTLINE_FILE, mistakes, required=True),
        classes=features_in(folder / CLASSES_FILE, mistakes),
        closures=features_in(folder / CLOSURES_FILE, mistakes),
        gate=_gate(top),
        declination_deg=top.number("declination_deg", 0.0, low=-180, high=180),
        check_in_min=top.whole("check_in_min", 60, low=0, high=1440),
        frame_m=top.number("frame_m", 0.5, low=0.1, high=2.0),
        probes=top.whole("probes", 3, low=1, high=20),
        lang=top.text("lang", "en", one_of=("en", "es")),
        trials=trials_in(folder, mistakes),
        costs=costs_in(_table(values, "costs", mistakes)),
        hook_limit_kg=hook_limit_in(_table(values, "lifts", mistakes)),
        holidays=holidays_in(top),
    )


def _table(values: Mapping[str, Any], key: str, mistakes: list[str]) -> Table:
    value = values.get(key, {})
    if not isinstance(value, Mapping):
        mistakes.append(f"{BLOCK_FILE} [{key}]: write a table")
        value = {}
    return Table(value, f"{BLOCK_FILE} [{key}]", mistakes)


def _zone(top: Table) -> str:
    name = top.text("zone")
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        top.mistakes.append(f"{BLOCK_FILE} zone = {name!r}: write a zone such as Pacific/Auckland")
        return "UTC"
    return name


def _grid(table: Table) -> Grid:
    table.only("origin_e", "origin_n", "cell_m")
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
        table.only("from", "rest_months", "recovery_years", "living_layer_mm", "keep_pct")
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
    for table in tables:
        table.only("type", "litres", "dry_kg", "from")
    bags = [
        BagType(
            table.text("type"),
            table.optional_number("litres", low=1, high=2000),
            table.number("dry_kg", low=0, high=400, above=True),
            table.day("from"),
        )
        for table in tables
    ]
    return tuple(sorted(bags, key=lambda bag: (bag.name != bags[0].name, bag.since or date.min)))


