"""A near-best schedule of many items within a time limit, with a bound that proves how near.

Rule 1: the bound is the relaxation's, in which an item may be split: no schedule beats it.
Rule 2: what the relaxation leaves whole is kept and the rest is solved; then a few items at a time
are chosen anew while all others stand, so that every turn is as good as the one before.
Rule 3: turns are cut off by time, so two runs may differ, both within the gap that they prove.
"""

import dataclasses
from collections.abc import Callable

import numpy as np

from sync.plan.highs import Programme, Ran, run
from sync.survey.arrays import Array, Bools

#: Seconds of some clock; without one, every step has all the time there is.
Clock = Callable[[], float]
#: Rounds in which rows that keep items apart are added where the relaxation breaks them.
_ROUNDS = 3
#: Items chosen anew at first, and in a turn: few enough that the solver is done in a second.
_FIRST_ITEMS, _TURN_ITEMS = 80, 12
_FIRST_S, _TURN_S = 4.0, 1.0
_MOST_TURNS = 2000
#: A turn stops so near its own best. [-]
_TURN_GAP = 1e-5
#: A share under this is the solver's rounding; a sum over its bound by less, too.
_NOTHING = 1e-6


@dataclasses.dataclass
class _Watch:
    """How much time is left."""

    clock: Clock
    ends: float

    def left_s(self) -> float:
        return max(0.0, self.ends - self.clock())


def search(
    given: Programme, *, gap: float, limit_s: float, clock: Clock | None = None,
    start: Ran | None = None,
) -> Ran:
    """Search for a schedule.

    Parameters
    ----------
    given : Programme
        What is asked; rows of options first.
    gap : float
        How near the best is near enough. [-]
    limit_s : float
        Longest time. [s]
    clock : callable, optional
        Seconds that run.
    start : Ran, optional
        What is known already.

    Returns
    -------
    Ran
        `infeasible` only where even the relaxation is; `nothing` where no schedule was found.

    Notes
    -----
    Relaxation, rounding and neighbourhood search are common practice, no source. With few rows
    across items the relaxation splits few items: a basic solution has no more of them than such
    rows that bind.
    """
    now = clock or (lambda: 0.0)
    watch = _Watch(now, now() + limit_s)
    loose = _relax(given, watch)
    if loose.status == "infeasible":
        return loose
    known = [one.bound for one in (loose, start) if one is not None and one.bound is not None]
    bound = max(known) if known else float(np.minimum(given.costs, 0.0).sum())
    best = start if start is not None and start.x is not None else None
    if best is None:
        best = _first(given, loose, gap, watch)
    if best is None or best.x is None:
        return Ran("nothing", bound=bound)
    return _improved(given, dataclasses.replace(best, bound=bound), gap, watch)


def _relax(given: Programme, watch: _Watch) -> Ran:
    """Solve with divisible items; rows that keep items apart join where they are broken."""
    rows = ~given.apart
    kept = Ran("nothing")
    for _ in range(_ROUNDS):
        found = run(given, gap=0.0, limit_s=watch.left_s() / 2.0, relaxed=True, rows=rows)
        if found.status == "infeasible":
            return found
        if found.status != "optimal" or found.x is None:
            break
        kept = found
        broken = _broken(given, found.x) & ~rows
        if not broken.any():
            break
        rows |= broken
    return kept


def _broken(given: Programme, x: Array) -> Bools:
    sums = given.held @ x
    size = np.maximum(1.0, np.where(np.isfinite(given.high), np.abs(given.high), 1.0))
    return np.asarray((sums > given.high + _NOTHING * size) | (sums < given.low - _NOTHING * size))


def _first(given: Programme, loose: Ran, gap: float, watch: _Watch) -> Ran | None:
    """Round the relaxation: whole items stay, the others and every few of the rest are chosen."""
    items = int(given.item.max()) + 1
    nothing = _nothing(given)
    if loose.x is None:
        return nothing if nothing is not None else _whole(given, gap, watch)
    split = _split(given, loose.x, items)
    many, limit_s = _FIRST_ITEMS, _FIRST_S
    while watch.left_s() > 0.0:
        free = split.copy()
        free[:: max(1, items // many)] = True
        found = _again(given, loose.x, free, gap / 2.0, min(limit_s, watch.left_s()))
        if found is not None:
            return found
        if free.all():
            break
        many, limit_s = 2 * many, 2.0 * limit_s
    return nothing


def _whole(given: Programme, gap: float, watch: _Watch) -> Ran | None:
    found = run(given, gap=gap, limit_s=watch.left_s())
    return found if found.x is not None else None


def _nothing(given: Programme) -> Ran | None:
    """Give the schedule of nothing, where it keeps the rules."""
    x = np.zeros(given.costs.size)
    return None if _broken(given, x).any() else Ran("limit", x, 0.0)


def _split(given: Programme, x: Array, items: int) -> Bools:
    """Say which items the relaxation splits, or puts beside one that they must be apart from."""
    split = np.zeros(items, dtype=bool)
    parts = given.whole & (np.abs(x - np.round(x)) > _NOTHING)
    split[given.item[parts]] = True
    broken = _broken(given, x) & given.apart
    columns = given.held[broken].indices
    split[given.item[columns]] = True
    return split


def _again(
    given: Programme, x: Array, free: Bools, gap: float, limit_s: float
) -> Ran | None:
    """Choose some items anew while the others stay as in x; None where that gives nothing."""
    open_columns = (given.item < 0) | free[given.item]
    stays = np.where(open_columns, 0.0, np.round(x))
    by_stays = given.held @ stays
    held = given.held[:, open_columns]
    rows = np.diff(held.indptr) > 0
    # A row that none of the open columns is in must hold already.
    part = Programme(
        given.costs[open_columns], held[rows], (given.low - by_stays)[rows],
        (given.high - by_stays)[rows], given.bottom[open_columns], given.top[open_columns],
        given.whole[open_columns], given.item[open_columns], given.apart[rows])
    found = run(part, gap=gap, limit_s=limit_s)
    if found.x is None:
        return None
    chosen = stays.copy()
    chosen[open_columns] = np.where(part.whole, np.round(found.x), found.x)
    if _broken(given, chosen).any():
        return None
    return Ran(found.status, chosen, float(given.costs @ chosen),
               found.bound if free.all() else None)


def _improved(given: Programme, best: Ran, gap: float, watch: _Watch) -> Ran:
    """Choose a few items at a time anew, runs and strides of them by turns."""
    items = int(given.item.max()) + 1
    size, idle = min(_TURN_ITEMS, items), 0
    for turn in range(_MOST_TURNS):
        if best.x is None or best.gap is None or best.gap <= gap or watch.left_s() <= 0.0:
            break
        group = _group(items, size, turn)
        found = _again(given, best.x, group, min(gap, _TURN_GAP),
                       min(_TURN_S * size / _TURN_ITEMS, watch.left_s()))
        if found is not None and group.all() and found.bound is not None:
            best = dataclasses.replace(best, bound=max(best.bound or found.bound, found.bound))
        idle += 1
        if found is not None and (found.value or 0.0) < (best.value or 0.0) - 1e-9:
            best, idle = dataclasses.replace(found, bound=best.bound), 0
        elif group.all() and found is not None and found.status == "optimal":
            break
        elif idle > 2 * (items // size) and size < items:
            size, idle = min(2 * size, items), 0
    done = best.gap is not None and best.gap <= gap
    return dataclasses.replace(best, status="optimal" if done else "limit")


def _group(items: int, size: int, turn: int) -> Bools:
    """Give the items of a turn: by turns a run of them and every so many-th."""
    free = np.zeros(items, dtype=bool)
    number = turn // 2
    if turn % 2 == 0:
        free[(np.arange(size) + number * size) % items] = True
    else:
        stride = max(1, items // size)
        free[number % stride::stride] = True
    return free
