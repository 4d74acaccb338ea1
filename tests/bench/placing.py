"""Kilos in the wrong cell, and early picks as likely as they are told, where the truth is known.

Pickers work lanes across the borders of cells; their receivers err by a radius that holds 68 %,
and the error lasts: its correlation falls to 1/e in ten minutes. Bags are tallied where they were
filled, and carried to a pile 30 m off. Three rules are set beside one another on the same draws:
picking time along the track, the chances of the tally's own fix, and the cell of the pile.
Then early picks: a gang works beside a resting cell, and what is told of it is put into ten bins.
It asserts nothing.
Run: python tests/bench/placing.py [--pickers N] [--gangs N]
"""

import argparse
import dataclasses
import math
import sys
import time
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta

import numpy as np
import numpy.typing as npt

from fieldapp.record import Where
from sync.block import BagType, Block, Feature, Grid, Rule
from sync.flags.chances import in_groups
from sync.geometry.bags import Trodden, place_bags
from sync.geometry.crs import Projection, projection
from sync.geometry.grid import cell_of
from sync.geometry.ground import Ground, ground_on
from sync.geometry.picking import squares_of
from sync.geometry.placed import Placed
from sync.intake.fixes import ms_of
from sync.intake.seen import BagSeen, OutingSeen, TrackSeen
from sync.picks.early import chance_of_sum
from sync.picks.presses import with_groups
from sync.settings import R68_PER_SIGMA, Tunables

Floats = npt.NDArray[np.float64]
DAY = date(2026, 1, 22)
START = datetime(2026, 1, 21, 19, tzinfo=UTC)
SIDE_M = 600.0
ORIGIN = (1329400.0, 5249300.0)
FIX_S = 5.0
ERROR_LASTS_S = 600.0
#: A lane's width, and how long a bag of it takes. [m], [s]
LANE_M, BAG_S = 3.0, 1000.0
#: Ground that fills a bag. [m²]
BAG_M2 = 30.0
PILE_OFF_M = 30.0
WALK_M_S = 1.0
BAGS_A_DAY = 20
TUNABLES = Tunables()


@dataclasses.dataclass(frozen=True)
class Day:
    """One picker's day: presses, track, and for each bag where it truly came from, by cell."""

    bags: list[BagSeen]
    track: TrackSeen
    truth: list[dict[str, float]]
    piles: list[tuple[float, float]]


def block_of(cell_m: float) -> tuple[Ground, Projection]:
    """Make a square block of whole cells."""
    ground = projection(2193)
    grid = Grid(ORIGIN[0], ORIGIN[1], cell_m)
    ring = [(0.0, 0.0), (SIDE_M, 0.0), (SIDE_M, SIDE_M), (0.0, SIDE_M), (0.0, 0.0)]
    lat, lon = ground.to_deg(*(np.array(ring).T + np.array([ORIGIN]).T))
    outline = Feature(
        {"type": "Polygon", "coordinates": [np.column_stack((lon, lat)).tolist()]}, {})
    block = Block("t", "Test Mire", "UTC", 2193, grid, (7, 1), (Rule(None, 60, 5.0, 40.0, 30.0),),
                  (BagType("sack", 90.0, 7.0),), outline=(outline,))
    return ground_on(block, ground, DAY), ground


def picker_day(
    rng: np.random.Generator, ground: Ground, r68_m: float, *, bags: int = BAGS_A_DAY,
    start: tuple[float, float] | None = None,
) -> Day:
    """Let a picker work lanes for a day, from some place on."""
    x, y = start or tuple(rng.uniform(120.0, SIDE_M - 120.0, 2))
    heading, lane_long = rng.choice([-1.0, 1.0], 2), rng.uniform(25.0, 60.0)
    places: list[tuple[float, float]] = []
    filled: list[int] = []
    truth: list[dict[str, float]] = []
    piles: list[tuple[float, float]] = []
    begun = 0.0
    for _ in range(bags):
        long = BAG_M2 / LANE_M
        steps = max(1, round(BAG_S * rng.uniform(0.7, 1.3) / FIX_S))
        here = []
        for _ in range(steps):
            begun += long / steps
            x += heading[0] * long / steps
            if begun >= lane_long:  # turn into the next lane
                begun, heading[0], y = 0.0, -heading[0], y + heading[1] * LANE_M
            here.append((x, y))
        truth.append(shares_in(ground, here))
        places += here
        filled.append(len(places))
        angle = rng.uniform(0.0, 2.0 * math.pi)
        pile = (x + PILE_OFF_M * math.cos(angle), y + PILE_OFF_M * math.sin(angle))
        piles.append(pile)
        places += walked((x, y), pile) + walked(pile, (x, y))
    return seen(rng, ground, np.array(places), filled, r68_m, truth, piles)


def walked(one: tuple[float, float], other: tuple[float, float]) -> list[tuple[float, float]]:
    """Give a fix every few seconds of a walk."""
    far = math.dist(one, other)
    steps = max(1, round(far / WALK_M_S / FIX_S))
    return [(one[0] + (other[0] - one[0]) * i / steps, one[1] + (other[1] - one[1]) * i / steps)
            for i in range(1, steps + 1)]


def shares_in(ground: Ground, places: Sequence[tuple[float, float]]) -> dict[str, float]:
    """Give the part of some ground in each cell."""
    shares: dict[str, float] = {}
    for x, y in places:
        cell = cell_of(ground.grid, ORIGIN[0] + x, ORIGIN[1] + y)
        shares[str(cell)] = shares.get(str(cell), 0.0) + 1.0 / len(places)
    return shares


def errors(rng: np.random.Generator, count: int, sigma_m: float) -> Floats:
    """Draw errors that last: each is the one before, faded, and something new."""
    keeps = math.exp(-FIX_S / ERROR_LASTS_S)
    fresh = rng.normal(0.0, sigma_m * math.sqrt(1.0 - keeps**2), (count, 2))
    found = np.empty((count, 2))
    found[0] = rng.normal(0.0, sigma_m, 2)
    for i in range(1, count):
        found[i] = keeps * found[i - 1] + fresh[i]
    return found


def seen(
    rng: np.random.Generator, ground: Ground, places: Floats, filled: Sequence[int], r68_m: float,
    truth: list[dict[str, float]], piles: list[tuple[float, float]],
) -> Day:
    """Look at a day by a receiver that errs."""
    found = places + errors(rng, len(places), r68_m / R68_PER_SIGMA)
    lat, lon = ground.projection.to_deg(ORIGIN[0] + found[:, 0], ORIGIN[1] + found[:, 1])
    at_ms = np.array([round(ms_of(START) + 1000.0 * FIX_S * i) for i in range(len(found))],
                     dtype=np.int64)
    track = TrackSeen(at_ms, np.asarray(lat), np.asarray(lon), np.full(len(found), r68_m))
    bags = []
    for number, i in enumerate(filled, 2):
        last = i - 1
        at = START + timedelta(seconds=FIX_S * last)
        where = Where(float(lat[last]), float(lon[last]), 1.0, r68_m)
        bags.append(BagSeen(f"p1-aaaa:{number}", at, DAY, "p1-aaaa", number, "MT", True, 1.0, None,
                            None, None, None, where, None))
    return Day(bags, track, truth, piles)


def placed(ground: Ground, day: Day, *, tracked: bool) -> tuple[Placed, ...]:
    """Place a day's bags as the register does."""
    start = OutingSeen("p1-aaaa:1", START, DAY, "p1-aaaa", 1, "MT", "start")
    trodden = Trodden(day.bags, [start], {"p1-aaaa": day.track} if tracked else {})
    return place_bags(trodden, lambda _: ground, ground.projection, TUNABLES)


def wrong_part(told: dict[str, float], truth: dict[str, float]) -> float:
    """Give the part of a bag's kg that is not in the cell it came from."""
    return 1.0 - sum(min(share, truth.get(cell, 0.0)) for cell, share in told.items())


def wrong_kilos(seed: int, pickers: int) -> None:
    """Print the share of kg in the wrong cell by each rule."""
    print(f"kg in the wrong cell, %: {pickers} pickers' days of {BAGS_A_DAY} bags a line")
    print(f"{'r68 m':>6}{'cell m':>8}{'track time':>12}{'tally point':>13}{'pile':>8}")
    for r68_m in (5.0, 12.0):
        for cell_m in (100.0, 50.0):
            rng = np.random.default_rng([seed, int(r68_m), int(cell_m)])
            ground, _ = block_of(cell_m)
            sums = np.zeros(3)
            for _ in range(pickers):
                day = picker_day(rng, ground, r68_m)
                by_track, by_fix = (placed(ground, day, tracked=one) for one in (True, False))
                for track, fix, truth, pile in zip(by_track, by_fix, day.truth, day.piles,
                                                   strict=True):
                    likeliest = max(fix.chances, key=lambda c: fix.chances[c], default="")
                    (at_pile,) = shares_in(ground, [pile])
                    sums += [wrong_part(told, truth) for told in (
                        dict(track.chances), {likeliest: 1.0}, {at_pile: 1.0})]
            part = 100.0 * sums / (pickers * BAGS_A_DAY)
            print(f"{r68_m:6.0f}{cell_m:8.0f}{part[0]:12.1f}{part[1]:13.1f}{part[2]:8.1f}",
                  flush=True)


def early_told(rng: np.random.Generator, ground: Ground, r68_m: float, *,
               tracked: bool) -> tuple[float, bool]:
    """Let a picker fill a few bags beside C03; give the chance told, and what was so."""
    start = (rng.uniform(205.0, 290.0), 300.0 + rng.normal(0.0, 9.0))
    day = picker_day(rng, ground, r68_m, bags=int(rng.integers(3, 8)), start=start)
    bags = with_groups(placed(ground, day, tracked=tracked), TUNABLES)
    points, amounts = in_groups([(one, one.part_in("C03")) for one in bags])
    told = chance_of_sum(points, amounts, TUNABLES.early_bags)
    return told, sum(truth.get("C03", 0.0) for truth in day.truth) >= TUNABLES.early_bags


def early_picks(seed: int, gangs: int, *, tracked: bool) -> None:
    """Print how often an early pick was one, by the chance told."""
    print(f"\nearly picks, {gangs} gangs beside a resting cell, r68 5 and 12 m, "
          f"{'with' if tracked else 'without'} tracks")
    print(f"{'told':>12}{'gangs':>7}{'mean told':>11}{'happened':>10}{'2 SE':>7}")
    rng = np.random.default_rng([seed, 99])
    ground, _ = block_of(100.0)
    told = np.array([early_told(rng, ground, r68_m, tracked=tracked)
                     for r68_m in (5.0, 12.0) for _ in range(gangs // 2)])
    edges = np.linspace(0.0, 1.0, 11)
    bins = np.clip(np.digitize(told[:, 0], edges) - 1, 0, 9)
    for i in range(10):
        here = told[bins == i]
        if not len(here):
            continue
        mean, was = here.mean(axis=0)
        error = 2.0 * math.sqrt(max(mean * (1.0 - mean), 0.25 / len(here)) / len(here))
        print(f"{edges[i]:6.1f}–{edges[i + 1]:.1f}{len(here):9d}{mean:11.3f}{was:10.3f}"
              f"{error:7.3f}", flush=True)


def speed(seed: int, outings: int) -> None:
    """Print how long days of eight hours take, beside a bare look-up of each fix's square."""
    rng = np.random.default_rng([seed, 7])
    ground, _ = block_of(100.0)
    days = [picker_day(rng, ground, 5.0, bags=29) for _ in range(outings)]
    fixes = sum(len(day.track) for day in days)
    began = time.perf_counter()
    for day in days:
        placed(ground, day, tracked=True)
    took = time.perf_counter() - began
    began = time.perf_counter()
    for day in days:
        e, n = ground.projection.to_m(day.track.lat, day.track.lon)
        squares_of(ground.grid, e, n)
    bare = time.perf_counter() - began
    print(f"\n{outings} outings, {fixes:,} fixes placed in {took:.2f} s, {took / bare:.1f} times "
          "a bare look-up of each fix's square")


def main() -> None:
    """Run all of it."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--pickers", type=int, default=60)
    parser.add_argument("--gangs", type=int, default=3000)
    parser.add_argument("--seed", type=int, default=20)
    asked = parser.parse_args()
    began = time.perf_counter()
    wrong_kilos(asked.seed, asked.pickers)
    for tracked in (True, False):
        early_picks(asked.seed, asked.gangs, tracked=tracked)
    speed(asked.seed, 100)
    sys.stderr.write(f"{time.perf_counter() - began:.0f} s\n")


if __name__ == "__main__":
    main()
