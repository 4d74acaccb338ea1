"""What was taken: a weight with its variance, a pick, and all that was taken from a cell."""

import dataclasses
import functools
import itertools
import math
from collections.abc import Mapping, Sequence
from datetime import date
from typing import NamedTuple


class Kg(NamedTuple):
    """A weight with its variance. [kg], [kg²].

    Attributes
    ----------
    records : tuple of str
        Names of the bags behind it.
    df : float
        Degrees of freedom of the variance: few lots tell the spread of bags badly.
    """

    kg: float
    variance: float
    bags: float
    records: tuple[str, ...]
    df: float = math.inf


@dataclasses.dataclass(frozen=True)
class PickMade:
    """One pick of one cell.

    Attributes
    ----------
    by_day : mapping of date to Kg
        What was taken on each day from the first to the last.
    whole : Kg or None
        All of it together; None where its kg are not known.
    share_pct : float or None
        As typed in for a pick from before the program.
    """

    cell: str
    first: date
    last: date
    days: tuple[date, ...]
    by_day: Mapping[date, Kg]
    whole: Kg | None
    share_pct: float | None
    records: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class CellTakings:
    """All that was taken from one cell: picks, and stray bags between them."""

    cell: str
    picks: tuple[PickMade, ...]
    stray: Mapping[date, Kg]

    @functools.cached_property
    def days(self) -> tuple[date, ...]:
        """Its picking days, pick by pick."""
        return tuple(day for pick in self.picks for day in pick.days)


def added(parts: Sequence[Kg]) -> Kg:
    """Add up weights of which each may err by itself."""
    return Kg(
        sum([p.kg for p in parts]), sum([p.variance for p in parts]), sum([p.bags for p in parts]),
        # Most are of one lot, or of one that was counted: no record can be named twice.
        _named_once([p.records for p in parts if p.records]),
        # The least of the parts': never too sure.
        min([p.df for p in parts if p.variance > 0.0], default=math.inf),
    )


def _named_once(records: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    if len(records) == 1:
        return records[0]
    return tuple(dict.fromkeys(itertools.chain.from_iterable(records)))
