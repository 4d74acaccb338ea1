"""Kilos in the wrong cell, and early picks as likely as they are told, where the truth is known.

A picker works lanes in any direction (`lanes/work.py`), day after day on one block; the receiver
errs by a radius that holds 68 %, and the error lasts: its correlation falls to 1/e in ten minutes.
Bags are tallied where they were filled, and carried to a pile 30 m off. The truth is where the
hands were each second. Ways set beside one another on the same draws: picking time along the
steadied track with the picker's word on the day's cell, the same without the word, the same
without steadying either, the cell of the tally's own fix, the cell of the pile.

Three worlds of the same draws (`lanes/worlds.py`). The bounds are read in the first, pickers
working lanes in cells: the day's cell is confirmed on the phone, its pegs are seen, and lanes turn
back at them. In the second the picker knows the border by the erring phone alone and strays by its
error: no track that errs alike and no word can see that, so the word moves some of those bags the
wrong way (0.1 points fewer to 1.1 more in the wrong cell than by the track alone, 40 days a line,
seed 20). In the third lanes know nothing of cells and cross borders as they come; the word is
where the phone saw the start of the day, so it is often wrong, and is weighed as little (none
fewer to 0.5 more). In neither are the bounds of 50 m cells met, by word or track. The word is
worth what it proved worth on the days before, as in the register: the first day counts too, on
which it is worth nothing.

What position alone can do. A bag filled on one spot, anywhere in a cell of side s, is put into the
wrong cell by an error of standard deviation σ each way with chance 2·0.798 σ/s − (0.798 σ/s)²,
0.798 being √(2/π): σ = r68/1.51 gives 5.2 % (5 m, 100 m), 10.3 % (5 m, 50 m), 12.3 % (12 m, 100 m)
and 23.8 % (12 m, 50 m). Sharing seconds does not help a bag on one spot: each second errs with
that chance. A pile 30 m off in any direction is in another cell for 4·30/πs − 30²/πs² of the bags:
35.3 and 64.9 %. (Derived.)

Early picks: a picker starts anywhere about a resting cell, up to a lane's length off, and what is
told of it is put into ten bins. The chance told takes every place as likely before the track is
seen; so do these draws. Starts crowded about the border would make low chances come true less
often than told, and that would be the draws' doing.
Speed: placing beside a plain geopandas join, sweeping beside a plain geopandas overlay
(`lanes/speed.py`).
It asserts nothing.
Run: python tests/bench/placing.py [--only kilos|early|speed] [--world pegs|phone|none]
[--days N] [--pickers N] [--seed N]
"""

import argparse
import dataclasses
import sys
import time
from collections.abc import Sequence

import numpy as np
from lanes.seen import ORIGIN, Day, errors_of, ground_of_cells, placed, seen, shares_in
from lanes.speed import speed
from lanes.work import WORKS, Work, worked
from lanes.worlds import WORLDS, World, days_of, longest_day_s
from scipy.stats import chi2

from sync.flags.chances import in_groups
from sync.geometry.grid import cell_of
from sync.geometry.ground import Ground
from sync.geometry.words import with_words
from sync.picks.early_tracks import chance_of_sum
from sync.picks.presses import with_groups
from sync.settings import Tunables

TUNABLES = Tunables()
#: A pace that no error hides: places stay as they were seen.
AS_SEEN = Tunables(least_pace_m2_s=1e9)
#: 68 % radius, side of a cell [m], and the share of kg wanted in the wrong cell at most. [%]
LINES = ((5.0, 100.0, 3.5), (5.0, 50.0, 5.0), (12.0, 100.0, 6.5), (12.0, 50.0, 10.0))
COLUMNS = ("r68 m", "cell m", "wanted", "with word", "± 2 SE", "track alone", "± 2 SE",
           "the word's", "± 2 SE", "not steadied", "tally point", "pile")


def wrong_part(told: dict[str, float], truth: dict[str, float]) -> float:
    """Give the part of a bag's kg that is not in the cell it came from."""
    return 1.0 - sum(min(share, truth.get(cell, 0.0)) for cell, share in told.items())


def wrong_by_day(
    world: World, work: Work, ground: Ground, r68_m: float, days: int, seed: tuple[int, ...]
) -> np.ndarray:
    """Give the part of each day's kg in the wrong cell, a column for each way."""
    told = list(days_of(world, work, ground, r68_m, days, seed))
    noted = [one.day for one in told]
    alone = placed(ground, [_unsaid(day) for day in noted])
    raw = placed(ground, [_unsaid(day) for day in noted], tunables=AS_SEEN)
    fixes = placed(ground, [_unsaid(day) for day in noted], tracked=False)
    said = with_words([one._replace(bag=bag) for one, bag in zip(
        alone, (bag for day in noted for bag in day.bags), strict=True)], TUNABLES)
    truths = [shares_in(ground, hands) for one in told for hands in one.true.hands]
    piles = [pile for one in told for pile in one.true.piles]
    found = [[
        wrong_part(dict(each), truth) for each in (
            by_word.chances, by_track.chances, as_seen.chances,
            {str(cell_of(ground.grid, fix.e, fix.n)): 1.0},
            {str(cell_of(ground.grid, *(ORIGIN + pile).tolist())): 1.0})]
        for by_word, by_track, as_seen, fix, pile, truth in zip(
            said, alone, raw, fixes, piles, truths, strict=True)]
    by_day: np.ndarray = np.array(found).reshape(days, work.bags, -1).mean(axis=1)
    return by_day


def _unsaid(day: Day) -> Day:
    """Take the word from a day."""
    return dataclasses.replace(
        day, bags=[bag._replace(confirmed=None) for bag in day.bags])


def wrong_kilos(seed: int, days: int, only: str | None) -> None:
    """Print the share of kg in the wrong cell by each way, in each world."""
    for world, doing in WORLDS:
        if only not in {None, world}:
            continue
        print(f"\nkg in the wrong cell, %: {doing}; {days} days a line")
        for number, work in enumerate(WORKS):
            print(f"{work.name}, {work.bag_m:.0f} m and {work.bag_s / 60.0:.0f} min a bag, "
                  f"{work.bags} bags a day")
            print("".join(f"{name:>13}" for name in COLUMNS))
            for r68_m, cell_m, wanted in LINES:
                found = 100.0 * wrong_by_day(
                    world, work, ground_of_cells(cell_m), r68_m, days,
                    (seed, number, int(r68_m), int(cell_m)))
                _print_line((r68_m, cell_m, wanted), found)


def _print_line(line: Sequence[float], found: np.ndarray) -> None:
    word, track, raw, fix, pile = found.T
    shown = [*(_with_error(one) for one in (word, track, word - track)),
             [raw.mean()], [fix.mean()], [pile.mean()]]
    r68_m, cell_m, wanted = line
    print(f"{r68_m:13.0f}{cell_m:13.0f}{wanted:13.1f}"
          + "".join(f"{value:13.2f}" for part in shown for value in part)
          + ("" if word.mean() <= wanted else "  over"), flush=True)


def _with_error(days: np.ndarray) -> list[float]:
    """Give a mean over days and two of its standard errors."""
    return [days.mean(), 2.0 * days.std(ddof=1) / np.sqrt(len(days))]


def early_told(
    rng: np.random.Generator, ground: Ground, work: Work, r68_m: float, *, tracked: bool
) -> tuple[float, bool, bool]:
    """Let a picker fill a few bags about C03; give the chance told, and whether so much was picked
    in it and so many bags tallied there."""
    start, bags = rng.uniform(100.0, 400.0, 2), int(rng.integers(3, 8))
    errors = errors_of(rng, longest_day_s(work, bags), r68_m)
    true = worked(rng, work, start, bags)
    alone = placed(ground, [seen(ground, true, errors, r68_m)], tracked=tracked)
    whose = alone[0].bag.picker, alone[0].bag.device
    found = with_groups({whose: alone}, TUNABLES)[whose]
    points, amounts = in_groups([(one, one.part_in("C03")) for one in found])
    told = chance_of_sum(points, amounts, TUNABLES.early_bags)
    picked = sum(shares_in(ground, hands).get("C03", 0.0) for hands in true.hands)
    tallied = sum(shares_in(ground, hands[-1:]).get("C03", 0.0) for hands in true.hands)
    return told, picked >= TUNABLES.early_bags, tallied >= TUNABLES.early_bags


def early_picks(seed: int, pickers: int, *, tracked: bool) -> None:
    """Print how often an early pick was one, by the chance told: with tracks of what was picked,
    without of where bags were tallied, for nothing else is known then."""
    print(f"\nearly picks, {pickers} pickers about a resting cell, two manners of work, r68 5 "
          f"and 12 m, {'with' if tracked else 'without'} tracks")
    print(f"{'told':>9}{'pickers':>10}{'mean told':>11}{'picked':>10}{'tallied':>10}{'± 2 SE':>8}")
    rng = np.random.default_rng([seed, 99])
    ground = ground_of_cells(100.0)
    told = np.array([
        early_told(rng, ground, work, r68_m, tracked=tracked)
        for work in WORKS[:2] for r68_m in (5.0, 12.0) for _ in range(pickers // 4)])
    edges = np.linspace(0.0, 1.0, 11)
    bins = np.clip(np.digitize(told[:, 0], edges) - 1, 0, 9)
    off = []
    for i in range(10):
        here = told[bins == i]
        if not len(here):
            continue
        mean, picked, tallied = here.mean(axis=0)
        error = 2.0 * np.sqrt(np.sum(here[:, 0] * (1.0 - here[:, 0]))) / len(here)
        gap = (picked if tracked else tallied) - mean
        if error > 0.0:
            off.append(2.0 * gap / error)
        beyond = "  beyond" if abs(gap) > error else ""
        print(f"{edges[i]:5.1f}–{edges[i + 1]:.1f}{len(here):9d}{mean:11.3f}{picked:10.3f}"
              f"{tallied:10.3f}{error:8.3f}{beyond}", flush=True)
    # Where all ten tell the truth, one of them is beyond in more than every third run.
    square = float(np.sum(np.square(off)))
    print(f"all bins together: chi-square {square:.1f} of {len(off)}, so far off by chance in "
          f"{100.0 * chi2.sf(square, len(off)):.0f} of 100 runs")


def main() -> None:
    """Run all of it."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--only", choices=("kilos", "early", "speed"))
    parser.add_argument("--world", choices=[world for world, _ in WORLDS])
    parser.add_argument("--days", type=int, default=100)
    parser.add_argument("--pickers", type=int, default=4000)
    parser.add_argument("--seed", type=int, default=20)
    asked = parser.parse_args()
    began = time.perf_counter()
    if asked.only in {None, "kilos"}:
        wrong_kilos(asked.seed, asked.days, asked.world)
    if asked.only in {None, "early"}:
        for tracked in (True, False):
            early_picks(asked.seed, asked.pickers, tracked=tracked)
    if asked.only in {None, "speed"}:
        speed(asked.seed, 100)
    sys.stderr.write(f"{time.perf_counter() - began:.0f} s\n")


if __name__ == "__main__":
    main()
