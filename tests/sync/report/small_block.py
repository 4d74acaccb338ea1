"""A made-up block of nine cells for tests of the register's documents; nobody picks there.

Columns A and B are lawn on the parcel `home`, column C is mound on the parcel `strip`.
A pool of 20 m by 20 m in B02 is a hole of the outline.
"""

import dataclasses
import json
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from functools import cache
from typing import Any

from sync.block import BagType, Block, Feature, Grid, Permit, Person, Plot, Rule
from sync.flags.raised import flags_of
from sync.geometry.crs import projection
from sync.intake.check import Held, check_lines
from sync.register.build import Inputs, Register, build
from sync.report.document import register_document
from sync.settings import Tunables

E0, N0 = 1_329_400.0, 5_249_300.0
ON = date(2026, 2, 20)
POOL = ((140, 140), (160, 140), (160, 160), (140, 160))


@cache
def latlon(x: float, y: float) -> tuple[float, float]:
    lat, lon = projection(2193).to_deg(E0 + x, N0 + y)
    return float(lat), float(lon)


def where(x: float, y: float) -> dict[str, float]:
    lat, lon = latlon(x, y)
    return {"lat": lat, "lon": lon, "acc_m": 4, "age_s": 1}


def box(west: float, south: float, east: float, north: float) -> list[tuple[float, float]]:
    return [(west, south), (east, south), (east, north), (west, north)]


def polygon(*rings: Sequence[tuple[float, float]]) -> dict[str, Any]:
    return {"type": "Polygon", "coordinates": [
        [list(reversed(latlon(x, y))) for x, y in [*ring, ring[0]]] for ring in rings
    ]}


def plot(name: str, cell: str, x: float, y: float, **changes: Any) -> Plot:
    lat, lon = latlon(x, y)
    made = Plot(name, cell, lat, lon, drawn=True, when="survey", spare=False, again=False,
                pegged=False)
    return dataclasses.replace(made, **changes)


PLOTS = (
    plot("001", "A01", 30, 30), plot("002", "A01", 70, 60, pegged=True),
    plot("003", "A02", 20, 140), plot("004", "A02", 80, 170),
    plot("005", "B01", 130, 40), plot("006", "B01", 170, 80),
    plot("007", "B02", 110, 120), plot("008", "B02", 180, 170),
    plot("009", "C01", 230, 30), plot("010", "C01", 260, 70),
    plot("011", "C02", 250, 150),
    plot("012", "C03", 220, 260), plot("013", "C03", 280, 230, spare=True),
)
PERMIT = Permit(
    "TM-1", (), date(2022, 9, 1), date(2032, 8, 31), (9, 1), cap=900.0, cap_unit="kg_dry",
    keep_pct=30.0, living_layer_mm=40.0, max_share_pct=None, max_kg_ha=None, notice_days=20,
)
PEOPLE = (
    Person("O", "the owner's whole name", "O.", "owner"),
    Person("MT", "the picker's whole name", "M.T.", "picker"),
    Person("SW", "the surveyor's whole name", "S.W.", "surveyor", until=date(2025, 12, 31)),
)
GATE = latlon(-20, 10)


def small_block(**changes: Any) -> Block:
    block = Block(
        block_id="testmire", name="Test Mire", zone="Pacific/Auckland", epsg=2193,
        grid=Grid(E0, N0, 100.0), season_start=(7, 1),
        rules=(Rule(None, 60, 5.0, 40.0, 30.0),),
        bags=(BagType("sack", 90.0, 7.0), BagType("bale", 180.0, 15.0)),
        people=PEOPLE, permits=(PERMIT,), plots=PLOTS,
        outline=(
            Feature(polygon(box(0, 0, 200, 300), POOL), {"parcel": "home"}),
            Feature(polygon(box(200, 0, 300, 300)), {"parcel": "strip"}),
        ),
        classes=(
            Feature(polygon(box(0, 0, 200, 300)), {"ground_class": "lawn"}),
            Feature(polygon(box(200, 0, 300, 300)), {"ground_class": "mound"}),
        ),
        gate=GATE, declination_deg=23.6,
    )
    return dataclasses.replace(block, **changes)


class Phone:
    """A phone that numbers what it notes; `kept` is its journal."""

    def __init__(self, device: str) -> None:
        self.device = device
        self.kept: list[dict[str, Any]] = []

    def note(self, kind: str, at: datetime, person: str = "MT", **fields: Any) -> str:
        seq = len(self.kept) + 1
        self.kept.append({
            "device": self.device, "seq": seq, "kind": kind, "person": person,
            "at": at.strftime("%Y-%m-%dT%H:%M:%S.000Z"), **fields,
        })
        return f"{self.device}:{seq}"

    def bags(self, at: datetime, count: int, x: float, y: float, **fields: Any) -> None:
        """Note a bag every quarter of an hour."""
        for i in range(count):
            self.note("bag", at + timedelta(minutes=15 * i), bags=1, where=where(x, y), **fields)


def survey(phone: Phone) -> None:
    """Read eleven plots on one day; 008 is a pool."""
    start = datetime(2024, 6, 19, 21, tzinfo=UTC)
    reads = {
        "001": (60, [80, 90, 70]), "002": (80, [100, 0, 90]),
        "003": (70, [85, 95, 75]), "004": (55, [90, 90, 60]),
        "005": (75, [70, 80, 110]), "006": (65, [95, 85, 75]),
        "007": (70, [80, 100, 90]),
        "009": (40, [70, 90, 80]), "010": (50, [60, 85, 95]), "011": (45, [75, 80, 85]),
    }
    for i, (name, (cover, depths)) in enumerate(reads.items()):
        extra = {"scrub_pct": 4, "water_table_mm": -120} if name == "001" else {}
        clip = {"clip": f"P1-{i + 1:03d}"} if name in {"001", "009"} else {}
        phone.note("quadrat", start + timedelta(minutes=12 * i), "SW", plot=name, when="survey",
                   side_m=0.5, cover_pct=cover, depth_mm=depths, **extra, **clip)
    phone.note("skip", start + timedelta(hours=4), "SW", plot="008", why="pool")
    for label, dry_g in (("P1-001", 71.25), ("P1-008", 80.0)):
        phone.note("clip", start + timedelta(hours=5), "SW", clip=label, cut="plug",
                   area_m2=0.0625, from_mm=0, to_mm=100, dry_g=dry_g, dried="shed")


def season() -> list[Phone]:
    """A survey, a pick of B02, five bags there during its rest, an open pick of C01.

    Marked are two piles, of the pick and of the five bags, and a hazard.
    """
    p1, p2, shed = Phone("p1-a2b3"), Phone("p2-c3d4"), Phone("shed")
    survey(p1)
    start = datetime(2024, 11, 9, 19, tzinfo=UTC)
    for day in range(2):
        begun = start + timedelta(days=day)
        p2.note("outing", begun, state="start", role="picker", cell="B02")
        p2.bags(begun + timedelta(minutes=10), 30, 120, 150, pile="P2-001")
        p2.note("outing", begun + timedelta(hours=9), state="end",
                finished=["B02"] if day else [])
    p2.note("mark", start + timedelta(hours=8), what="pile", name="P2-001", where=where(105, 200))
    early = datetime(2026, 1, 21, 20, tzinfo=UTC)
    p2.note("mark", early, what="pile", name="P2-002", where=where(110, 90))
    p2.bags(early, 5, 130, 130, pile="P2-002")
    p2.bags(datetime(2026, 2, 9, 20, tzinfo=UTC), 20, 250, 50, pile="P2-003")
    p2.note("mark", datetime(2026, 2, 9, 23, tzinfo=UTC), what="hazard", name="hazard 1",
            where=where(210, 110))
    shed.note("past_pick", datetime(2025, 6, 1, tzinfo=UTC), "O", cell="A02",
              **{"from": "2018-10-01", "to": "2018-10-20"}, share_pct=80)
    return [p1, p2, shed]


def held(phones: Sequence[Phone]) -> tuple[Held, ...]:
    lines = [json.dumps(record).encode() for phone in phones for record in phone.kept]
    checked = check_lines(lines, file="made-up", sealed=True)
    assert not checked.aside, checked.aside
    return checked.sound


def small_register(
    phones: Sequence[Phone] | None = None, *, on: date = ON, known: Sequence[Held] | None = None,
    **changes: Any,
) -> Register:
    records = held(season() if phones is None else phones) if known is None else known
    return build(Inputs(small_block(**changes), Tunables(), records, (), "0.1.0"), on=on)


def document_of(register: Register) -> dict[str, Any]:
    return register_document(register, flags_of(register))


def cell(document: dict[str, Any], name: str) -> dict[str, Any]:
    return next(row for row in document["cells"] if row["cell"] == name)
