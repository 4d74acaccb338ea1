"""What phone and shed see of a day: a block of whole cells, a receiver that errs, presses."""

import dataclasses
import math
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta

import numpy as np
from scipy.signal import lfilter

from fieldapp.record import Where
from lanes.work import Floats, Worked
from sync.block import BagType, Block, Feature, Grid, Rule
from sync.geometry.bags import Trodden, place_bags
from sync.geometry.crs import projection
from sync.geometry.grid import cell_of
from sync.geometry.ground import Ground, ground_on
from sync.geometry.placed import Placed
from sync.intake.fixes import ms_of
from sync.intake.seen import BagSeen, OutingSeen, TrackSeen
from sync.settings import R68_PER_SIGMA, Tunables

DAY = date(2026, 1, 22)
START = datetime(2026, 1, 21, 19, tzinfo=UTC)
SIDE_M = 600.0
ORIGIN = np.array([1329400.0, 5249300.0])
#: A fix every so many seconds, and how long the receiver's error lasts. [s]
FIX_S, ERROR_LASTS_S = 5, 600.0
DEVICE, PICKER = "p1-aaaa", "MT"
#: Numbers that a phone may give its records on one day.
A_DAY = 100


@dataclasses.dataclass(frozen=True)
class Day:
    """One picker's day as it was noted."""

    began: OutingSeen
    bags: list[BagSeen]
    track: TrackSeen


def ground_of_cells(cell_m: float) -> Ground:
    """Make a square block of whole cells."""
    ground = projection(2193)
    ring = np.array([(0.0, 0.0), (SIDE_M, 0.0), (SIDE_M, SIDE_M), (0.0, SIDE_M), (0.0, 0.0)])
    lat, lon = ground.to_deg(*(ring + ORIGIN).T)
    outline = Feature(
        {"type": "Polygon", "coordinates": [np.column_stack((lon, lat)).tolist()]}, {})
    grid = Grid(float(ORIGIN[0]), float(ORIGIN[1]), cell_m)
    block = Block("t", "Test Mire", "UTC", 2193, grid, (7, 1),
                  (Rule(None, 60, 5.0, 40.0, 30.0),), (BagType("sack", 90.0, 7.0),),
                  outline=(outline,))
    return ground_on(block, ground, DAY)


def shares_in(ground: Ground, places: Floats) -> dict[str, float]:
    """Give the part of some places in each cell."""
    squares, counts = np.unique(
        np.floor(places / ground.grid.cell_m), axis=0, return_counts=True)
    middles = ORIGIN + (squares + 0.5) * ground.grid.cell_m
    return {str(cell_of(ground.grid, *middle)): count / len(places)
            for middle, count in zip(middles.tolist(), counts.tolist(), strict=True)}


def errors_of(rng: np.random.Generator, lasts_s: float, r68_m: float) -> Floats:
    """Draw a receiver's errors for each fix of a day: each is the one before, faded, and new."""
    count, sigma_m = math.ceil(lasts_s / FIX_S), r68_m / R68_PER_SIGMA
    keeps = math.exp(-FIX_S / ERROR_LASTS_S)
    fresh = rng.normal(0.0, sigma_m * math.sqrt(1.0 - keeps**2), (count, 2))
    fresh[0] = rng.normal(0.0, sigma_m, 2)
    lasting: Floats = lfilter([1.0], [1.0, -keeps], fresh, axis=0)
    return lasting


def seen(
    ground: Ground, day: Worked, errors: Floats, r68_m: float, *, number: int = 0,
    confirmed: str | None = None,
) -> Day:
    """Look at a day by a receiver that errs; each bag is tallied where it was filled.

    `number` counts days from `DAY` on, `confirmed` is the cell that the picker said.
    """
    places = day.body[::FIX_S]
    found = ORIGIN + places + errors[:len(places)]
    lat, lon = (np.asarray(one) for one in ground.projection.to_deg(*found.T))
    start, first = START + timedelta(days=number), 1 + number * A_DAY
    at_ms = (round(ms_of(start)) + 1000 * FIX_S * np.arange(len(places))).astype(np.int64)
    bags = []
    for seq, second in enumerate(day.filled, first + 1):
        last = (second - 1) // FIX_S
        where = Where(float(lat[last]), float(lon[last]), 1.0, r68_m)
        bags.append(BagSeen(
            f"{DEVICE}:{seq}", start + timedelta(seconds=second), DAY + timedelta(days=number),
            DEVICE, seq, PICKER, own=True, bags=1.0, bag_type=None, pile=None, cell=None,
            confirmed=confirmed, where=where, covers=None))
    began = OutingSeen(f"{DEVICE}:{first}", start, DAY + timedelta(days=number), DEVICE, first,
                       PICKER, "start")
    return Day(began, bags, TrackSeen(at_ms, lat, lon, np.full(len(places), r68_m)))


def placed(
    ground: Ground, days: Sequence[Day], *, tracked: bool = True,
    tunables: Tunables | None = None,
) -> tuple[Placed, ...]:
    """Place the bags of some days as the register does."""
    track = TrackSeen(*(np.concatenate([getattr(day.track, name) for day in days])
                        for name in ("at_ms", "lat", "lon", "acc_m")))
    trodden = Trodden([bag for day in days for bag in day.bags], [day.began for day in days],
                      {DEVICE: track} if tracked else {})
    return place_bags(trodden, lambda _: ground, ground.projection, tunables or Tunables())
