"""Which picking days of a cell make one pick, and how long it stays open.

Rule 1: a pick belongs to the season of its first day, so that New Year splits nothing.
Rule 2: a season's end does not part days of one lift cycle; a pick never lasts a year.
Rule 3: the outcome rests on the days alone, not on the order in which they became known.
"""

import dataclasses
from collections.abc import Collection, Iterable, Mapping
from datetime import date

from sync.block import season_of


@dataclasses.dataclass(frozen=True)
class Pick:
    """One visit of the gang to a cell: its first and last picking day, and all of them."""

    first: date
    last: date
    days: tuple[date, ...]


def would_join(
    pick: Pick,
    day: date,
    *,
    season_start: tuple[int, int],
    same_pick_days: int,
    pick_longest_days: int,
) -> bool:
    """Say whether picking on a day would belong to a pick.

    Parameters
    ----------
    pick : Pick
        Known so far.
    day : date
        Local day, on or after the pick's first.
    season_start : (int, int)
        Month and day on which a season begins.
    same_pick_days : int
        A gap of so many days is still the same pick, whatever the season. [days]
    pick_longest_days : int
        A day so many days after the first belongs to another pick. [days]

    Returns
    -------
    bool
        False for a day before the pick.

    Notes
    -----
    Common practice, no source.
    """
    if not 0 <= (day - pick.first).days < pick_longest_days:
        return False
    same_season = season_of(day, season_start) == season_of(pick.first, season_start)
    return same_season or (day - pick.last).days <= same_pick_days


def join_days(
    days: Iterable[date],
    *,
    season_start: tuple[int, int],
    same_pick_days: int,
    pick_longest_days: int,
) -> tuple[Pick, ...]:
    """Join the picking days of one cell into picks.

    Parameters
    ----------
    days : iterable of date
        Local days, in any order; a day named twice counts once.
    season_start : (int, int)
        Month and day on which a season begins.
    same_pick_days, pick_longest_days : int
        As in `would_join`. [days]

    Returns
    -------
    tuple of Pick
        By first day.
    """
    picks: list[Pick] = []
    for day in sorted(set(days)):
        if picks and would_join(
            picks[-1],
            day,
            season_start=season_start,
            same_pick_days=same_pick_days,
            pick_longest_days=pick_longest_days,
        ):
            open_pick = picks[-1]
            picks[-1] = Pick(open_pick.first, day, (*open_pick.days, day))
        else:
            picks.append(Pick(day, day, (day,)))
    return tuple(picks)


def is_open(
    pick: Pick,
    on: date,
    *,
    finished_days: Collection[date],
    season_start: tuple[int, int],
    same_pick_days: int,
    pick_longest_days: int,
) -> bool:
    """Say whether a pick is still open on a day.

    Parameters
    ----------
    pick : Pick
        With the picking days known up to `on`; a later day that joined it opened it again.
    on : date
        The day asked about.
    finished_days : collection of date
        Days on which an END named the cell finished.
    season_start : (int, int)
        Month and day on which a season begins.
    same_pick_days, pick_longest_days : int
        As in `would_join`. [days]

    Returns
    -------
    bool
        False once the cell was named finished on the pick's last day or after, or once picking
        would be another pick.
    """
    if any(pick.last <= day <= on for day in finished_days):
        return False
    return would_join(
        pick,
        on,
        season_start=season_start,
        same_pick_days=same_pick_days,
        pick_longest_days=pick_longest_days,
    )


def mean_day(kg_by_day: Mapping[date, float]) -> float:
    """Give the day on which a pick counts as taken: the mean of its days, weighted by kg.

    Parameters
    ----------
    kg_by_day : mapping of date to float
        Shed-dry kg of each local day; days alike where none has kg. [kg]

    Returns
    -------
    float
        Proleptic Gregorian ordinal, as `date.toordinal` counts, with its fraction. [days]

    Raises
    ------
    ValueError
        If there is no day.
    """
    if not kg_by_day:
        raise ValueError("kg_by_day={}: a pick has at least one day")
    total = sum(kg_by_day.values())
    weights = kg_by_day if total > 0.0 else dict.fromkeys(kg_by_day, 1.0)
    # Counted from the first day: ordinals are near a million and would eat the last digits.
    start = min(weights).toordinal()
    offset = sum((day.toordinal() - start) * kg for day, kg in sorted(weights.items()))
    return start + offset / sum(weights[day] for day in sorted(weights))
