"""The block that the gangs pick: a square of whole cells with plots, picked in turn."""

import json
from datetime import date
from pathlib import Path

import numpy as np

from sync.block import Feature
from sync.disk.create import NewBlock, create_block
from sync.geometry.crs import Projection, projection
from sync.geometry.grid import cell_name

SIDE = 14
CELL_M = 100.0
ORIGIN = np.array([1_329_400.0, 5_249_300.0])
EPSG, ZONE = 2193, "UTC"
PLOTS_A_CELL = 6
FIRST_SEASON = 2021
#: Cells that are picked in turn; a cell's turn comes again after five seasons.
CELLS = tuple(cell_name(col, row) for col in range(SIDE) for row in range(SIDE))
_PERMIT = """\
[[permit]]
permit = "TM-1"
from = 2010-01-01
until = 2040-12-31
year_start = "07-01"
cap = 90000
cap_unit = "kg_dry"
"""


def ground() -> Projection:
    """Give the block's projection."""
    return projection(EPSG)


def corner_of(cell: str) -> np.ndarray:
    """Give a cell's south-west corner. [m]."""
    col, row = divmod(CELLS.index(cell), SIDE)
    return ORIGIN + CELL_M * np.array([col, row])


def make_block(folder: Path) -> None:
    """Make the folder, with plots in every cell."""
    side_m = SIDE * CELL_M
    ring = np.array([(0, 0), (side_m, 0), (side_m, side_m), (0, side_m), (0, 0)], dtype=float)
    lat, lon = ground().to_deg(*(ring + ORIGIN).T)
    outline = Feature(
        {"type": "Polygon", "coordinates": [np.column_stack((lon, lat)).tolist()]},
        {"parcel": "home"})
    people = "".join(f'[P{i}]\nname = "P{i}"\ncall = "P{i}"\nrole = "picker"\n'
                     for i in range(10))
    create_block(folder, NewBlock(
        name="Turning Mire", block_id="turnmire", outline=(outline,), zone=ZONE, rest_months=48,
        recovery_years=4.0, living_layer_mm=40.0, keep_pct=30.0, epsg=EPSG,
        origin=(float(ORIGIN[0]), float(ORIGIN[1])), permits_toml=_PERMIT, people_toml=people))
    plots = [_plot(cell, i) for cell in CELLS for i in range(1, PLOTS_A_CELL + 1)]
    draw = {"draw": 1, "drawn_on": date(FIRST_SEASON, 7, 1).isoformat(), "seed": 1,
            "how": "drawn", "when": "survey", "surveyors": 1, "days": 30, "plots": plots,
            "walked_again": []}
    (folder / "plots.json").write_text(json.dumps({"plots": 1, "draws": [draw]}), "utf-8")


def _plot(cell: str, number: int) -> dict[str, object]:
    e, n = corner_of(cell) + CELL_M * np.array([0.13 * number, 0.8 - 0.11 * number])
    lat, lon = map(float, ground().to_deg(e, n))
    return {"plot": f"{cell}-{number}", "cell": cell, "lat": round(lat, 7), "lon": round(lon, 7),
            "spare": False, "again": False, "pegged": False, "chance": 0.5}
