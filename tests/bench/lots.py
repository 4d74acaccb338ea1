"""Do the ranges of purity by ground class and cell hold the truth? Made-up lots of known truth.

`python tests/bench/lots.py [SEASONS]`: cells of three classes are drawn about their class, lots
about their cells, some lots mixed of two cells; told is the share of 90 % ranges that held the
class, a cell that gave lots, and one more lot of a new cell, and of lots taken one by one as if
cells did not differ (Student's t on the lots of a class).
"""

import math
import sys

import numpy as np

from sync.plan.lots.measured import Measured
from sync.plan.lots.mixed import mixed_of
from sync.plan.lots.supply import supply_of
from sync.survey.ranges import t_quantile

CLASSES = {"lawn": 95.0, "mound": 97.0, "rushy": 91.0}
LEAST_PCT, CELL_KG, NEW_CELLS = 95.0, 1000.0, 5
#: cells a class, lots a cell, SD between cells, SD of a lot, share of lots mixed of two cells.
LINES = (
    (2, 4, 0.0, 1.0, 0.0), (2, 4, 0.8, 1.0, 0.0), (2, 4, 2.0, 1.0, 0.0), (3, 1, 0.8, 1.0, 0.0),
    (5, 4, 0.8, 1.0, 0.0), (5, 4, 0.8, 1.0, 0.5), (8, 5, 1.5, 1.0, 0.2),
)


def season(rng, cells, lots, between, within, mixed):
    """Make one season; gives the truth of each cell, its class, and the lots."""
    group_of = {f"{group}{i}": group for group in CLASSES for i in range(cells + NEW_CELLS)}
    truth = {cell: CLASSES[group] + between * rng.normal() for cell, group in group_of.items()}
    picked = [cell for cell in group_of if int(cell[-1]) < cells]
    made = []
    for cell in picked:
        for _ in range(lots):
            shares = {cell: 1.0}
            if rng.random() < mixed:
                other = picked[rng.integers(len(picked))]
                shares = {cell: 1.0} if other == cell else {cell: 0.6, other: 0.4}
            value = sum(share * truth[one] for one, share in shares.items())
            made.append(Measured(value + within * rng.normal(), 1.0, shares))
    return truth, group_of, picked, made


def judged(rng, line):
    cells, _, _, within, _ = line
    truth, group_of, picked, lots = season(rng, *line)
    found = mixed_of(lots, group_of, least_sd=0.1)
    assert found is not None
    held: dict[str, list[bool]] = {
        "class": [], "cell": [], "new lot": [], "one by one": [], "supply": []}
    for group, mean in CLASSES.items():
        low, high = found.of_group(group).range()
        held["class"].append(low <= mean <= high)
        new = f"{group}{cells}"
        low, high = found.of_lot(new, group).range()
        held["new lot"].append(low <= truth[new] + within * rng.normal() <= high)
        own = [lot.value for lot in lots
               if sum(s for c, s in lot.cells.items() if group_of[c] == group) > 0.5]
        half = t_quantile(len(own) - 1) * np.std(own, ddof=1) / math.sqrt(len(own))
        held["one by one"].append(abs(np.mean(own) - mean) <= half)
    for cell in picked[::cells]:
        low, high = found.of_cell(cell, group_of[cell]).range()
        held["cell"].append(low <= truth[cell] <= high)
    left = {cell: CELL_KG for cell in truth if cell not in picked and group_of[cell] != "rushy"}
    supply = supply_of(found, left, group_of, least_pct=LEAST_PCT)
    # A cell's kg go into many lots: what part of them is at the purity or above.
    kg = sum(each * np.mean(truth[cell] + within * rng.normal(size=400) >= LEAST_PCT)
             for cell, each in left.items())
    held["supply"].append(supply.low_kg <= kg <= supply.high_kg)
    return held


def main(seasons):
    print("cells lots  between within mixed |  class   cell  new lot  supply | one by one")
    for line in LINES:
        rng = np.random.default_rng(417)
        sums: dict[str, list[bool]] = {}
        for _ in range(seasons):
            for name, each in judged(rng, line).items():
                sums.setdefault(name, []).extend(each)
        share = {name: np.mean(each) for name, each in sums.items()}
        cells, lots, between, within, mixed = line
        print(f"{cells:5d} {lots:4d}  {between:7.1f} {within:6.1f} {mixed:5.1f} | "
              f"{share['class']:6.3f} {share['cell']:6.3f}  {share['new lot']:7.3f} "
              f"{share['supply']:7.3f} | {share['one by one']:.3f}", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
