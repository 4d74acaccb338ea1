"""Where the made-up block lies: outline, pool, classes, permit, people. All of it is invented.

Rule 1: it is put in the sea, so that nobody takes it for real ground.
Rule 2: people are roles or initials.
"""

import datetime
import math
from collections.abc import Mapping, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from sync.block import Feature, Grid
from sync.disk.create import NewBlock
from sync.geometry.crs import Projection, projection
from sync.geometry.grid import cell_square

NAME = "Kettle Mire"
ZONE = "Pacific/Auckland"
EPSG = 2193
GRID = Grid(1_329_400.0, 5_249_300.0, 100.0)
#: Gravel Spur, the landing by the gate; metres from the grid's origin.
GATE_M = (1010.0, 165.0)

#: Corners of the block, metres from the grid's origin: Sedge Arm in the west, Teatree Neck in the
#: south, Long Drain in the north-east.
_OUTLINE = (
    (105, 258), (76, 374), (22, 523), (48, 590), (194, 649), (202, 986), (289, 1000), (475, 985),
    (545, 1010), (670, 936), (747, 920), (1100, 972), (1244, 1025), (1220, 547), (1267, 384),
    (1252, 310), (1262, 93), (1154, 10), (890, 122), (786, 129), (642, 114), (468, 14), (325, 22),
    (58, 30), (19, 92),
)
#: The Pan: a pool of about four cells, F06, G06, H06 and H05, with 20 m round it.
_PAN = (
    (482, 482), (682, 482), (682, 382), (818, 382), (818, 618), (482, 618),
)

#: So far north the ground is rushy, in the columns west of each. [m from the grid's origin]
_RUSHY = ((200.0, math.inf), (300.0, 500.0), (400.0, 200.0))
_MOUND_FROM_M = 900.0
#: Cells north of them with less ground than this are the thin outer edge. [m²]
_EDGE_M2 = 3600.0

PERMIT_TOML = """\
[[permit]]
permit = "KM-0417"
from = 2022-09-01
until = 2032-08-31
year_start = "09-01"
cap = 12000
cap_unit = "kg_dry"
keep_pct = 30
living_layer_mm = 40
notice_days = 20
"""

#: Made-up rates, of the order that owners tell each other.
COSTS_TOML = """
[costs]
currency = "NZD"
lift_each = 95.0
lift_call_out = 600.0
machine_trip_each = 140.0
machine_bags = 20
machine_call_out = 250.0
sell_per_kg = 14.0
picking_per_kg = 5.0
work_per_hour = 45.0

[lifts]
hook_limit_kg = 620.0
"""

_PEOPLE = {
    "O": ("O.", "owner"), "SL": ("S.L.", "surveyor"), "SW": ("S.W.", "surveyor"),
    "F": ("F.", "foreman"), "MT": ("M.T.", "picker"), "RK": ("R.K.", "picker"),
    "JA": ("J.A.", "picker"), "LP": ("L.P.", "picker"), "DW": ("D.W.", "picker"),
    "P": ("pilot", "pilot"),
}


#: Whose second readings are counted by dots.
COUNTS_DOTS = "SW"


def people_toml() -> str:
    """Write people.toml."""
    return "".join(
        f'[{code}]\nname = "{call}"\ncall = "{call}"\nrole = "{role}"\n'
        f'{"counts_dots = true" if code == COUNTS_DOTS else ""}\n'
        for code, (call, role) in _PEOPLE.items()
    )


def new_block(block_id: str) -> NewBlock:
    """Give the made-up block, without its class map.

    Parameters
    ----------
    block_id : str
        Of this making.

    Returns
    -------
    NewBlock
        For `create_block`.
    """
    ground = projection(EPSG)
    lat, lon = to_deg(ground, *GATE_M)
    return NewBlock(
        name=NAME, block_id=block_id, outline=(_feature(ground, _OUTLINE, {"parcel": "home"}),),
        zone=ZONE, rest_months=60, recovery_years=5.0, living_layer_mm=40.0, keep_pct=30.0,
        epsg=EPSG, origin=(GRID.origin_e, GRID.origin_n), bag_kg=7.0, bag_litres=90.0,
        gate=(round(lat, 6), round(lon, 6)), declination_deg=23.6,
        closures=(_feature(ground, _PAN, {"why": "pool"}),), permits_toml=PERMIT_TOML,
        people_toml=people_toml(), costs_toml=COSTS_TOML,
    )


def to_deg(ground: Projection, x: float, y: float) -> tuple[float, float]:
    """Give latitude and longitude [deg] of metres from the grid's origin."""
    lat, lon = ground.to_deg(GRID.origin_e + x, GRID.origin_n + y)
    return float(lat), float(lon)


def _feature(
    ground: Projection, corners: Sequence[tuple[float, float]], properties: Mapping[str, Any]
) -> Feature:
    ring = []
    for x, y in (*corners, corners[0]):
        lat, lon = to_deg(ground, x, y)
        ring.append([round(lon, 8), round(lat, 8)])
    return Feature({"type": "Polygon", "coordinates": [ring]}, dict(properties))


def class_of(cell: str, area_m2: float) -> str:
    """Give the ground class that the map shows for a cell.

    Parameters
    ----------
    cell : str
        Its name.
    area_m2 : float
        Its ground. [m²]

    Returns
    -------
    str
        lawn, mound, rushy or edge.
    """
    west, south, _, _ = cell_square(GRID, cell)
    x, y = west - GRID.origin_e, south - GRID.origin_n
    if any(y < north and x < east for north, east in _RUSHY):
        return "rushy"
    if area_m2 < _EDGE_M2:
        return "edge"
    return "mound" if x >= _MOUND_FROM_M else "lawn"


def class_map(areas_m2: Mapping[str, float]) -> tuple[Feature, ...]:
    """Draw the class map, square by square.

    Parameters
    ----------
    areas_m2 : mapping of str to float
        Ground of each cell. [m²]

    Returns
    -------
    tuple of Feature
        One a cell.
    """
    ground = projection(EPSG)
    drawn: list[Feature] = []
    for cell, area in areas_m2.items():
        west, south, east, north = cell_square(GRID, cell)
        x, y = west - GRID.origin_e, south - GRID.origin_n
        side = east - west
        corners = ((x, y), (x + side, y), (x + side, y + north - south), (x, y + side))
        drawn.append(_feature(ground, corners, {"ground_class": class_of(cell, area)}))
    return tuple(drawn)


def local(day: datetime.date, hour: int, minute: int = 0) -> datetime.datetime:
    """Give an instant of a local day, UTC."""
    there = datetime.datetime.combine(day, datetime.time(hour, minute), ZoneInfo(ZONE))
    return there.astimezone(datetime.UTC)
