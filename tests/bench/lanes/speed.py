"""How long placing and sweeping take, beside plain geopandas on the same outings.

Rule 1: the same part is timed on both sides: from fixes in degrees to the part of picking time by
cell and bag, to the swept ground by cell. What placing does besides (steadying, chances, ranges)
is timed apart.
Rule 2: ground and cells are there before; reading files is nobody's time.
"""

import time

import numpy as np
import shapely

from lanes.plain import frames_of, shares_by_join, swept_by_overlay
from lanes.seen import START, Day, errors_of, ground_of_cells, placed, seen
from lanes.work import WORKS, worked
from sync.geometry.ground import Ground
from sync.geometry.picking import ground_track, spell_of, time_by_cell
from sync.geometry.tracing import Asked, trace_of
from sync.intake.fixes import ms_of
from sync.settings import Tunables

TUNABLES = Tunables()
#: Where an outing is of one local day.
ZONE = "Pacific/Auckland"
#: Bags of a long day, twenty minutes each with the walk. [-]
BAGS = 29


def shares_alone(day: Day, ground: Ground) -> list[dict[str, float]]:
    """Give the part of picking time by cell for each bag, and nothing else."""
    track = ground_track(ground.projection, day.track, worst_m=TUNABLES.worst_fix_m,
                         fastest_m_s=TUNABLES.walking_m_s)
    since_ms, found = ms_of(START), []
    for bag in day.bags:
        until_ms = ms_of(bag.at)
        spell = spell_of(track, since_ms=since_ms, until_ms=until_ms,
                         longest_s=TUNABLES.longest_fix_s)
        found.append(time_by_cell(ground, spell))
        since_ms = until_ms
    return found


def swept_alone(day: Day, ground: Ground) -> dict[str, float]:
    """Give the ground that hands went over by cell, as the register does. [m²]."""
    trace = trace_of(day.track, Asked({}, (), sweeps=True), lambda _: ground, ground.projection,
                     TUNABLES, zone=ZONE)
    return {cell: float(shapely.from_wkb(wkb).area) for (_, cell), wkb in trace.swept.items()}


def sweeping(days: list[Day], ground: Ground, fixes: object, cells: object) -> float:
    """Print the time of sweeping and its ratio to the plain overlay; give ours. [s]."""
    clock = time.perf_counter
    began = clock()
    theirs = swept_by_overlay(fixes, cells, TUNABLES).to_dict()
    by_overlay = clock() - began
    began = clock()
    ours = {(i, cell): m2 for i, day in enumerate(days)
            for cell, m2 in swept_alone(day, ground).items()}
    by_us = clock() - began
    whole = [sum(each.values()) for each in (ours, theirs)]
    apart = max(abs(ours.get(key, 0.0) - theirs.get(key, 0.0)) for key in {*ours, *theirs})
    print(f"swept ground by cell: {by_us:.2f} s; geopandas buffers and overlay of the same: "
          f"{by_overlay:.2f} s, {by_overlay / by_us:.1f} times as long (wanted: 1 or more)\n"
          f"{whole[0]:,.0f} and {whole[1]:,.0f} m2 in all; a cell differs by {apart:.1f} m2 at "
          "most")
    return by_us


def speed(seed: int, outings: int) -> None:
    """Print the times of some outings and their ratios."""
    rng = np.random.default_rng([seed, 7])
    ground = ground_of_cells(100.0)
    days = []
    for _ in range(outings):
        true = worked(rng, WORKS[1], rng.uniform(150.0, 450.0, 2), BAGS)
        days.append(seen(ground, true, errors_of(rng, len(true.body), 5.0), 5.0))
    fixes, presses, cells = frames_of(days, ground)
    clock = time.perf_counter
    began = clock()
    joined = shares_by_join(fixes, presses, cells, TUNABLES)
    by_join = clock() - began
    began = clock()
    alone = [shares_alone(day, ground) for day in days]
    by_us = clock() - began
    began = clock()
    for day in days:
        placed(ground, [day])
    whole = clock() - began
    ours = {(i, j, cell): part for i, day in enumerate(alone) for j, bag in enumerate(day)
            for cell, part in bag.items()}
    theirs = joined.to_dict()
    apart = max(abs(ours.get(key, 0.0) - theirs.get(key, 0.0)) for key in {*ours, *theirs})
    print(f"\n{outings} outings of a day, {len(fixes):,} fixes, {len(presses):,} bags\n"
          f"shares of picking time: {by_us:.2f} s; geopandas join of the same: {by_join:.2f} s, "
          f"{by_join / by_us:.1f} times as long (wanted: 5 or more)\n"
          f"the two differ by {apart:.1e} at most\n"
          f"all of placing, with steadying, chances and ranges: {whole:.2f} s; the plain join is "
          f"{by_join / whole:.1f} times that")
    swept = sweeping(days, ground, fixes, cells)
    print(f"placed and swept: {whole + swept:.1f} s on one core (wanted: under 60)")
