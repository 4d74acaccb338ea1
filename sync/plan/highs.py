"""One run of scipy's HiGHS on a programme of rows and columns.

Rule 1: it runs with its fixed seed and in one order; only a time limit that was hit can make two
runs differ.
"""

import dataclasses

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from sync.plan.rows import Laid, matrix
from sync.plan.schedule import APART, Problem, Status
from sync.survey.arrays import Array, Bools, Ints

#: scipy's words for what came of it.
_OPTIMAL, _INFEASIBLE = 0, 2


@dataclasses.dataclass(frozen=True)
class Programme:
    """A problem as arrays: C columns, R rows, the least cost wanted.

    Attributes
    ----------
    costs : ndarray, shape (C,)
        Of each column.
    held : csr_array, shape (R, C)
        low ≤ held·x ≤ high.
    low, high : ndarray, shape (R,)
        Bounds of the rows.
    bottom, top : ndarray, shape (C,)
        Bounds of the columns.
    whole : ndarray of bool, shape (C,)
        Columns that are 0 or 1.
    item : ndarray of int, shape (C,)
        The item of a column; −1 for totals and slack.
    apart : ndarray of bool, shape (R,)
        Rows that keep two items apart: there are many, and few of them bind.
    """

    costs: Array
    held: csr_array
    low: Array
    high: Array
    bottom: Array
    top: Array
    whole: Bools
    item: Ints
    apart: Bools


@dataclasses.dataclass(frozen=True)
class Ran:
    """What a run came to.

    Attributes
    ----------
    status : {"optimal", "limit", "infeasible", "nothing"}
        As of a `Schedule`.
    x : ndarray, shape (C,), or None
        The columns.
    value, bound : float or None
        Their cost, and what none can be under.
    """

    status: Status
    x: Array | None = None
    value: float | None = None
    bound: float | None = None

    @property
    def gap(self) -> float | None:
        """How far the value may be from the best, as a share of it. [-]."""
        if self.value is None or self.bound is None:
            return None
        off = self.value - self.bound
        return 0.0 if off <= 1e-9 else off / max(abs(self.value), 1e-9)


def programme(problem: Problem, laid: Laid, costs: Array) -> Programme:
    """Give a problem, laid out, as arrays.

    Parameters
    ----------
    problem : Problem
        What it was.
    laid : Laid
        C columns; those beyond the options and totals are slack, 0 or more.
    costs : ndarray, shape (C,)
        Of each column.
    """
    count = len(laid.options)
    held, low, high = matrix(laid.rows, laid.columns)
    top = np.full(laid.columns, np.inf)
    top[:count] = 1.0
    whole = np.zeros(laid.columns, dtype=bool)
    whole[:count] = not problem.divisible
    item = np.full(laid.columns, -1)
    item[:count] = [i for i, _ in laid.options]
    apart = np.array([row.name == APART for row in laid.rows], dtype=bool)
    return Programme(costs, held, low, high, np.zeros(laid.columns), top, whole, item, apart)


def run(
    given: Programme, *, gap: float, limit_s: float, relaxed: bool = False,
    rows: Bools | None = None,
) -> Ran:
    """Run the solver once.

    Parameters
    ----------
    given : Programme
        What is asked.
    gap : float
        How far from the best it may stop. [-]
    limit_s : float
        Longest time. [s]
    relaxed : bool
        Whether no column need be whole.
    rows : ndarray of bool, shape (R,), or None
        Rows that count; None is all.

    Returns
    -------
    Ran
        `nothing` where time ran out before any x was found.
    """
    if given.costs.size == 0:
        return Ran("optimal", np.zeros(0), 0.0, 0.0)
    held, low, high = given.held, given.low, given.high
    if rows is not None:
        held, low, high = held[rows], low[rows], high[rows]
    found = milp(
        given.costs, constraints=LinearConstraint(held, low, high) if held.shape[0] else None,
        integrality=None if relaxed else given.whole.astype(float),
        bounds=Bounds(given.bottom, given.top),
        options={"mip_rel_gap": gap, "time_limit": max(limit_s, 0.01)},
    )
    if found.x is None:
        return Ran("infeasible" if found.status == _INFEASIBLE else "nothing")
    value = float(given.costs @ found.x)
    bound = getattr(found, "mip_dual_bound", None)
    if found.status == _OPTIMAL and (relaxed or bound is None):
        bound = value
    status: Status = "optimal" if found.status == _OPTIMAL else "limit"
    return Ran(status, found.x, value, None if bound is None else float(bound))
