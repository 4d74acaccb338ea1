"""Two winters of surveying: plots are walked and read, and clips are cut and weighed.

Rule 1: every reading goes through the capture of a phone.
Rule 2: a plot that cannot be read is skipped with its reason; its spare stands in.
"""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from fieldapp.capture.notes import Notes
from fieldapp.capture.outing import Outing
from fieldapp.capture.quadrat import Quadrat
from fieldapp.capture.walk import Walk, Why
from fieldapp.ground import Plot
from sync.demo.draws import POOL_PLOT, Winter
from sync.demo.moss import Spot
from sync.demo.phones import DemoPhone
from sync.demo.place import COUNTS_DOTS, ZONE, local
from sync.demo.world import World

_PLOTS_A_DAY = 11
_PLUG_M2, _PLUG_MM = 0.0625, 60
#: One plug's weight against its class's density.
_PLUG_CV = 0.22
#: Oven-dry over shed-dry mass, at 12 % moisture.
_OVEN_DRY = 0.88
#: One surveyor sees more moss than there is.
_READS = {"SL": 1.0 / 0.92}
#: Bare or nearly bare frames tell nothing of a reader. [%]
_WORTH_DOTS_PCT = 20


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
    _read_again(world, walker.again, day)
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
        self.again: list[tuple[str, date, Spot]] = []
        self.to_read_again = winter.again
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
        mine = self._todo(walk, at, cells)
        for _ in range(_PLOTS_A_DAY):
            if not mine:
                break
            at += timedelta(minutes=int(self.world.rng.integers(22, 36)))
            if self._read(phone, outing, walk, mine.pop(0), at, _READS.get(person, 1.0)):
                mine = self._todo(walk, at, cells)
        outing.end([], now=phone.clock(at + timedelta(minutes=15)), where=None)
        return list(dict.fromkeys(plot.cell for plot in mine))

    def _todo(self, walk: Walk, at: datetime, cells: Sequence[str]) -> list[Plot]:
        """Give the plots left in some cells, cell by cell; a plot not seen calls its spare."""
        rank = {cell: i for i, cell in enumerate(cells)}
        left = [plot for plot in walk.left(at) if plot.cell in rank]
        return sorted(left, key=lambda plot: rank[plot.cell])

    def _read(
        self, phone: DemoPhone, outing: Outing, walk: Walk, plot: Plot, at: datetime,
        reads: float,
    ) -> bool:
        """Read a plot, or skip it; True if it was skipped."""
        self.seen += 1
        sheet = outing.sheet
        if sheet is None:
            return False
        lat, lon = sheet.map.to_deg(*plot.at)
        where = phone.where(lat, lon, 4.0)
        why = self._reason(plot)
        if why is not None:
            walk.skip(plot, why, now=at, where=where)
            return True
        day = at.astimezone(ZoneInfo(ZONE)).date()
        spot = self.world.moss.reading(plot.cell, day, sheet.probes, reads=reads)
        cover, depths = spot.cover_pct, spot.depth_mm
        if reads != 1.0 and cover >= _WORTH_DOTS_PCT and len(self.again) < self.to_read_again:
            self.again.append((plot.name, day, spot))
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
        return False

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
        if ground != "rushy" and self.seen % 3 != 0:
            return
        notes = Notes(outing, zone=ZoneInfo(ZONE))
        label = notes.label()
        quadrat.add(clip=label)
        notes.clip(label, now=at + timedelta(minutes=2), where=None, cut="plug",
                   area_m2=_PLUG_M2, from_mm=0, to_mm=_PLUG_MM)
        self.to_clip[ground] -= 1
        self.clips.append((label, plot.cell, at.astimezone(ZoneInfo(ZONE)).date()))


def _read_again(world: World, again: Sequence[tuple[str, date, Spot]], day: date) -> None:
    """Type in what the other surveyor counted by dots on plots that had just been read."""
    rows = [{
        "day": (read + timedelta(days=1)).isoformat(), "person": COUNTS_DOTS, "plot": plot,
        "when": "survey", "again": "true", "side_m": 0.5, "cover_pct": spot.dots_pct,
        "depth_mm": " ".join(str(depth) for depth in spot.depth_mm),
    } for plot, read, spot in again]
    if rows:
        world.form("quadrat", rows, local(day, 19))


def _weigh(world: World, clips: Sequence[tuple[str, str, date]], day: date) -> None:
    """Enter the oven-dry weights of the clips at the shed."""
    rows = []
    for label, cell, _ in clips:
        shed_g = world.moss.density(cell) * _PLUG_MM * _PLUG_M2
        factor = max(0.3, float(world.rng.normal(1.0, _PLUG_CV)))
        rows.append({
            "day": day.isoformat(), "person": "O", "clip": label, "dried": "oven",
            "dry_g": round(shed_g * _OVEN_DRY * factor, 1),
        })
    if rows:
        world.form("clip", rows, local(day, 18))
