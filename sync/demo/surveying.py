"""Two winters of surveying: plots are drawn, walked and read, and clips are cut and weighed.

Rule 1: every reading goes through the capture of a phone.
Rule 2: a plot that cannot be read is skipped with its reason; its spare stands in.
"""

import dataclasses
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from fieldapp.capture.notes import Notes
from fieldapp.capture.outing import Outing
from fieldapp.capture.quadrat import Quadrat
from fieldapp.capture.walk import Walk, Why
from fieldapp.ground import Plot
from sync.demo.phones import DemoPhone
from sync.demo.place import ZONE, local
from sync.demo.world import World

#: The pool that is on no map: one of the four plots of I07.
POOL_CELL, POOL_PLOT = "I07", 118
_PLOTS_A_DAY = 11
_PLUG_M2, _PLUG_MM = 0.0625, 60
_WATER_BARE = 0.88


@dataclasses.dataclass(frozen=True)
class Winter:
    """One winter's survey.

    Attributes
    ----------
    cells : tuple of str
        In the order in which plots are numbered.
    clips : mapping of str to int
        Plugs to cut in each ground class.
    skips : tuple of str
        Reasons, one for a plot each.
    """

    first: date
    cells: tuple[str, ...]
    clips: Mapping[str, int]
    skips: tuple[Why, ...]


def draw_plots(
    world: World, winter: Winter, number: int, first_plot: int
) -> tuple[dict[str, Any], int]:
    """Draw the plots of a winter.

    Parameters
    ----------
    world : World
        The block.
    winter : Winter
        Whose cells.
    number : int
        Of the draw.
    first_plot : int
        Next free plot number; ids are never reused.

    Returns
    -------
    draw : dict
        As plots.json holds it.
    next_plot : int
        Next free number.
    """
    plots: list[dict[str, Any]] = []
    nobody = first_plot
    for cell, count in _counts(world, winter.cells, first_plot):
        for _ in range(count):
            plots.append(_plot(world, cell, nobody, spare=False))
            nobody += 1
    for cell in winter.cells:
        plots.append(_plot(world, cell, nobody, spare=True))
        nobody += 1
    draw = {
        "draw": number, "made_on": (winter.first - timedelta(days=5)).isoformat(),
        "seed": 30 + number, "how": "drawn", "when": "survey", "plots": plots,
    }
    return draw, nobody


def _counts(world: World, cells: Iterable[str], first: int) -> Iterator[tuple[str, int]]:
    """Give each cell two to four plots; the pool's cell is put where its last has its number."""
    at = first
    pool_from = POOL_PLOT - 3
    rest = [cell for cell in cells if cell != POOL_CELL]
    wanted = POOL_CELL in cells
    for cell in rest:
        if wanted and at == pool_from:
            yield POOL_CELL, 4
            at, wanted = at + 4, False
        count = int(world.rng.integers(2, 5))
        if wanted and at < pool_from < at + count:
            count = pool_from - at
        yield cell, count
        at += count
    if wanted:
        yield POOL_CELL, 4


def _plot(world: World, cell: str, number: int, *, spare: bool) -> dict[str, Any]:
    e, n = world.place_in(cell, 0.0)
    lat, lon = world.projection.to_deg(e, n)
    return {
        "plot": f"{number:03d}", "cell": cell, "lat": round(float(lat), 7),
        "lon": round(float(lon), 7), "spare": spare, "again": False, "pegged": False,
        "chance": 0.5,
    }


def survey(world: World, winter: Winter) -> None:
    """Walk a winter's plots with two phones, hand over each week, weigh the clips.

    Parameters
    ----------
    world : World
        With the sheet of this winter on the phones.
    winter : Winter
        What to do.
    """
    walker = _Walker(world, winter)
    day = winter.first
    halves = _halves(world, winter.cells)
    while any(halves.values()):
        for code, cells in halves.items():
            person = "SL" if code == "p1" else "SW"
            halves[code] = walker.day(world.phones[code], person, day, cells)
        day = _next_workday(day)
        if day.weekday() == 0:
            world.hand_over_all(local(day, 6))
    world.hand_over_all(local(day, 18))
    _weigh(world, walker.clips, day + timedelta(days=24))


def _halves(world: World, cells: Sequence[str]) -> dict[str, list[str]]:
    ordered = sorted(cells)
    half = len(ordered) // 2
    return {"p1": ordered[:half], "p4": ordered[half:]}


def _next_workday(day: date) -> date:
    return day + timedelta(days=3 if day.weekday() == 4 else 1)


class _Walker:
    """Walks plots day by day; keeps what is still to be skipped and clipped."""

    def __init__(self, world: World, winter: Winter) -> None:
        self.world = world
        self.to_skip: list[Why] = list(winter.skips)
        self.to_clip = dict(winter.clips)
        self.clips: list[tuple[str, str, date]] = []
        self.seen = 0

    def day(
        self, phone: DemoPhone, person: str, day: date, cells: list[str]
    ) -> list[str]:
        """Read plots for one day; give the cells that are left."""
        sheet = phone.sheet
        if sheet is None or not cells:
            return []
        at = local(day, 9)
        outing = phone.outing()
        outing.start(person, "surveyor", now=phone.clock(at), where=None, sheet=sheet)
        walk = Walk(outing, sheet)
        left = list(cells)
        for _ in range(_PLOTS_A_DAY):
            at += timedelta(minutes=int(self.world.rng.integers(22, 36)))
            plots = [p for p in walk.left(at) if p.cell in left]
            left = [cell for cell in left if any(p.cell == cell for p in plots)]
            if not left:
                break
            plot = next(p for p in plots if p.cell == left[0])
            self._read(phone, outing, walk, plot, at)
        outing.end([], now=phone.clock(at + timedelta(minutes=15)), where=None)
        return left

    def _read(
        self, phone: DemoPhone, outing: Outing, walk: Walk, plot: Plot, at: datetime
    ) -> None:
        self.seen += 1
        sheet = outing.sheet
        if sheet is None:
            return
        lat, lon = sheet.map.to_deg(*plot.at)
        where = phone.where(lat, lon, 4.0)
        why = self._reason(plot)
        if why is not None:
            walk.skip(plot, why, now=at, where=where)
            return
        day = at.astimezone(ZoneInfo(ZONE)).date()
        cover, depths = self.world.moss.reading(plot.cell, day, sheet.probes)
        quadrat = Quadrat.begin(outing, plot, now=at, where=where)
        quadrat.value(cover)
        if cover > 0:
            for depth in depths:
                quadrat.value(depth)
        quadrat.none()
        if self.seen % 4 == 0:
            quadrat.add(water_table_mm=-10 * int(self.world.rng.integers(8, 18)))
        self._clip(outing, quadrat, plot, cover, depths, at)
        quadrat.save(now=at + timedelta(minutes=3))

    def _reason(self, plot: Plot) -> Why | None:
        """Say why a plot cannot be read: the pool, and a few chance ones early in the walk."""
        if plot.name == f"{POOL_PLOT:03d}":
            return "pool"
        if self.to_skip and not plot.spare and self.seen % 17 == 5:
            return self.to_skip.pop(0)
        return None

    def _clip(
        self, outing: Outing, quadrat: Quadrat, plot: Plot, cover: int,
        depths: tuple[int, ...], at: datetime,
    ) -> None:
        """Cut a plug in full cover, where its class still wants one and the strand is deep."""
        ground = self.world.moss.class_of[plot.cell]
        if not self.to_clip.get(ground) or cover < 20 or min(depths) < _PLUG_MM:
            return
        if self.seen % 3 != 0:
            return
        notes = Notes(outing, zone=ZoneInfo(ZONE))
        label = notes.label()
        quadrat.add(clip=label)
        notes.clip(label, now=at + timedelta(minutes=2), where=None, cut="plug",
                   area_m2=_PLUG_M2, from_mm=0, to_mm=_PLUG_MM)
        self.to_clip[ground] -= 1
        self.clips.append((label, plot.cell, at.astimezone(ZoneInfo(ZONE)).date()))


def _weigh(world: World, clips: Sequence[tuple[str, str, date]], day: date) -> None:
    """Enter the oven-dry weights of the clips at the shed."""
    rows = []
    for label, cell, _ in clips:
        shed_g = world.moss.density(cell) * _PLUG_MM * _PLUG_M2
        factor = max(0.3, float(world.rng.normal(1.0, 0.22)))
        rows.append({
            "day": day.isoformat(), "person": "O", "clip": label, "dried": "oven",
            "dry_g": round(shed_g * _WATER_BARE * factor, 1),
        })
    if rows:
        world.form("clip", rows, local(day, 18))
