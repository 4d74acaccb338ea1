"""A made-up mire of nine cells that shows each state a cell may be in, and something odd of each.

Row 3 is not surveyed, C02 is closed, B02 was picked and rests, A01 is being picked and all that
may be taken is taken; a phone picked B02 again too early, another one is not back.
"""

import dataclasses
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from sync.block import Feature
from sync.cli.registers import rule
from sync.disk.create import NewBlock, create_block
from sync.disk.folder import load_block

DAY = date(2026, 2, 20)
NAME = "Test Mire"
CELLS = tuple(f"{column}{row:02d}" for column in "ABC" for row in (1, 2, 3))
#: Where each state is seen.
STATES = {"ready": "B01", "resting": "B02", "closed": "C02", "unsurveyed": "C03", "taken": "A01"}
_RULED = "growth_assumed:block:2025"
_PERMIT = """
[[permit]]
permit = "TM-1"
from = 2025-01-01
year_start = "09-01"
cap = 12000
cap_unit = "kg_dry"
"""
_PAPER = b"""form,row,kind,day,person,bags,for,cell
paper,1,bag,2026-01-21,O,3,RK,C01
"""
_SCALE = b"form,row,kind,day,person,batch,stage,bags,from,wet_kg\n" + b"".join(
    f"scale,{i},batch,2026-02-19,O,W-{i},weighed,1,T1,{kg}\n".encode()
    for i, kg in enumerate((88, 102, 78, 96, 80, 86), 1))
_PICKED = datetime(2024, 11, 10, 19, tzinfo=UTC)
_SURVEYED = datetime(2025, 6, 20, 21, tzinfo=UTC)
_EARLY = datetime(2026, 1, 20, 19, tzinfo=UTC)
_OPEN = datetime(2026, 2, 18, 19, tzinfo=UTC)


def make(folder: Path, parts: Any, *, quiet: bool = False) -> Any:
    """Make the block folder and let its phones hand over; `quiet` leaves out what is odd.

    `parts` is the module of tests/sync/conftest.py: its phones, plots and small blocks.
    """
    made = _ground(folder, parts)
    first = made.phone("p1")
    _pick(first, _PICKED, "MT", 40, (120, 150), 3, finished=["B02"])
    parts.survey(first, _SURVEYED)
    made.take({"first.handover.zip": first.pack()})
    if not quiet:
        _odd(made)
    return made


def _ground(folder: Path, parts: Any) -> Any:
    closed = Feature(parts.square(200, 100, 100), {"why": "nesting"})
    create_block(folder, NewBlock(
        name=NAME, block_id="testmire", outline=(Feature(parts.square(0, 0, 300), {}),),
        zone="Pacific/Auckland", rest_months=60, recovery_years=5, living_layer_mm=40,
        keep_pct=30, epsg=2193, origin=(parts.E0, parts.N0), closures=(closed,)))
    (folder / "people.toml").write_text(parts.PEOPLE + '[SW]\nname = "S. W."\ncall = "S.W."\n')
    (folder / "permits.toml").write_text(_PERMIT)
    (folder / "plots.json").write_text(parts.plots_json(parts.PLOTS))
    return parts.Small(folder, load_block(folder)[0])


def _pick(
    phone: Any, start: datetime, person: str, bags: int, at: tuple[float, float], each: int, *,
    finished: list[str] | None = None, pile: str | None = None,
) -> None:
    phone.note("outing", start, person, state="start", role="picker", where=None)
    for i in range(bags):
        more = {} if pile is None else {"pile": pile}
        phone.bag(start + timedelta(minutes=8 * i + 5), at[0] + i % 30, at[1], bags=each,
                  person=person, **more)
    phone.note("outing", start + timedelta(hours=9), person, state="end",
               finished=finished or [], where=None)


def _odd(made: Any) -> None:
    early, out = made.phone("p2", key=bytes(range(1, 33))), made.phone("p3", key=bytes(32))
    _pick(early, _EARLY, "RK", 12, (130, 150), 1, pile="T1")
    _pick(early, _OPEN, "RK", 50, (30, 50), 4)
    out.note("quadrat", _SURVEYED, "SW", plot="001", when="survey", side_m=0.5, cover_pct=60,
             depth_mm=[80, 80, 90], clip="K7", where=None)
    out.note("bag", _OPEN, bags=900, where=None)  # more than a record may say: set aside
    out.note("outing", datetime.now(UTC) - timedelta(hours=2), "MT", state="start", role="picker",
             where=None)
    twice = dataclasses.replace(early, records=[dict(one) for one in early.records])
    twice.records[9]["bags"] = 4
    made.take({
        "early.handover.zip": early.pack(), "twice.handover.zip": twice.pack(5, 11),
        "out.handover.zip": out.pack(), "paper.csv": _PAPER, "scale.csv": _SCALE})
    for says in ("upheld", "agreed"):
        rule(made.folder, _RULED, says, note="the owner's own years", by=None, on=DAY.isoformat())
