"""The schedule that is worth most, by scipy's HiGHS.

Rule 1: a problem of few columns is solved as a whole, and the same problem gives the same schedule
unless a time limit was hit; a larger one is searched (`sync.plan.search`).
Rule 2: whatever is not proved best says how much better another might be.
"""

import numpy as np

from sync.plan.highs import Ran, programme, run
from sync.plan.rows import Laid, lay_out
from sync.plan.schedule import Chosen, Problem, Schedule
from sync.plan.search import Clock, search
from sync.survey.arrays import Array

#: A share under this is the solver's rounding.
NOTHING = 1e-6
#: Columns up to which the solver mostly proves the best by itself, in so much of the time. [-]
_FEW_COLUMNS = 4000
_WHOLE_PART = 0.5


def solve(
    problem: Problem, *, gap: float = 0.0, limit_s: float = 60.0, clock: Clock | None = None
) -> Schedule:
    """Find the schedule that is worth most.

    Parameters
    ----------
    problem : Problem
        What is to be scheduled.
    gap : float
        How far from the best it may be, as a share of its worth. [-]
    limit_s : float
        Longest time for the solver. [s]
    clock : callable, optional
        Seconds that run, so that no step takes what the ones before have used.

    Returns
    -------
    Schedule
        `infeasible` where no schedule keeps all rules: ask `sync.plan.gives_way.clash_of`.

    Notes
    -----
    Options of Model I of forest planning: one column an option, at most one first option an item
    (Johnson & Scheurman 1977, *Forest Science Monograph* 18; from memory). An option that follows
    a use of its item in period t needs one: Σ following t ≤ Σ using t.
    """
    laid = lay_out(problem)
    costs = np.zeros(laid.columns)
    for column, (i, j) in enumerate(laid.options):
        costs[column] = -problem.items[i].options[j].value * problem.items[i].size
    found, in_turns = least(problem, laid, costs, gap=gap, limit_s=limit_s, clock=clock)
    if found.x is None or found.value is None:
        return Schedule(found.status, None, None, None, (), (), in_turns)
    value = 0.0 - found.value
    bound = value if found.bound is None else 0.0 - found.bound
    chosen, totals = _chosen(problem, laid, found.x)
    if not chosen and found.status == "limit":
        return Schedule("nothing", None, bound, None, (), (), in_turns)
    return Schedule(found.status, value, bound, found.gap or 0.0, chosen, totals, in_turns)


def least(
    problem: Problem, laid: Laid, costs: Array, *, gap: float, limit_s: float,
    clock: Clock | None = None,
) -> tuple[Ran, bool]:
    """Find the columns of least cost.

    Parameters
    ----------
    problem : Problem
        What was laid out.
    laid : Laid
        C columns.
    costs : ndarray, shape (C,)
        Of each.
    gap : float
        How far from the least it may be. [-]
    limit_s : float
        Longest time. [s]
    clock : callable, optional
        Seconds that run.

    Returns
    -------
    found : Ran
        The columns.
    in_turns : bool
        Whether they were searched for, so that another run may find others as good.
    """
    given = programme(problem, laid, costs)
    if problem.divisible:
        return run(given, gap=gap, limit_s=limit_s), False
    start = None
    if laid.columns <= _FEW_COLUMNS:
        start = run(given, gap=gap, limit_s=_WHOLE_PART * limit_s)
        if start.status in {"optimal", "infeasible"}:
            return start, False
        limit_s *= 1.0 - _WHOLE_PART
    return search(given, gap=gap, limit_s=limit_s, clock=clock, start=start), True


def _chosen(
    problem: Problem, laid: Laid, x: Array
) -> tuple[tuple[Chosen, ...], tuple[float, ...]]:
    chosen, totals = [], [0.0] * problem.periods
    for column, (i, j) in enumerate(laid.options):
        share = float(x[column])
        if not problem.divisible:
            share = float(round(share))
        if share <= NOTHING:
            continue
        item = problem.items[i]
        chosen.append(Chosen(item.name, item.options[j], share))
        for period, amount in item.options[j].takes.items():
            totals[period] += share * amount * item.size
    return tuple(chosen), tuple(totals)
