"""How near the best, and how soon: plans of seasons for large made-up blocks.

Run: python tests/bench/big_schedule.py [--cells 1000] [--years 15] [--seeds 3] [--limit-s 120]
It prints a table, the worst over the seeds, and asserts nothing.
"""

import argparse
import dataclasses
import time
from collections.abc import Sequence

import numpy as np
from made_plan.block import LINES, Asked, long_run_kg, made_caps, made_outlooks

from sync.plan.outlook import Outlook
from sync.plan.schedule import Problem, Schedule
from sync.plan.seasons import neighbours, season_problem
from sync.plan.solve import solve
from sync.plan.spans import Span
from sync.plan.wishes import Wishes


@dataclasses.dataclass(frozen=True)
class Tried:
    """What one block came to."""

    seconds: float
    found: Schedule


def problem_of(asked: Asked, known: dict[str, Outlook], spans: tuple[Span, ...]) -> Problem:
    """Put a line of the bench as a problem, by the very function that plans the seasons."""
    at_least = asked.at_least_share
    wishes = Wishes(
        len(spans), even_pct=asked.even_pct, no_neighbours=asked.no_neighbours,
        at_least_t=None if at_least is None else at_least * long_run_kg(known) / 1000.0)
    return season_problem(known, spans, wishes, made_caps(known, spans, asked),
                          apart=neighbours(known) if asked.no_neighbours else ())


def tried(asked: Asked, seed: int, *, cells: int, years: int, gap: float, limit_s: float) -> Tried:
    """Make a block of a seed and plan it."""
    rows = max(1, int((0.625 * cells) ** 0.5))
    known, spans = made_outlooks(
        np.random.default_rng([seed, cells, years]), columns=-(-cells // rows), rows=rows,
        years=years)
    known = dict(list(known.items())[:cells])
    problem = problem_of(asked, known, spans)
    began = time.monotonic()
    found = solve(problem, gap=gap, limit_s=limit_s, clock=time.monotonic)
    return Tried(time.monotonic() - began, found)


def main(argv: Sequence[str] | None = None) -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--cells", type=int, default=1000)
    ask.add_argument("--years", type=int, default=15)
    ask.add_argument("--seeds", type=int, default=3)
    ask.add_argument("--gap", type=float, default=1.0, help="wanted, %%")
    ask.add_argument("--limit-s", type=float, default=120.0)
    ask.add_argument("--lines", default="", help="only lines whose name holds this")
    said = ask.parse_args(argv)
    print(f"{said.cells} cells, {said.years} seasons, {said.seeds} blocks a line; "
          f"wanted {said.gap:g} %, {said.limit_s:g} s at most; the worst of each line")
    print(f"{'asked':38s} {'s':>6s} {'gap %':>6s}  {'status':10s} least t a season, mean")
    for asked in LINES:
        if said.lines in asked.name:
            print(_line(asked, [
                tried(asked, seed, cells=said.cells, years=said.years, gap=said.gap / 100.0,
                      limit_s=said.limit_s) for seed in range(said.seeds)]), flush=True)


def _line(asked: Asked, all_tried: Sequence[Tried]) -> str:
    gaps = [one.found.gap for one in all_tried]
    worst = "none" if None in gaps else f"{100.0 * max(g or 0.0 for g in gaps):.2f}"
    statuses = "/".join(dict.fromkeys(one.found.status for one in all_tried))
    totals = [t for one in all_tried for t in one.found.totals]
    mean = sum(totals) / len(totals) / 1000.0 if totals else 0.0
    return (f"{asked.name:38s} {max(one.seconds for one in all_tried):6.1f} {worst:>6s}  "
            f"{statuses:10s} {min(totals, default=0.0) / 1000.0:.1f}, {mean:.1f}")


if __name__ == "__main__":
    main()
