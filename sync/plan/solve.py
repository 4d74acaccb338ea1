"""The schedule that is worth most, by scipy's HiGHS, and which rules clash where there is none.

Rule 1: the solver runs with its fixed seed and in one order; only a time limit that was hit can
make two runs differ.
Rule 2: a clash is told by what would have to give way, one rule at a time, and by how much.
"""

import dataclasses
import math
from collections.abc import Sequence

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from sync.plan.rows import Laid, Row, lay_out, matrix
from sync.plan.schedule import Chosen, Problem, Schedule, Status
from sync.survey.arrays import Array

#: A share under this is the solver's rounding.
_NOTHING = 1e-6
#: scipy's words for what came of it.
_OPTIMAL, _LIMIT, _INFEASIBLE = 0, 1, 2
#: Slack is made worth this part of a rule's own size, so that kilograms do not outweigh a pick.
_LEAST_SIZE = 1.0


@dataclasses.dataclass(frozen=True)
class GivesWay:
    """A rule that would have to give way.

    Attributes
    ----------
    name, about : str
        Of the rule.
    by : float
        How much, in the rule's own unit.
    period : int or None
        Where.
    """

    name: str
    about: str
    by: float
    period: int | None


@dataclasses.dataclass(frozen=True)
class Clash:
    """Why no schedule keeps all rules.

    Attributes
    ----------
    alone : tuple of tuple of GivesWay
        For each rule without which the others can be kept: where and by how much it gives way.
    together : tuple of GivesWay
        Where no rule alone suffices: the least that several give way by.
    """

    alone: tuple[tuple[GivesWay, ...], ...]
    together: tuple[GivesWay, ...]


def solve(problem: Problem, *, gap: float = 0.0, limit_s: float = 60.0) -> Schedule:
    """Find the schedule that is worth most.

    Parameters
    ----------
    problem : Problem
        What is to be scheduled.
    gap : float
        How far from the best it may be, as a share of its worth. [-]
    limit_s : float
        Longest time for the solver. [s]

    Returns
    -------
    Schedule
        `infeasible` where no schedule keeps all rules: ask `clash_of`.

    Notes
    -----
    Options of Model I of forest planning: one column an option, at most one first option an item
    (Johnson & Scheurman 1977, *Forest Science Monograph* 18; from memory). An option that follows
    a use of its item in period t needs one: Σ following t ≤ Σ using t.
    """
    laid = lay_out(problem)
    worth = np.zeros(laid.columns)
    for column, (i, j) in enumerate(laid.options):
        worth[column] = problem.items[i].options[j].value * problem.items[i].size
    status, x, bound, reached = _run(problem, laid, laid.rows, -worth, gap, limit_s)
    if x is None:
        return Schedule(status, None, None, None, (), ())
    value = float(worth[: len(laid.options)] @ x[: len(laid.options)])
    chosen, totals = _chosen(problem, laid, x)
    return Schedule(status, value, value if bound is None else -bound, reached, chosen, totals)


def clash_of(problem: Problem, *, limit_s: float = 60.0) -> Clash:
    """Say which rules clash, where no schedule keeps them all.

    Parameters
    ----------
    problem : Problem
        One that `solve` calls infeasible.
    limit_s : float
        Longest time for each rule that is tried. [s]

    Returns
    -------
    Clash
        Empty where the solver had no time to tell.
    """
    laid = lay_out(problem)
    names = list(dict.fromkeys(row.name for row in laid.rows if row.name))
    alone = []
    for name in names:
        ways = _give_way(problem, laid, {name}, limit_s)
        if ways is not None:
            alone.append(ways)
    if alone:
        return Clash(tuple(alone), ())
    return Clash((), _give_way(problem, laid, set(names), limit_s) or ())


def _give_way(
    problem: Problem, laid: Laid, names: set[str], limit_s: float
) -> tuple[GivesWay, ...] | None:
    """Let some rules give way as little as they can; None where that is not enough."""
    rows: list[Row] = []
    costs: list[float] = [0.0] * laid.columns
    slack: list[tuple[Row, int]] = []
    for row in laid.rows:
        if row.name not in names:
            rows.append(row)
            continue
        size = max(_LEAST_SIZE, _size(row))
        place = len(costs)
        rows.append(dataclasses.replace(
            row, columns=[*row.columns, place, place + 1],
            coefficients=[*row.coefficients, 1.0, -1.0]))
        costs += [1.0 / size, 1.0 / size]
        slack.append((row, place))
    wider = Laid(laid.options, len(costs), tuple(rows))
    _, x, _, _ = _run(problem, wider, rows, np.array(costs), 0.01, limit_s)
    if x is None:
        return None
    return tuple(
        GivesWay(row.name, row.about, by, row.period) for row, place in slack
        if (by := float(x[place] + x[place + 1])) > _NOTHING * max(_LEAST_SIZE, _size(row))
    )


def _size(row: Row) -> float:
    return max((abs(end) for end in (row.low, row.high) if math.isfinite(end)), default=1.0)


def _run(
    problem: Problem, laid: Laid, rows: Sequence[Row], costs: Array, gap: float, limit_s: float
) -> tuple[Status, Array | None, float | None, float | None]:
    count = len(laid.options)
    if laid.columns == 0 or not rows:
        return "optimal", np.zeros(laid.columns), 0.0, 0.0
    held, low, high = matrix(rows, laid.columns)
    top = np.full(laid.columns, np.inf)
    top[:count] = 1.0
    whole = np.zeros(laid.columns)
    if not problem.divisible:
        whole[:count] = 1.0
    found = milp(
        costs, constraints=LinearConstraint(held, low, high), integrality=whole,
        bounds=Bounds(0.0, top), options={"mip_rel_gap": gap, "time_limit": limit_s},
    )
    if found.x is None:
        status: Status = "infeasible" if found.status == _INFEASIBLE else "nothing"
        return status, None, None, None
    reached = getattr(found, "mip_gap", None)
    bound = getattr(found, "mip_dual_bound", None)
    return ("optimal" if found.status == _OPTIMAL else "limit", found.x,
            None if bound is None else float(bound), 0.0 if reached is None else float(reached))


def _chosen(
    problem: Problem, laid: Laid, x: Array
) -> tuple[tuple[Chosen, ...], tuple[float, ...]]:
    chosen, totals = [], [0.0] * problem.periods
    for column, (i, j) in enumerate(laid.options):
        share = float(x[column])
        if not problem.divisible:
            share = float(round(share))
        if share <= _NOTHING:
            continue
        item = problem.items[i]
        chosen.append(Chosen(item.name, item.options[j], share))
        for period, amount in item.options[j].takes.items():
            totals[period] += share * amount * item.size
    return tuple(chosen), tuple(totals)
