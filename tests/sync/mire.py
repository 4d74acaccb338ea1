"""A made-up block of nine open cells, A01 to C03, held in memory, for tests of the register.

Whoever notes something says the local day; it is written at noon of the block's zone, UTC.
"""

import dataclasses
import json
from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from typing import Any

from sync.block import BagType, Block, Feature, Grid, Plot, Rule
from sync.crop.kept import Kept
from sync.flags.raised import flags_of
from sync.geometry.crs import projection
from sync.intake.check import Held, check_lines
from sync.register.build import Inputs, build
from sync.settings import Tunables

E0, N0 = 1_329_400.0, 5_249_300.0
CELLS = [f"{column}{row:02d}" for column in "ABC" for row in (1, 2, 3)]


@cache
def latlon(x: float, y: float) -> tuple[float, float]:
    lat, lon = projection(2193).to_deg(E0 + x, N0 + y)
    return float(lat), float(lon)


def where(x: float, y: float, acc_m: float = 4.0) -> dict[str, float]:
    lat, lon = latlon(x, y)
    return {"lat": lat, "lon": lon, "acc_m": acc_m, "age_s": 1}


def polygon(west: float, south: float, east: float, north: float) -> dict[str, Any]:
    ring = [(west, south), (east, south), (east, north), (west, north), (west, south)]
    return {"type": "Polygon", "coordinates": [[list(reversed(latlon(*p))) for p in ring]]}


def plots_of(cell: str, count: int) -> list[Plot]:
    x, y = 100 * "ABC".index(cell[0]) + 50.0, 100 * int(cell[1:]) - 50.0
    lat, lon = latlon(x, y)
    return [Plot(f"{cell}-{i}", cell, lat, lon, True, "survey", False, False, False)
            for i in range(1, count + 1)]


@cache
def plots() -> tuple[Plot, ...]:
    return tuple(plot for cell in CELLS for plot in plots_of(cell, 24))


def mire(**changes: Any) -> Block:
    block = Block(
        block_id="testmire", name="Test Mire", zone="UTC", epsg=2193, grid=Grid(E0, N0, 100.0),
        season_start=(7, 1), rules=(Rule(None, 60, 5.0, 40.0, 30.0),),
        bags=(BagType("sack", 90.0, 7.0),), plots=plots(),
        outline=(Feature(polygon(0, 0, 300, 300), {}),),
    )
    return dataclasses.replace(block, **changes)


class Book:
    """What is noted by one device, numbered; `shed` may name cells by hand."""

    def __init__(self, device: str = "shed") -> None:
        self.device = device
        self.kept: list[dict[str, Any]] = []
        self.read: dict[str, int] = {}

    def note(self, kind: str, day: date | datetime, person: str = "MT", **fields: Any) -> str:
        at = day if isinstance(day, datetime) else datetime.combine(day, time(12), UTC)
        self.kept.append({
            "device": self.device, "seq": len(self.kept) + 1, "kind": kind, "person": person,
            "at": at.strftime("%Y-%m-%dT%H:%M:%S.000Z"), "where": None, **fields,
        })
        return f"{self.device}:{len(self.kept)}"

    def quadrat(self, day: date, cell: str, cover: float = 60, depths: Sequence[int] = (90, 110),
                *, drawn: bool = True, **fields: Any) -> str:
        """Read the next plot of a cell; not `drawn`, a place chosen by eye."""
        place: dict[str, Any] = {"plot": None, "cell": cell}
        if drawn:
            self.read[cell] = self.read.get(cell, 0) + 1
            place = {"plot": f"{cell}-{self.read[cell]}"}
        return self.note("quadrat", day, "SW", **{
            **place, "when": "survey", "side_m": 0.5, "cover_pct": cover,
            "depth_mm": list(depths), **fields})

    def again(self, day: date, cell: str, cover: float) -> None:
        """Let another reader read the last plot of a cell again, if there is one."""
        if self.read.get(cell):
            self.note("quadrat", day, "SL", plot=f"{cell}-{self.read[cell]}", when="survey",
                      again=True, side_m=0.5, cover_pct=cover, depth_mm=[100, 80])

    def dried(self, day: date, lot: str, bags: int, dry_kg: float, *, pile: str) -> str:
        """Note a lot that was dried of a pile's bags."""
        return self.note("batch", day, batch=lot, stage="dried", bags=bags, dry_kg=dry_kg,
                         **{"from": [pile]})

    def bags(self, day: date, cell: str | None, bags: float, **fields: Any) -> list[str]:
        """Tally bags, 40 a record at most."""
        names = []
        while bags > 0:
            at = {} if cell is None else {"cell": cell}
            names.append(self.note("bag", day, bags=min(40, bags), **at, **fields))
            bags -= 40
        return names

    def finished(self, day: date, *cells: str) -> str:
        return self.note("outing", day, state="end", finished=list(cells))


def held(books: Sequence[Book]) -> tuple[Held, ...]:
    lines = [json.dumps(record).encode() for book in books for record in book.kept]
    checked = check_lines(lines, file="made-up", sealed=True)
    assert not checked.aside, checked.aside
    return checked.sound


def register(books: Book | Sequence[Book], on: date, block: Block | None = None,
             kept: Kept | None = None, **tunables: Any) -> Any:
    books = [books] if isinstance(books, Book) else books
    return build(Inputs(block or mire(), Tunables(**tunables), held(books), (), "0.1.0"), on=on,
                 kept=kept)


def flags(found: Any, rule: str | None = None) -> dict[str, Any]:
    return {flag.name: flag for flag in flags_of(found) if rule in (None, flag.rule)}


def stood(book: Book, start: datetime, x: float, *, cell: str) -> None:
    """Note an outing that confirms a cell, stands on one spot on a track, and tallies a bag."""
    lat, lon = latlon(x, 150)
    book.note("outing", start, state="start", role="picker", cell=cell)
    book.note("track", start, t0=start.strftime("%Y-%m-%dT%H:%M:%S.000Z"),
              dt_ms=[0, *[20_000] * 59], lat_e7=[round(lat * 1e7), *[0] * 59],
              lon_e7=[round(lon * 1e7), *[0] * 59], acc_m=[5] * 60)
    book.note("bag", start + timedelta(minutes=15), bags=1, where=where(x, 150))
    book.note("outing", start + timedelta(hours=1), state="end", finished=[])
