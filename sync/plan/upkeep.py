"""What work on the ground took: hours and cost by kind and season, and for what it changed.

Rule 1: the cost is the owner's rate times the hours noted; without a rate there are hours alone.
Rule 2: what a change cost is told only where its range leaves no doubt of its side; a change that
may be none has no price.
Rule 3: hours and ground are taken as noted: the range is that of the change alone.
"""

import dataclasses
import math
from collections import defaultdict
from collections.abc import Iterable, Sequence

from sync.block import season_of
from sync.plan.condition import Condition, WorkHelped
from sync.plan.trial import TrialSeen
from sync.plan.works import Work
from sync.register.build import Register
from sync.survey.paired import PairedChange


@dataclasses.dataclass(frozen=True)
class WorkSum:
    """Work of one kind in one season.

    Attributes
    ----------
    times, unsaid : int
        Records, and how many of them name no hours.
    ha : float
        Its ground; what was worked twice counts twice. [ha]
    hours : float or None
        None where no record names any. [h]
    hours_ha : float or None
        On the ground of the records that name hours. [h/ha]
    """

    what: str
    season: int
    times: int
    unsaid: int
    ha: float
    hours: float | None
    hours_ha: float | None


@dataclasses.dataclass(frozen=True)
class Price:
    """Hours on a hectare for a change by one point of scrub, mm of water or L/m² of moss.

    Attributes
    ----------
    about : str
        The work's day and kind, or the trial's name.
    measure : {"scrub", "water", "moss"}
        What was to change.
    hours_ha : float
        Spent. [h/ha]
    gain : float
        What changed for the better: scrub less, water or moss more. [points, mm, L/m²]
    each, low, high : float or None
        Hours on a hectare for one; None where a gain of none is in its range or, without a range,
        there was none; low and high None where one plot gives no range. [h/ha]
    """

    about: str
    measure: str
    hours_ha: float
    gain: float
    each: float | None
    low: float | None
    high: float | None


@dataclasses.dataclass(frozen=True)
class Upkeep:
    """What work took; `rate` is that of an hour, None where the owner said none. [currency/h]."""

    sums: tuple[WorkSum, ...]
    prices: tuple[Price, ...]
    rate: float | None
    currency: str


def upkeep_of(
    register: Register, condition: Condition, trials: Sequence[TrialSeen]
) -> Upkeep:
    """Sum up the work until the register's day.

    Parameters
    ----------
    register : Register
        For the owner's rate and the season's start.
    condition : Condition
        Its works, and what was read after them.
    trials : sequence of TrialSeen
        What the treatments did.

    Returns
    -------
    Upkeep
        Sums by season, newest first, and kind; prices of work by day, then of trials.
    """
    works = [one.work for one in condition.works]
    start = register.block.season_start
    groups: dict[tuple[int, str], list[Work]] = defaultdict(list)
    for work in works:
        groups[-season_of(work.seen.day, start), work.seen.what].append(work)
    prices = [*(_of_work(one) for one in condition.works),
              *(_of_trial(seen, works) for seen in trials)]
    costs = register.block.costs
    return Upkeep(
        tuple(_sum(what, -season, groups[season, what]) for season, what in sorted(groups)),
        tuple(one for one in prices if one is not None), costs.work_per_hour, costs.currency)


def _sum(what: str, season: int, works: Sequence[Work]) -> WorkSum:
    told = [work for work in works if work.seen.hours is not None]
    hours = _hours(told)
    return WorkSum(what, season, len(works), len(works) - len(told),
                   math.fsum(work.ha for work in works), hours if told else None,
                   _hours_ha(told))


def _hours(works: Iterable[Work]) -> float:
    return math.fsum(work.seen.hours or 0.0 for work in works)


def _hours_ha(works: Sequence[Work]) -> float | None:
    """Give hours on a hectare of works that name hours; None without ground or hours."""
    ha = math.fsum(work.ha for work in works)
    return _hours(works) / ha if ha > 0.0 else None


def _of_work(one: WorkHelped) -> Price | None:
    if one.mean is None or one.work.seen.hours is None:
        return None
    hours_ha = _hours_ha([one.work])
    if hours_ha is None:
        return None
    about = f"{one.work.seen.what.replace('_', ' ')} on {one.work.seen.day.isoformat()}"
    better = -1.0 if one.measure == "scrub" else 1.0
    return price_of(about, one.measure, hours_ha, better * one.mean, one.relative)


def _of_trial(seen: TrialSeen, works: Sequence[Work]) -> Price | None:
    """Price a trial by the work noted for it; its hours are those of the cells drawn for it."""
    drawn = {pair.pair.treated for pair in seen.pairs}
    mine = [work for work in works
            if work.seen.trial == seen.trial and work.seen.what == seen.treatment
            and work.seen.hours is not None and drawn & set(work.cells)]
    hours_ha = _hours_ha(mine)
    if seen.found is None or hours_ha is None:
        return None
    return price_of(f"trial {seen.trial}", "moss", hours_ha, seen.found.mean, seen.found)


def price_of(
    about: str, measure: str, hours_ha: float, gain: float, change: PairedChange | None
) -> Price:
    """Say what a gain of one took.

    Parameters
    ----------
    about, measure : str
        As in `Price`.
    hours_ha : float
        Spent. [h/ha]
    gain : float
        Positive for the better. [points, mm, L/m²]
    change : PairedChange or None
        The same with its 90 % range, of either sign; None where one plot gave no range.

    Returns
    -------
    Price
        Hours divided by gain. The range of a fixed amount divided by a gain that is surely above
        0 is the amount divided by the ends of the gain's range (derived: dividing by it is
        monotone there).
    """
    spread = None if change is None else (change.high - change.low) / 2.0
    if gain <= 0.0 or (spread is not None and gain <= spread):
        return Price(about, measure, hours_ha, gain, None, None, None)
    low = None if spread is None else hours_ha / (gain + spread)
    high = None if spread is None else hours_ha / (gain - spread)
    return Price(about, measure, hours_ha, gain, hours_ha / gain, low, high)
