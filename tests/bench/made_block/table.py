"""The bench's tables in words and figures, each share with its sampling error."""

import math
from collections import Counter
from collections.abc import Sequence

import numpy as np

from made_block.case import Case
from made_block.run import Outcome
from made_block.simpler import WAYS

Done = Sequence[tuple[Case, int, Outcome]]
_NONE = "–"


def tables(done: Done, *, low: float, high: float) -> str:
    """Give all tables of a run.

    Parameters
    ----------
    done : sequence of (Case, int, Outcome)
        Lines with their number of blocks.
    low, high : float
        Between which the share of ranges that hold the truth must lie.
    """
    parts = [_coverage(done, low, high), _errors(done), _back(done), _flags(done), _doubts(done)]
    return "\n\n".join(part for part in parts if part)


def _share(held: Sequence[bool]) -> str:
    return _NONE if not held else f"{float(np.mean(held)):.3f}"


def _outside(held: Sequence[bool], low: float, high: float) -> str:
    return "" if not held or low <= float(np.mean(held)) <= high else "*"


def _coverage(done: Done, low: float, high: float) -> str:
    head = (f"{'share of 90 % ranges that hold the truth':42} blocks  surveyed unsurveyed    block"
            "  (± )   width  picked kg  growth")
    rows = [head]
    for holds in (True, False):
        if any(case.listed == holds for case, _, _ in done):
            rows.append("where the assumptions hold" if holds else "where one fails")
        for case, blocks, seen in done:
            if case.listed != holds:
                continue
            error = math.sqrt(0.09 / blocks)
            shares = [f"{_share(h)}{_outside(h, low, high) if holds else '':1}"
                      for h in (seen.surveyed, seen.unsurveyed, seen.block)]
            width = f"{float(np.median(seen.width)):.2f}"
            rows.append(
                f"  {case.name:40} {blocks:6d}    {shares[0]:7}    {shares[1]:7}  {shares[2]:7}"
                f" {error:.3f}   {width:>5}      {_share(seen.picked):>5}   {_share(seen.rate):>5}"
            )
            if case.fails:
                rows.append(f"      fails: {case.fails}")
    rows.append(f"* outside {low:g} to {high:g}; width: upper over lower end of the block, median")
    return "\n".join(rows)


def _errors(done: Done) -> str:
    rows = [("error of a surveyed cell's crop in t/ha: bias and RMSE; ratio of the register's "
             "RMSE to the best simpler way's"),
            f"{'':42}  {'register':>14}" + "".join(f"  {way:>14}" for way in WAYS) + "   ratio"]
    for case, _, seen in done:
        rmse = {way: _rmse(errors) for way, errors in seen.errors.items() if errors}
        if "register" not in rmse:
            continue
        shown = []
        for way in ("register", *WAYS):
            errors = seen.errors.get(way)
            shown.append(_NONE if not errors else
                         f"{float(np.mean(errors)):+6.2f} {rmse[way]:6.2f}")
        best = min(rmse[way] for way in WAYS if way in rmse)
        rows.append(f"  {case.name:40}" + "".join(f"  {one:>14}" for one in shown)
                    + f"   {rmse['register'] / best:.3f}")
    return "\n".join(rows)


def _rmse(errors: Sequence[float]) -> float:
    return float(np.sqrt(np.mean(np.square(errors))))


def _back(done: Done) -> str:
    rows = []
    for case, _, seen in done:
        if seen.back:
            rows.append(
                f"  {case.name:40}  {_share(seen.back)} of {len(seen.back)}; where regrowth was "
                f"the binding answer {_share(seen.back_bound)} of {len(seen.back_bound)}")
    return "\n".join([("cells back at their rested crop when their rest ends, having given all "
                      "they may (wanted: 0.75 or more)"), *rows]) if rows else ""


def _flags(done: Done) -> str:
    seen = [one for case, _, outcome in done if case.listed for one in outcome.flags]
    if not seen:
        return ""
    rows = ["early picks: chance told against share that happened, ten bins",
            "  chance        n   told  happened  (± )"]
    for i in range(10):
        low, high = i / 10, (i + 1) / 10
        mine = [(p, true) for p, true in seen if low <= p < high or (i == 9 and p >= 0.9)]
        if not mine:
            continue
        told = float(np.mean([p for p, _ in mine]))
        happened = float(np.mean([true for _, true in mine]))
        error = math.sqrt(max(told * (1 - told), 1e-4) / len(mine))
        said = "    –" if i == 0 else f"{told:5.2f}"
        rows.append(
            f"  {low:.1f}-{high:.1f}  {len(mine):7d}  {said}     {happened:5.2f}  {error:.3f}")
    rows.append("  a chance under 0.1 is not told")
    return "\n".join(rows)


def _doubts(done: Done) -> str:
    rows = ["what the register itself doubts, share of blocks"]
    for case, blocks, seen in done:
        for what, count in Counter(seen.doubts).most_common(4):
            rows.append(f"  {case.name:40}  {count / blocks:5.2f}  {what} …")
    return "\n".join(rows)
