"""A problem as the rows and columns of a mixed-integer programme.

Rule 1: columns and rows come in one order, so that the same problem gives the same schedule.
Rule 2: a row that no rule made (options of an item, totals of a period) is named by nothing, and
cannot be let go.
"""

import dataclasses
import math
from collections import defaultdict
from collections.abc import Sequence

import numpy as np
from scipy.sparse import csr_array

from sync.plan.schedule import APART, RESERVE, Problem
from sync.survey.arrays import Array


@dataclasses.dataclass(frozen=True)
class Row:
    """One row: low ≤ Σ coefficient·column ≤ high; `name` empty where it always holds."""

    name: str
    about: str
    columns: Sequence[int]
    coefficients: Sequence[float]
    low: float
    high: float
    period: int | None = None


@dataclasses.dataclass(frozen=True)
class Laid:
    """A problem laid out.

    Attributes
    ----------
    options : tuple of (int, int)
        Item and option of each of the first columns; totals of periods follow.
    columns : int
        How many there are.
    rows : tuple of Row
        Those of the options first.
    """

    options: tuple[tuple[int, int], ...]
    columns: int
    rows: tuple[Row, ...]


def lay_out(problem: Problem) -> Laid:
    """Lay a problem out.

    Parameters
    ----------
    problem : Problem
        Whatever it asks for.

    Returns
    -------
    Laid
        A column an option and a column for each total that a rule speaks of.
    """
    options = tuple((i, j) for i, item in enumerate(problem.items)
                    for j in range(len(item.options)))
    first: dict[int, list[int]] = defaultdict(list)
    using: dict[tuple[str, int], list[int]] = defaultdict(list)
    following: dict[tuple[int, int], list[int]] = defaultdict(list)
    for column, (i, j) in enumerate(options):
        item = problem.items[i]
        option = item.options[j]
        if option.after is None:
            first[i].append(column)
        else:
            following[i, option.after].append(column)
        for period in option.takes:
            using[item.name, period].append(column)
    rows = []
    for i, item in enumerate(problem.items):
        if first[i]:
            low = 1.0 if item.whole else -math.inf
            rows.append(Row("", item.name, first[i], [1.0] * len(first[i]), low, 1.0))
    for (i, period), columns in following.items():
        before = using[problem.items[i].name, period]
        rows.append(Row("", problem.items[i].name, [*columns, *before],
                        [1.0] * len(columns) + [-1.0] * len(before), -math.inf, 0.0))
    rows += _needs(problem, using)
    rows += _apart(problem, using)
    if problem.left_out:
        mine = [c for columns in first.values() for c in columns]
        most = float(len(problem.items) - problem.left_out)
        rows.append(Row(RESERVE, f"{problem.left_out} left out", mine, [1.0] * len(mine),
                        -math.inf, most))
    totals, count = _totals(problem, options)
    return Laid(options, count, (*rows, *totals))


def _needs(problem: Problem, using: dict[tuple[str, int], list[int]]) -> list[Row]:
    rows = []
    for need in problem.needs:
        columns = using.get((need.item, need.period), [])
        rows.append(Row(need.name, need.item, columns, [1.0] * len(columns), 1.0, math.inf,
                        need.period))
    return rows


def _apart(problem: Problem, using: dict[tuple[str, int], list[int]]) -> list[Row]:
    rows = []
    for one, other in problem.apart:
        for period in range(problem.periods):
            both = [*using.get((one, period), []), *using.get((other, period), [])]
            if len({name for name in (one, other) if using.get((name, period))}) == 2:
                rows.append(Row(APART, f"{one} and {other}", both, [1.0] * len(both), -math.inf,
                                1.0, period))
    return rows


def _totals(problem: Problem, options: Sequence[tuple[int, int]]) -> tuple[list[Row], int]:
    """Give a column to each total that a rule speaks of, the row that makes it, and the rules."""
    count = len(options)
    rows: list[Row] = []
    of_total: dict[tuple[frozenset[str] | None, int], int] = {}
    for items in dict.fromkeys(rule.items for rule in problem.rules):
        columns: dict[int, list[int]] = defaultdict(list)
        amounts: dict[int, list[float]] = defaultdict(list)
        for column, (i, j) in enumerate(options):
            item = problem.items[i]
            if items is not None and item.name not in items:
                continue
            for period, amount in item.options[j].takes.items():
                columns[period].append(column)
                amounts[period].append(amount * item.size)
        for period in range(problem.periods):
            of_total[items, period] = count
            rows.append(Row("", "", [*columns[period], count], [*amounts[period], -1.0], 0.0, 0.0))
            count += 1
    rows += [Row(rule.name, rule.about, [of_total[rule.items, t] for t in rule.weights],
                 list(rule.weights.values()), rule.low, rule.high, rule.period)
             for rule in problem.rules]
    return rows, count


def matrix(rows: Sequence[Row], columns: int) -> tuple[csr_array, Array, Array]:
    """Give the rows as a sparse matrix with the low and the high ends.

    Parameters
    ----------
    rows : sequence of Row
        R of them.
    columns : int
        How many columns there are, C.

    Returns
    -------
    matrix : csr_array, shape (R, C)
        The coefficients.
    low, high : ndarray, shape (R,)
        The bounds.
    """
    lengths = [len(row.columns) for row in rows]
    starts = np.concatenate([[0], np.cumsum(lengths)]) if rows else np.zeros(1)
    data = np.array([c for row in rows for c in row.coefficients], dtype=float)
    where = np.array([c for row in rows for c in row.columns], dtype=np.int32)
    held = csr_array((data, where, starts.astype(np.int32)), shape=(len(rows), columns))
    return (held, np.array([row.low for row in rows], dtype=float),
            np.array([row.high for row in rows], dtype=float))
