"""A small block with real phones, for tests of the shed's joints. All of it is made up."""

import dataclasses
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from fieldapp.handover import pack
from sync.block import Block, Feature
from sync.disk.create import NewBlock, create_block
from sync.disk.folder import load_block
from sync.disk.keys import pair
from sync.disk.maps import PLOTS_FILE
from sync.disk.people_permits import PEOPLE_FILE, PERMITS_FILE
from sync.disk.taking import FileTaken, Options, take_files
from sync.geometry.crs import projection

E0, N0 = 1_329_400.0, 5_249_300.0
KEY = bytes(range(32))
ARRIVED = datetime(2026, 3, 1, tzinfo=UTC)
PEOPLE = """
[O]
name = "the owner"
call = "O."
role = "owner"
[MT]
name = "M. T."
call = "M.T."
[RK]
name = "R. K."
call = "R.K."
"""


def lonlat(x: float, y: float) -> list[float]:
    """Degrees of a point in metres from the grid's origin."""
    lat, lon = projection(2193).to_deg(E0 + x, N0 + y)
    return [float(lon), float(lat)]


def square(x: float, y: float, side: float) -> dict[str, Any]:
    ring = [(x, y), (x + side, y), (x + side, y + side), (x, y + side), (x, y)]
    return {"type": "Polygon", "coordinates": [[lonlat(*point) for point in ring]]}


@dataclasses.dataclass
class Phone:
    """A phone that numbers its records; `files` packs any of them as a hand-over."""

    device: str
    block: str | None
    key: bytes | None = KEY
    records: list[dict[str, Any]] = dataclasses.field(default_factory=list)

    def note(self, kind: str, at: datetime, person: str = "MT", **fields: Any) -> str:
        record = {
            "device": self.device, "seq": len(self.records) + 1, "kind": kind,
            "at": at.strftime("%Y-%m-%dT%H:%M:%S.000Z"), "person": person, **fields,
        }
        self.records.append(record)
        return f"{self.device}:{record['seq']}"

    def bag(self, at: datetime, x: float, y: float, bags: float = 1, **fields: Any) -> str:
        lon, lat = lonlat(x, y)
        where = {"lat": lat, "lon": lon, "acc_m": 4, "age_s": 1, "lag_s": 0.2}
        return self.note("bag", at, bags=bags, where=fields.pop("where", where), **fields)

    def pack(self, first: int = 1, last: int | None = None, **changes: Any) -> bytes:
        last = len(self.records) if last is None else last
        said = {
            "device": self.device, "block": self.block, "program": "0.1.0", "made_at": ARRIVED,
            "first_seq": first, "last_seq": last, "key": self.key, "photos": {}, **changes,
        }
        return pack([r for r in self.records if first <= r["seq"] <= last], **said)


@dataclasses.dataclass
class Small:
    """A block folder of nine cells, A01 to C03, on a grid that begins at its corner."""

    folder: Path
    block: Block
    lonlat = staticmethod(lonlat)

    def phone(self, code: str, tag: str = "aaaa", key: bytes = KEY) -> Phone:
        pair(self.folder, self.block, code, key, now=ARRIVED - timedelta(days=900))
        return Phone(f"{code}-{tag}", self.block.block_id, key)

    def take(
        self, files: Mapping[str, bytes], now: datetime = ARRIVED, **options: Any
    ) -> tuple[FileTaken, ...]:
        inbox = self.folder.parent / f"inbox-{self.folder.name}"
        inbox.mkdir(exist_ok=True)
        paths = []
        for name, data in files.items():
            path = inbox / name
            path.write_bytes(data)
            paths.append(path)
        return take_files(self.folder, self.block, paths, Options(**options), now=now)


def plots_json(plots: Iterable[tuple[str, str, float, float]]) -> str:
    return json.dumps({"plots": 1, "draws": [{
        "draw": 1, "made_on": "2025-06-01", "seed": 1, "how": "drawn", "when": "survey",
        "plots": [
            {"plot": name, "cell": cell, "lat": lonlat(x, y)[1], "lon": lonlat(x, y)[0],
             "spare": False, "again": False, "pegged": False, "chance": 0.5}
            for name, cell, x, y in plots
        ],
    }]})


PLOTS = [
    (f"{i:03d}", f"{'ABC'[col]}{row + 1:02d}", 100 * col + dx, 100 * row + dy)
    for i, (col, row, dx, dy) in enumerate(
        ((c, r, 30 + 25 * k, 40 + 10 * k) for c in range(3) for r in range(2) for k in range(2)), 1
    )
]


@pytest.fixture
def small(tmp_path: Path) -> Callable[..., Small]:
    """Make small blocks: `small("name", permits=..., closures=...)`."""
    def make(
        name: str = "block", *, block_id: str = "testblok", permits: str | None = None,
        closures: Sequence[Feature] = (), **changes: Any,
    ) -> Small:
        new = NewBlock(
            name="Test Mire", block_id=block_id,
            outline=(Feature(square(0, 0, 300), {}),), zone="Pacific/Auckland", rest_months=60,
            recovery_years=5, living_layer_mm=40, keep_pct=30, epsg=2193, origin=(E0, N0),
            closures=tuple(closures),
        )
        folder = tmp_path / name
        create_block(folder, dataclasses.replace(new, **changes))
        (folder / PEOPLE_FILE).write_text(PEOPLE)
        (folder / PLOTS_FILE).write_text(plots_json(PLOTS))
        if permits is not None:
            (folder / PERMITS_FILE).write_text(permits)
        return Small(folder, load_block(folder)[0])
    return make


def survey(phone: Phone, at: datetime, *, person: str = "SW") -> None:
    """Read every plot of the block, a little different each."""
    for i, (name, _, _, _) in enumerate(PLOTS):
        phone.note(
            "quadrat", at + timedelta(minutes=10 * i), person, plot=name, when="survey",
            side_m=0.5, cover_pct=50 + 5 * (i % 7), depth_mm=[80 + i, 95 - i, 70 + 2 * i],
            where=None,
        )


@pytest.fixture
def season(small: Callable[..., Small]) -> tuple[Small, dict[str, bytes]]:
    """A surveyed block and the five files of a season, odd ones among them."""
    made = small()
    p1, p2 = made.phone("p1"), made.phone("p2", key=bytes(range(1, 33)))
    survey(p1, datetime(2025, 6, 20, 21, tzinfo=UTC))
    start = datetime(2025, 11, 10, 19, tzinfo=UTC)
    p1.note("outing", start, state="start", role="picker", cell="B02", where=None)
    for i in range(20):
        p1.bag(start + timedelta(minutes=20 * i + 5), 120 + 3 * i, 150, bags=3)
    wrong = p1.bag(start + timedelta(hours=7), 150, 150, bags=3)
    void = p1.note("void", start + timedelta(hours=7, minutes=1), of=wrong, where=None)
    p1.note("void", start + timedelta(hours=7, minutes=2), of=void, where=None)
    p1.bag(start + timedelta(hours=7, minutes=5), 150, 150, bags=2, instead_of=wrong)
    p1.note("outing", start + timedelta(hours=8), state="end", finished=["B02"], where=None)
    day = datetime(2026, 1, 20, 19, tzinfo=UTC)
    p2.note("outing", day, "RK", state="start", role="picker", where=None)
    for i in range(12):
        p2.bag(day + timedelta(minutes=30 * i + 5), 220 + 4 * i, 60, person="RK")
    p2.note("outing", day + timedelta(hours=8), "RK", state="end", finished=[], where=None)
    form = (
        "form,row,kind,day,person,bags,for,cell,covers\n"
        f"paper,1,bag,2026-01-21,O,3,RK,C01,{p2.device} 5 8\n"
    )
    twice = Phone(p2.device, p2.block, p2.key, [dict(r) for r in p2.records])
    twice.records[9]["bags"] = 4
    files = {
        "a.handover.zip": p1.pack(),
        "b.handover.zip": p2.pack(1, 4),
        "c.handover.zip": p2.pack(9, 14),
        "d.handover.zip": twice.pack(5, 10),
        "e.csv": form.encode(),
    }
    return made, files
