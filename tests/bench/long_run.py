"""Does the range of the long-run yearly figure hold the truth? Made-up blocks of known truth.

Run: python tests/bench/long_run.py [--blocks 300] [--seed 20] [--procs 2]
It prints a table and asserts nothing. The truth is what the same rules give on each cell's true
rested crop at the block's true growth; the pickable share is the register's own, for the made-up
blocks have no other, so this tests the moss and the growth, and not that share.
"""

import argparse
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from datetime import date

import numpy as np
from made_block.case import CASES, Case
from made_block.run import LOOKED, SURVEYED, register_of
from made_block.surveying import first_survey
from made_block.world import FULL, World, made_world

from sync.crop.chain import Crop
from sync.crop.long_run import take_at_mark_kg
from sync.crop.long_run_range import long_run_range
from sync.crop.walk import Growth

NAMES = ("12 clips, 40 % surveyed", "12 clips, 5 % surveyed", "no clips", "one quadrat a cell",
         "40 clips, all surveyed")
ON: date = LOOKED


def truth_kg(world: World, crop: Crop) -> float:
    """Give what the true block would give a year by the same rules. [kg]."""
    growth = Growth(world.rate, 0.0, FULL)
    return sum(
        take_at_mark_kg(
            world.mark_kg[name], one.walked.share, area_m2=one.open_m2, growth=growth,
            rest_years=one.rule.rest_years, keep=one.rule.keep, max_share=one.rule.max_share,
            max_kg_m2=one.rule.max_kg_m2) / one.rule.rest_years
        for name, one in crop.cells.items() if one.walked is not None)


def run_block(case: Case, seed: np.random.SeedSequence) -> tuple[bool, bool, float] | None:
    """Say whether the range held the truth, whether that of the moss alone did, and its width."""
    rng = np.random.default_rng(seed)
    world = made_world(case, rng)
    crop = register_of([first_survey(world, rng, SURVEYED).book], ON).crop
    run = long_run_range(crop)
    if run is None:
        return None
    truth = truth_kg(world, crop)
    alone = 1.645 * run.moss_cv * run.kg
    return (run.low_kg <= truth <= run.high_kg, abs(truth - run.kg) <= alone,
            run.high_kg / run.low_kg if run.low_kg > 0 else np.inf)


def main(argv: Sequence[str] | None = None) -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--blocks", type=int, default=300, help="blocks a line")
    ask.add_argument("--seed", type=int, default=20)
    ask.add_argument("--procs", type=int, default=2)
    said = ask.parse_args(argv)
    print("| made-up blocks | blocks | range held | moss alone would have | high over low |")
    print("|---|---|---|---|---|")
    with ProcessPoolExecutor(said.procs) as pool:
        for number, case in enumerate(CASES):
            if case.name not in NAMES:
                continue
            seeds = np.random.SeedSequence([said.seed, number]).spawn(said.blocks)
            found = [one for one in pool.map(run_block, [case] * said.blocks, seeds, chunksize=4)
                     if one is not None]
            held, alone, width = (np.array(each) for each in zip(*found, strict=True))
            print(f"| {case.name} | {len(found)} | {held.mean():.3f} | {alone.mean():.3f} | "
                  f"{np.median(width):.2f} |", flush=True)


if __name__ == "__main__":
    main()
