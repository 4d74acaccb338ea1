"""Kilos in the wrong cell, and early picks as likely as they are told, where the truth is known.

Pickers work lanes in any direction across cells (`lanes/work.py`); their receivers err by a radius
that holds 68 %, and the error lasts: its correlation falls to 1/e in ten minutes. Bags are tallied
where they were filled, and carried to a pile 30 m off. The truth is where the hands were each
second. Ways set beside one another on the same draws: picking time along the steadied track, the
same without steadying, the cell of the tally's own fix, the cell of the pile.

What can be had. A bag filled on one spot, anywhere in a cell of side s, is put into the wrong cell
by an error of standard deviation σ each way with chance 2·0.798 σ/s − (0.798 σ/s)², 0.798 being
√(2/π): σ = r68/1.51 gives 5.2 % (5 m, 100 m), 10.3 % (5 m, 50 m), 12.3 % (12 m, 100 m) and 23.8 %
(12 m, 50 m). Sharing seconds does not help a bag on one spot: each second errs with that chance.
A pile 30 m off in any direction is in another cell for 4·30/πs − 30²/πs² of the bags: 35.3 and
64.9 %. At most 3.5, 5, 6.5 and 10 % by track time therefore means a standard deviation of the
place of at most 2.2, 1.6, 4.2 and 3.2 m, of 3.3, 3.3, 7.9 and 7.9 m in each fix. (Derived.)

Early picks: a picker works beside a resting cell, and what is told of it is put into ten bins.
Speed: placing beside a plain geopandas join, sweeping beside a plain geopandas overlay
(`lanes/speed.py`).
It asserts nothing.
Run: python tests/bench/placing.py [--days N] [--pickers N] [--seed N]
"""

import argparse
import sys
import time

import numpy as np
from lanes.seen import ORIGIN, ground_of_cells, placed, seen, shares_in
from lanes.speed import speed
from lanes.work import WORKS, Work, worked

from sync.flags.chances import in_groups
from sync.geometry.grid import cell_of
from sync.geometry.ground import Ground
from sync.picks.early import chance_of_sum
from sync.picks.presses import with_groups
from sync.settings import Tunables

TUNABLES = Tunables()
#: A pace that no error hides: places stay as they were seen.
AS_SEEN = Tunables(least_pace_m2_s=1e9)
#: 68 % radius, side of a cell [m], and the share of kg wanted in the wrong cell at most. [%]
LINES = ((5.0, 100.0, 3.5), (5.0, 50.0, 5.0), (12.0, 100.0, 6.5), (12.0, 50.0, 10.0))
COLUMNS = ("r68 m", "cell m", "wanted", "track time", "± 2 SE", "not steadied",
           "tally point", "pile")


def wrong_part(told: dict[str, float], truth: dict[str, float]) -> float:
    """Give the part of a bag's kg that is not in the cell it came from."""
    return 1.0 - sum(min(share, truth.get(cell, 0.0)) for cell, share in told.items())


def wrong_in_a_day(
    rng: np.random.Generator, ground: Ground, work: Work, r68_m: float
) -> tuple[float, float, float, float]:
    """Give the part of a day's kg in the wrong cell by each way."""
    true = worked(rng, work, rng.uniform(200.0, 400.0, 2))
    day = seen(rng, ground, true, r68_m)
    by_track, as_seen, by_fix = (
        placed(ground, day), placed(ground, day, tunables=AS_SEEN),
        placed(ground, day, tracked=False))
    found = []
    for steadied, raw, fix, hands, pile in zip(by_track, as_seen, by_fix, true.hands, true.piles,
                                               strict=True):
        truth = shares_in(ground, hands)
        at_fix, at_pile = (str(cell_of(ground.grid, *place)) for place in (
            (fix.e, fix.n), (ORIGIN + pile).tolist()))
        found.append([wrong_part(told, truth) for told in (
            dict(steadied.chances), dict(raw.chances), {at_fix: 1.0}, {at_pile: 1.0})])
    steadied, raw, at_fix, at_pile = np.mean(found, axis=0)
    return steadied, raw, at_fix, at_pile


def wrong_kilos(seed: int, days: int) -> None:
    """Print the share of kg in the wrong cell by each way."""
    for number, work in enumerate(WORKS):
        print(f"\nkg in the wrong cell, %: {work.name}, {work.bag_m:.0f} m and "
              f"{work.bag_s / 60.0:.0f} min a bag, {days} days of {work.bags} bags a line")
        print("".join(f"{name:>13}" for name in COLUMNS))
        for r68_m, cell_m, wanted in LINES:
            rng = np.random.default_rng([seed, number, int(r68_m), int(cell_m)])
            ground = ground_of_cells(cell_m)
            found = 100.0 * np.array([
                wrong_in_a_day(rng, ground, work, r68_m) for _ in range(days)])
            track, raw, fix, pile = found.mean(axis=0)
            error = 2.0 * found[:, 0].std(ddof=1) / np.sqrt(days)
            print(f"{r68_m:13.0f}{cell_m:13.0f}{wanted:13.1f}{track:13.1f}{error:13.1f}{raw:13.1f}"
                  f"{fix:13.1f}{pile:13.1f}", flush=True)


def early_told(
    rng: np.random.Generator, ground: Ground, work: Work, r68_m: float, *, tracked: bool
) -> tuple[float, bool]:
    """Let a picker fill a few bags beside C03; give the chance told, and what was so."""
    start = np.array([rng.uniform(205.0, 290.0), 300.0 + rng.normal(0.0, 15.0)])
    true = worked(rng, work, start, int(rng.integers(3, 8)))
    bags = with_groups(placed(ground, seen(rng, ground, true, r68_m), tracked=tracked), TUNABLES)
    points, amounts = in_groups([(one, one.part_in("C03")) for one in bags])
    told = chance_of_sum(points, amounts, TUNABLES.early_bags)
    there = sum(shares_in(ground, hands).get("C03", 0.0) for hands in true.hands)
    return told, there >= TUNABLES.early_bags


def early_picks(seed: int, pickers: int, *, tracked: bool) -> None:
    """Print how often an early pick was one, by the chance told."""
    print(f"\nearly picks, {pickers} pickers beside a resting cell, two manners of work, r68 5 "
          f"and 12 m, {'with' if tracked else 'without'} tracks")
    print(f"{'told':>9}{'pickers':>10}{'mean told':>11}{'happened':>10}{'± 2 SE':>8}")
    rng = np.random.default_rng([seed, 99])
    ground = ground_of_cells(100.0)
    told = np.array([
        early_told(rng, ground, work, r68_m, tracked=tracked)
        for work in WORKS[:2] for r68_m in (5.0, 12.0) for _ in range(pickers // 4)])
    edges = np.linspace(0.0, 1.0, 11)
    bins = np.clip(np.digitize(told[:, 0], edges) - 1, 0, 9)
    for i in range(10):
        here = told[bins == i]
        if not len(here):
            continue
        mean, was = here.mean(axis=0)
        error = 2.0 * np.sqrt(np.sum(here[:, 0] * (1.0 - here[:, 0]))) / len(here)
        beyond = "  beyond" if abs(was - mean) > error else ""
        print(f"{edges[i]:5.1f}–{edges[i + 1]:.1f}{len(here):9d}{mean:11.3f}{was:10.3f}"
              f"{error:8.3f}{beyond}", flush=True)


def main() -> None:
    """Run all of it."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--days", type=int, default=200)
    parser.add_argument("--pickers", type=int, default=4000)
    parser.add_argument("--seed", type=int, default=20)
    asked = parser.parse_args()
    began = time.perf_counter()
    wrong_kilos(asked.seed, asked.days)
    for tracked in (True, False):
        early_picks(asked.seed, asked.pickers, tracked=tracked)
    speed(asked.seed, 100)
    sys.stderr.write(f"{time.perf_counter() - began:.0f} s\n")


if __name__ == "__main__":
    main()
