"""Which items in which periods: the general problem that a plan of seasons is one case of.

Rule 1: nothing here knows of moss: items, periods, amounts and named rules.
Rule 2: an option may follow another of its item, so that rest and what came before are part of
the choice; an item's options without rules between items are solved exactly.
Rule 3: every rule has a name, by which it can be let go when no schedule keeps them all.
"""

import dataclasses
import math
from collections.abc import Iterable, Mapping
from typing import Literal

#: Names of the rules that are not a `Rule` of their own.
APART, RESERVE = "apart", "reserve"
Status = Literal["optimal", "limit", "infeasible", "nothing"]


@dataclasses.dataclass(frozen=True)
class Option:
    """One way to use an item.

    Attributes
    ----------
    takes : mapping of int to float
        Amount in each period in which it uses the item.
    value : float
        What it is worth, in the unit of the goal.
    after : int or None
        The period of a use of the same item that it follows; None for a first use.
    """

    takes: Mapping[int, float]
    value: float
    after: int | None = None


@dataclasses.dataclass(frozen=True)
class Item:
    """A thing that is used at most once by first options, and as often as others follow.

    Attributes
    ----------
    size : float
        Amounts and values of its options are per unit of it.
    whole : bool
        Whether all of it must be used by some first option.
    """

    name: str
    options: tuple[Option, ...]
    size: float = 1.0
    whole: bool = False


@dataclasses.dataclass(frozen=True)
class Rule:
    """Bounds on a weighted sum of what the periods give: low ≤ Σ weight·amount ≤ high.

    Attributes
    ----------
    name : str
        Of all rules that stand or fall together.
    about : str
        This one, in words.
    items : frozenset of str or None
        Whose amounts count; None is all.
    period : int or None
        The period that a clash is told of; None where it is no single one.
    """

    name: str
    about: str
    weights: Mapping[int, float]
    low: float = -math.inf
    high: float = math.inf
    items: frozenset[str] | None = None
    period: int | None = None


@dataclasses.dataclass(frozen=True)
class Need:
    """An item that must be used in a period; `name` as of a rule."""

    name: str
    item: str
    period: int


@dataclasses.dataclass(frozen=True)
class Problem:
    """What is to be scheduled.

    Attributes
    ----------
    periods : int
        Numbered from 0.
    apart : tuple of (str, str)
        Items of which only one is used in any period.
    left_out : int
        Items that must not be used at all, at least.
    divisible : bool
        Whether parts of an item may take different options.
    """

    items: tuple[Item, ...]
    periods: int
    rules: tuple[Rule, ...] = ()
    needs: tuple[Need, ...] = ()
    apart: tuple[tuple[str, str], ...] = ()
    left_out: int = 0
    divisible: bool = False


@dataclasses.dataclass(frozen=True)
class Chosen:
    """An option taken, by a share of its item (1 unless the problem is divisible)."""

    item: str
    option: Option
    share: float


@dataclasses.dataclass(frozen=True)
class Schedule:
    """What the solver found.

    Attributes
    ----------
    status : {"optimal", "limit", "infeasible", "nothing"}
        `optimal` within the gap asked for, `limit` where time ran out with a schedule at hand,
        `nothing` where it ran out without one.
    value, bound : float or None
        Worth of the schedule, and what no schedule can exceed.
    gap : float or None
        (bound − value)/|value|. [-]
    chosen : tuple of Chosen
        In the order of items and options.
    totals : tuple of float
        Amount of each period, over all items.
    in_turns : bool
        Whether it was searched for in turns cut off by time: another run may find another.
    """

    status: Status
    value: float | None
    bound: float | None
    gap: float | None
    chosen: tuple[Chosen, ...]
    totals: tuple[float, ...]
    in_turns: bool = False


def between(
    name: str, about: str, period: int, *, low: float = -math.inf, high: float = math.inf,
    items: Iterable[str] | None = None,
) -> Rule:
    """Bound what one period gives.

    Parameters
    ----------
    name, about : str
        Of the rule.
    period : int
        Which.
    low, high : float
        In the unit of the amounts.
    items : iterable of str or None
        Whose amounts count; None is all.
    """
    mine = None if items is None else frozenset(items)
    return Rule(name, about, {period: 1.0}, low, high, mine, period)


def flow(name: str, about: str, period: int, share: float) -> tuple[Rule, Rule]:
    """Hold a period within a share of the one before it.

    Parameters
    ----------
    name, about : str
        Of the rule.
    period : int
        From 1.
    share : float
        (1 − share)·before ≤ this ≤ (1 + share)·before. [-]
    """
    return (
        Rule(name, about, {period: 1.0, period - 1: share - 1.0}, low=0.0, period=period),
        Rule(name, about, {period: 1.0, period - 1: -1.0 - share}, high=0.0, period=period),
    )


def even(
    name: str, about: Mapping[int, str], share: float, already: Mapping[int, float]
) -> tuple[Rule, ...]:
    """Hold every period within a share of the mean of them.

    Parameters
    ----------
    name : str
        Of the rule.
    about : mapping of int to str
        The periods that it holds for, each in words.
    share : float
        (1 − share)·mean ≤ each ≤ (1 + share)·mean. [-]
    already : mapping of int to float
        What a period gave before the schedule begins; it counts.
    """
    count = len(about)
    mean_already = sum(already.get(t, 0.0) for t in about) / count if count else 0.0
    rules = []
    for period, words in about.items():
        for bound in (1.0 - share, 1.0 + share):
            weights = {t: (t == period) - bound / count for t in about}
            known = bound * mean_already - already.get(period, 0.0)
            low, high = (known, math.inf) if bound < 1.0 else (-math.inf, known)
            if share == 0.0:
                low = high = known
            rules.append(Rule(name, words, weights, low, high, period=period))
    return tuple(rules)
