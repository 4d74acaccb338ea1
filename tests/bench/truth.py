"""Do the ranges tell the truth? Made-up blocks of known truth, by the real intake and register.

Run: python tests/bench/truth.py [--blocks 300] [--lines TEXT] [--seed 20] [--procs 2] [--out FILE]
It prints tables and asserts nothing.
"""

import argparse
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
from made_block.case import CASES, Case
from made_block.run import Outcome, run_block
from made_block.table import tables

#: Ranges are of 90 %; between these they tell the truth well enough.
LOW, HIGH = 0.86, 0.94
#: A block's figure nearer than this to an end is run again with more blocks.
NEAR = 0.035


def run_line(case: Case, blocks: int, seed: int, pool: ProcessPoolExecutor) -> Outcome:
    """Run a line's blocks, each from its own seed, and pool what they say."""
    number = [one.name for one in CASES].index(case.name)
    seeds = np.random.SeedSequence([seed, number]).spawn(blocks)
    pooled = Outcome()
    for one in pool.map(run_block, [case] * blocks, seeds, chunksize=4):
        for name, seen in vars(one).items():
            if name == "errors":
                for way, errors in seen.items():
                    pooled.errors.setdefault(way, []).extend(errors)
            else:
                getattr(pooled, name).extend(seen)
    return pooled


def near_an_end(outcome: Outcome) -> bool:
    share = float(np.mean(outcome.block))
    return min(abs(share - LOW), abs(share - HIGH)) < NEAR or not LOW <= share <= HIGH


def main(argv: Sequence[str] | None = None) -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--blocks", type=int, default=300, help="blocks a line")
    ask.add_argument("--again", type=int, default=1200,
                     help="blocks where the block's figure lies near an end; 0 for never")
    ask.add_argument("--lines", default="", help="only lines whose name holds this")
    ask.add_argument("--seed", type=int, default=20)
    ask.add_argument("--procs", type=int, default=2)
    ask.add_argument("--out", type=Path)
    said = ask.parse_args(argv)
    done: list[tuple[Case, int, Outcome]] = []
    began = time.monotonic()
    with ProcessPoolExecutor(said.procs) as pool:
        for case in CASES:
            if said.lines not in case.name:
                continue
            blocks = said.blocks
            outcome = run_line(case, blocks, said.seed, pool)
            if case.listed and said.again > blocks and near_an_end(outcome):
                blocks = said.again
                outcome = run_line(case, blocks, said.seed, pool)
            done.append((case, blocks, outcome))
            print(f"{case.name}: {blocks} blocks, {time.monotonic() - began:.0f} s", flush=True)
    text = tables(done, low=LOW, high=HIGH)
    print(text)
    if said.out is not None:
        said.out.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
