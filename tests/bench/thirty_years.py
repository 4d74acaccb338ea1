"""Is the ground still there after decades of picking all that may be taken?

Run: python tests/bench/thirty_years.py [--blocks 3] [--years 60] [--cells 6000] [--procs 2]
First the formulas alone, as arrays, by the protocol of the rule's own table (6,000 cells, rest and
recovery of five years, survey CV 0.28, cells differing by CV 0.40); then the real chain: survey,
intake, register, `fallow seasons` without cap or neighbour rule, every planned pick made, all
measured again. Take is per pick in units of the mean full crop. It asserts nothing.
"""

import argparse
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial

from made_plan.decades import Round, decades
from made_plan.plain import Way, kept

GROWTHS = (0.25, 0.5, 1.0, 2.0)
#: Take a pick by the rule's own table, own mark, measured, over 60 years.
TABLE = (0.14, 0.20, 0.26, 0.25)
PICKABLE = (0.5, 0.55, 0.6, 0.65, 1.0)
ROUNDS_IN_30 = 6


def main(argv: Sequence[str] | None = None) -> None:
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--blocks", type=int, default=3)
    ask.add_argument("--years", type=int, default=60)
    ask.add_argument("--cells", type=int, default=6000)
    ask.add_argument("--procs", type=int, default=2)
    ask.add_argument("--seed", type=int, default=1)
    said = ask.parse_args(argv)
    began = time.monotonic()
    _formulas(said)
    with ProcessPoolExecutor(said.procs) as pool:
        _real(said, pool)
    print(f"{time.monotonic() - began:.0f} s")


def _formulas(said: argparse.Namespace) -> None:
    print(f"FORMULAS ALONE, {said.cells} cells; take a pick over 60 years (30 years), cells ever "
          "under a tenth")
    print(f"{'':42s}" + "".join(f"{f'growth x{times:g}':>21s}" for times in GROWTHS))
    print(f"{'the table':42s}" + "".join(f"{take:21.2f}" for take in TABLE))
    for moves in (False, True):
        for share in PICKABLE:
            mark = "mean of all" if moves else "the first"
            _line(f"measured, pickable {share:g}, mark {mark}", said,
                  Way(share, mark_moves=moves))
    _line("never measured again, pickable 0.6", said, Way(0.6, False, False))


def _line(name: str, said: argparse.Namespace, way: Way) -> None:
    boxes = []
    for times in GROWTHS:
        found = kept(way, times, years=60, cells=said.cells, seed=said.seed)
        boxes.append(f"{_mean(found.takes):.3f} ({_mean(found.takes[:ROUNDS_IN_30]):.3f}) "
                     f"{100 * found.low_share[-1]:4.1f} %")
    print(f"{name:42s}" + "".join(f"{box:>21s}" for box in boxes))


def _real(said: argparse.Namespace, pool: ProcessPoolExecutor) -> None:
    print(f"\nREAL CHAIN, {said.blocks} blocks of 120 cells, {said.years} years; take a pick: "
          "all, 30 years, first, second, last; cells ever under a tenth")
    for times, table in zip(GROWTHS, TABLE, strict=True):
        run = partial(decades, times, years=said.years)
        blocks = list(pool.map(_seeded, [run] * said.blocks, range(said.blocks)))
        rounds = [found for found, _ in blocks]
        takes = [_mean([one[i].take for one in rounds]) for i in range(len(rounds[0]))]
        low = _mean([one[-1].low_share for one in rounds])
        print(f"growth x{times:g}: {_mean(takes):.3f}, {_mean(takes[:ROUNDS_IN_30]):.3f} "
              f"({100 * (_mean(takes[:ROUNDS_IN_30]) / table - 1):+.0f} % of the table), "
              f"{takes[0]:.3f}, {takes[1]:.3f}, {takes[-1]:.3f}; {100 * low:.1f} %; "
              f"picked {100 * _mean([r.picked_share for one in rounds for r in one]):.0f} % of "
              f"the times; growth by the register {rounds[0][1].rate:.2f} then "
              f"{rounds[0][-1].rate:.2f}; with no survey after the first "
              f"{_mean([w for _, w in blocks]):.1f} cells would be picked again", flush=True)
        _explained(said, times, rounds)


def _explained(said: argparse.Namespace, times: float, rounds: Sequence[Sequence[Round]]) -> None:
    """Give the formulas' take with what the real chain knew: its pickable share, its growth."""
    share = _mean([r.pickable for one in rounds for r in one])
    learned = tuple(
        (_mean([one[i].rate for one in rounds]), _mean([one[i].rate_sd for one in rounds]))
        for i in range(len(rounds[0])))
    for name, rates in (("as assumed", ()), ("as the register learned it", learned)):
        found = kept(Way(share, rates=rates), times, years=said.years, cells=said.cells,
                     seed=said.seed)
        print(f"    formulas with its pickable share {share:.2f}, growth {name}: "
              f"{_mean(found.takes):.3f}, 30 years {_mean(found.takes[:ROUNDS_IN_30]):.3f}, "
              f"first {found.takes[0]:.3f}")


def _seeded(run: "partial[tuple[list[Round], int]]", seed: int) -> tuple[list[Round], int]:
    return run(seed=seed)


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)


if __name__ == "__main__":
    main()
