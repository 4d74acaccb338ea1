"""Records as devices number them, and the block they are of: 120 cells in three bands."""

import dataclasses
import json
from collections.abc import Sequence
from datetime import UTC, date, datetime, time
from functools import cache
from typing import Any

from sync.block import BagType, Block, Feature, Grid, Person, Plot, Rule
from sync.geometry.crs import Projection, projection
from sync.intake.check import Held, check_lines

E0, N0, CELL_M = 1_329_400.0, 5_249_300.0, 100.0
COLUMNS, ROWS = "ABCDEFGHIJKL", 10
CLASSES = ("lawn", "mound", "rushy")
CELLS = tuple(f"{column}{row:02d}" for column in COLUMNS for row in range(1, ROWS + 1))
#: More plots than any line reads in a cell, over all its surveys.
PLOTS_A_CELL = 12
OWNERS_KG = 7.0


def class_of(cell: str) -> str:
    """Give the band of a cell: four columns each."""
    return CLASSES[COLUMNS.index(cell[0]) // 4]


def corner(cell: str) -> tuple[float, float]:
    """Give a cell's south-west corner in metres from the grid's origin."""
    return CELL_M * COLUMNS.index(cell[0]), CELL_M * (int(cell[1:]) - 1)


@cache
def _projection() -> Projection:
    return projection(2193)


def latlon(x: float, y: float) -> tuple[float, float]:
    """Give the degrees of a point in metres from the grid's origin."""
    lat, lon = _projection().to_deg(E0 + x, N0 + y)
    return float(lat), float(lon)


def _box(west: float, south: float, east: float, north: float) -> dict[str, Any]:
    ring = [(west, south), (east, south), (east, north), (west, north), (west, south)]
    return {"type": "Polygon", "coordinates": [[list(reversed(latlon(*p))) for p in ring]]}


@cache
def made_block() -> Block:
    """Give the block: 120 ha, three bands, plots enough in every cell."""
    plots = []
    for cell in CELLS:
        x, y = corner(cell)
        lat, lon = latlon(x + 50, y + 50)
        plots += [Plot(f"{cell}-{i}", cell, lat, lon, True, "survey", False, False, False)
                  for i in range(1, PLOTS_A_CELL + 1)]
    wide, high = CELL_M * len(COLUMNS), CELL_M * ROWS
    return Block(
        block_id="madeblok", name="Made block", zone="UTC", epsg=2193,
        grid=Grid(E0, N0, CELL_M), season_start=(7, 1),
        rules=(Rule(None, 60, 5.0, 40.0, 30.0),), bags=(BagType("sack", 90.0, OWNERS_KG),),
        people=(Person("DC", "D. C.", "D.C.", "surveyor", counts_dots=True),),
        plots=tuple(plots), outline=(Feature(_box(0, 0, wide, high), {}),),
        classes=tuple(
            Feature(_box(i * wide / 3, 0, (i + 1) * wide / 3, high), {"ground_class": name})
            for i, name in enumerate(CLASSES)),
    )


@dataclasses.dataclass
class Book:
    """What one device noted, numbered as it came."""

    device: str
    kept: list[dict[str, Any]] = dataclasses.field(default_factory=list)

    def note(self, kind: str, at: date | datetime, person: str, **fields: Any) -> str:
        when = at if isinstance(at, datetime) else datetime.combine(at, time(12), UTC)
        self.kept.append({
            "device": self.device, "seq": len(self.kept) + 1, "kind": kind, "person": person,
            "at": when.strftime("%Y-%m-%dT%H:%M:%S.000Z"), "where": None, **fields,
        })
        return f"{self.device}:{len(self.kept)}"


def held(books: Sequence[Book]) -> tuple[Held, ...]:
    """Take the records in as a hand-over's lines are; a line set aside is the bench's own fault.

    Raises
    ------
    ValueError
        If a line was set aside.
    """
    lines = [json.dumps(record).encode() for book in books for record in book.kept]
    checked = check_lines(lines, file="made-up", sealed=True)
    if checked.aside:
        raise ValueError(checked.aside[0])
    return checked.sound
