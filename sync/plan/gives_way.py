"""Which rules clash where no schedule keeps them all.

Rule 1: a clash is told by what would have to give way, one rule at a time, and by how much.
"""

import dataclasses
import math

import numpy as np

from sync.plan.rows import Laid, Row, lay_out
from sync.plan.schedule import Problem
from sync.plan.search import Clock
from sync.plan.solve import NOTHING, least

#: Slack is made worth this part of a rule's own size, so that kilograms do not outweigh a pick.
_LEAST_SIZE = 1.0
#: A rule is told to give way by so much at most more than it must. [-]
_NEAR = 0.01


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


def clash_of(
    problem: Problem, *, limit_s: float = 60.0, clock: Clock | None = None
) -> Clash:
    """Say which rules clash, where no schedule keeps them all.

    Parameters
    ----------
    problem : Problem
        One that `solve` calls infeasible.
    limit_s : float
        Longest time for all rules that are tried. [s]
    clock : callable, optional
        Seconds that run.

    Returns
    -------
    Clash
        Empty where the solver had no time to tell.
    """
    laid = lay_out(problem)
    names = list(dict.fromkeys(row.name for row in laid.rows if row.name))
    alone = []
    limit_s /= len(names) + 1
    for name in names:
        ways = _give_way(problem, laid, {name}, limit_s, clock)
        if ways is not None:
            alone.append(ways)
    if alone:
        return Clash(tuple(alone), ())
    return Clash((), _give_way(problem, laid, set(names), limit_s, clock) or ())


def _give_way(
    problem: Problem, laid: Laid, names: set[str], limit_s: float, clock: Clock | None
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
    found, _ = least(problem, wider, np.array(costs), gap=_NEAR, limit_s=limit_s, clock=clock)
    x = found.x
    if x is None:
        return None
    return tuple(
        GivesWay(row.name, row.about, by, row.period) for row, place in slack
        if (by := float(x[place] + x[place + 1])) > NOTHING * max(_LEAST_SIZE, _size(row))
    )


def _size(row: Row) -> float:
    return max((abs(end) for end in (row.low, row.high) if math.isfinite(end)), default=1.0)
