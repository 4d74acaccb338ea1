"""Making a block folder, once: what the owner says, and what is made up for it.

Rule 1: rest, recovery, living layer and share kept are the owner's to say; nothing is assumed.
Rule 2: a folder that holds a block already is never written over.
"""

import dataclasses
import json
import tomllib
from datetime import date
from pathlib import Path

from fieldapp.device.files import write_safely
from sync.block import Feature
from sync.disk.folder import BLOCK_FILE, load_block
from sync.disk.journal import ShedJournal
from sync.disk.maps import CLASSES_FILE, CLOSURES_FILE, OUTLINE_FILE, PLOTS_FILE
from sync.disk.people_permits import PEOPLE_FILE, PERMITS_FILE
from sync.disk.trials import TRIALS_FILE
from sync.errors import DiskError, SettingsError
from sync.geometry.crs import projection, utm_epsg
from sync.geometry.grid import origin_for, refuse_small_cells
from sync.geometry.ground import ground_on
from sync.geometry.shapes import bounds_of, shape_of, union_of

#: Cells of margin to the west and south, so that a strip bought later still fits the grid.
_MARGIN_CELLS = 5
_ANY_DAY = date(2000, 1, 1)
_OWNERS_FILES = (
    BLOCK_FILE, OUTLINE_FILE, CLASSES_FILE, CLOSURES_FILE, PERMITS_FILE, PEOPLE_FILE, PLOTS_FILE,
    TRIALS_FILE,
)


#: How the owner may write down rates, in a new block.toml.
_COSTS = """
# Your own rates, any of them, and what the hook may carry; they move no figure of the register.
# [costs]
# currency = "NZD"
# lift_each = 95              # a sling load; or lift_minute and lift_minutes
# lift_call_out = 600
# machine_trip_each = 140
# machine_bags = 20           # on one trip
# machine_call_out = 250
# sell_per_kg = 14
# picking_per_kg = 5
# work_per_hour = 45          # scrub cutting, drain blocking, rolling
# [lifts]
# hook_limit_kg = 620
"""


@dataclasses.dataclass(frozen=True)
class NewBlock:
    """What the owner says of a new block; None leaves it to a default that is told.

    Attributes
    ----------
    origin : tuple of float or None
        Easting and northing of the grid's south-west corner. [m]
    season_start : str
        `MM-DD`.
    bag_kg : float
        The owner's shed-dry kg in a usual bag. [kg]
    costs_toml : str
        The tables `[costs]` and `[lifts]` of block.toml; by default how to write them.
    """

    name: str
    block_id: str
    outline: tuple[Feature, ...]
    zone: str
    rest_months: int | None
    recovery_years: float | None
    living_layer_mm: float | None
    keep_pct: float | None
    epsg: int | None = None
    origin: tuple[float, float] | None = None
    cell_m: float = 100.0
    season_start: str = "07-01"
    bag_type: str = "sack"
    bag_kg: float = 7.0
    bag_litres: float | None = None
    gate: tuple[float, float] | None = None
    declination_deg: float = 0.0
    classes: tuple[Feature, ...] = ()
    closures: tuple[Feature, ...] = ()
    permits_toml: str | None = None
    people_toml: str | None = None
    costs_toml: str = _COSTS


_MUST_SAY = {
    "rest_months": (
        "--rest-months is missing: how long a picked piece rests is yours or the permit's to say; "
        "published rests run from 36 to over 1,000 months, so none can be assumed"
    ),
    "recovery_years": (
        "--recovery-years is missing: how many years a normal pick takes to come back is local "
        "knowledge; published figures run from 3 to 85, so none can be assumed"
    ),
    "living_layer_mm": (
        "--living-layer-mm is missing: the strand that must stay is the permit's or yours to say; "
        "50 mm is a published kind"
    ),
    "keep_pct": (
        "--keep-pct is missing: the share of the pickable crop that stays is the permit's or "
        "yours to say; 30 to 40 % are published kinds"
    ),
}


def refuse_unsaid(new: NewBlock) -> None:
    """Refuse a block whose rules were not said.

    Raises
    ------
    SettingsError
        Naming each rule left out, and why it has no default.
    """
    unsaid = [why for name, why in _MUST_SAY.items() if getattr(new, name) is None]
    if unsaid:
        raise SettingsError(unsaid)


def create_block(folder: Path, new: NewBlock) -> tuple[str, ...]:
    """Make a block folder.

    Parameters
    ----------
    folder : Path
        Made if it is not there.
    new : NewBlock
        What the owner said.

    Returns
    -------
    tuple of str
        The defaults that were used, one line each.

    Raises
    ------
    SettingsError
        If rules are left out or anything said is wrong; then no block is made.
    DiskError
        If the folder holds a block already or cannot be written.
    GeometryError
        If the outline or the coordinate system cannot serve as ground.
    """
    refuse_unsaid(new)
    there = [name for name in _OWNERS_FILES if (folder / name).exists()]
    if there:
        raise DiskError(f"{folder}: holds a block's {there[0]} already; choose another folder")
    lat, lon = _middle(new.outline)
    epsg = new.epsg if new.epsg is not None else utm_epsg(lat, lon)
    ground = projection(epsg)
    refuse_small_cells(new.cell_m)
    bounds = bounds_of(union_of([shape_of(ground, one.geometry) for one in new.outline]))
    origin = new.origin or origin_for(bounds, new.cell_m, _MARGIN_CELLS)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in ("keys", "photos", "reports", "set_aside"):
            (folder / name).mkdir(mode=0o700 if name == "keys" else 0o777, exist_ok=True)
        _write_maps(folder, new)
        write_safely(folder / BLOCK_FILE, _block_toml(new, epsg, origin).encode())
    except OSError as wrong:
        raise DiskError(f"{folder}: {wrong.strerror}") from wrong
    try:
        block, tunables = load_block(folder)
        ground_on(block, ground, block.rules[0].since or _ANY_DAY, settings=tunables)
    except Exception:
        # What a refused block leaves would be read by the next one.
        for name in _OWNERS_FILES:
            (folder / name).unlink(missing_ok=True)
        raise
    ShedJournal(folder).close()
    return _defaults(new, epsg, origin)


def _middle(outline: tuple[Feature, ...]) -> tuple[float, float]:
    """Give a latitude and longitude within the outline, to choose a zone by."""
    geometry = outline[0].geometry
    rings = geometry["coordinates"]
    ring = rings[0] if geometry["type"] == "Polygon" else rings[0][0]
    return float(ring[0][1]), float(ring[0][0])


def _write_maps(folder: Path, new: NewBlock) -> None:
    write_features(folder / OUTLINE_FILE, new.outline)
    if new.classes:
        write_features(folder / CLASSES_FILE, new.classes)
    if new.closures:
        write_features(folder / CLOSURES_FILE, new.closures)
    if new.permits_toml is not None:
        write_safely(folder / PERMITS_FILE, new.permits_toml.encode())
    if new.people_toml is not None:
        write_safely(folder / PEOPLE_FILE, new.people_toml.encode())


def write_features(path: Path, features: tuple[Feature, ...]) -> None:
    """Write features as a GeoJSON file of the folder."""
    collection = {
        "type": "FeatureCollection",
        "features": [
            {"type": "Feature", "properties": dict(one.properties), "geometry": one.geometry}
            for one in features
        ],
    }
    write_safely(path, (json.dumps(collection, indent=1, default=str) + "\n").encode())


def _block_toml(new: NewBlock, epsg: int, origin: tuple[float, float]) -> str:
    """Write block.toml; a TOML basic string is written as a JSON one."""
    text = json.dumps
    gate = "" if new.gate is None else f"gate = [{new.gate[0]!r}, {new.gate[1]!r}]\n"
    litres = "" if new.bag_litres is None else f"litres = {new.bag_litres!r}\n"
    written = f"""\
# What this block is and what holds on it. Edited by hand; `fallow register` says what is wrong.
format = 1
id = {text(new.block_id)}
name = {text(new.name)}
zone = {text(new.zone)}
epsg = {epsg}
season_start = {text(new.season_start)}
{gate}declination_deg = {float(new.declination_deg)!r}

# Set once; it never moves.
[grid]
origin_e = {float(origin[0])!r}
origin_n = {float(origin[1])!r}
cell_m = {float(new.cell_m)!r}

# A later rule is another [[rules]] table with `from = YYYY-MM-DD` and only what changes.
[[rules]]
rest_months = {new.rest_months}
recovery_years = {float(new.recovery_years or 0)!r}
living_layer_mm = {float(new.living_layer_mm or 0)!r}
keep_pct = {float(new.keep_pct or 0)!r}

# The usual bag first; dry_kg is the owner's figure until lots teach it.
[[bags]]
type = {text(new.bag_type)}
{litres}dry_kg = {float(new.bag_kg)!r}
{new.costs_toml}"""
    tomllib.loads(written)
    return written


def _defaults(new: NewBlock, epsg: int, origin: tuple[float, float]) -> tuple[str, ...]:
    told: list[tuple[bool, str]] = [
        (new.epsg is None, f"--epsg {epsg} (the UTM zone of the outline)"),
        (new.origin is None,
         f"--origin {origin[0]:.0f},{origin[1]:.0f} ({_MARGIN_CELLS} cells of margin)"),
        (True, f"cell {new.cell_m:g} m, season from {new.season_start}, zone {new.zone}"),
        (True, f"bag {new.bag_type!r} {new.bag_kg:g} kg shed-dry (flagged until lots teach it)"),
    ]
    return tuple(line for used, line in told if used)

