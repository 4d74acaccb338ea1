"""What each cell could give in each season to come, by what is known today.

Rule 1: a pick is worked out for the first day of its season on which the cell is open, permitted
and rested: the crop is the walk's of that day, the rule that of that day.
Rule 2: after a pick a cell rests in whole seasons, rounded up, so that the gang can come in the
same weeks; what it gives then is a forecast, and it must be measured first.
Rule 3: a season is planned only where a permit is in force in its middle, where one is needed.
Rule 4: a cell that must be measured first gives nothing in the first season of a plan.
"""

import dataclasses
import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date

from sync.block import day_after
from sync.crop.ahead import Ahead, allowed, grown, picked
from sync.crop.chain import Crop, chain
from sync.crop.rules import cell_rule
from sync.crop.today import CellToday, ahead_of, surveyed_since
from sync.crop.walk import Growth
from sync.picks.rests import MONTHS, rest_ends
from sync.plan.spans import Span
from sync.register.build import Register
from sync.settings import DAYS_PER_YEAR

#: By what is known of a cell on the day asked about; [date] is the day of a pick.
AheadOn = Callable[[date], Ahead | None]


@dataclasses.dataclass(frozen=True)
class Possible:
    """A pick that a cell could give.

    Attributes
    ----------
    period : int
        Season of the plan, from 0.
    day : date
        Earliest day.
    kg : float
        May take then, by what is known. [kg]
    measure_first : bool
        Whether the cell must be measured before.
    """

    period: int
    day: date
    kg: float
    measure_first: bool


@dataclasses.dataclass(frozen=True)
class Outlook:
    """What a cell could give.

    Attributes
    ----------
    firsts : mapping of int to Possible
        First pick in each season that has one.
    laters : mapping of (int, int) to Possible
        The pick of a season that follows one of an earlier season.
    ahead_on : callable
        For working them out again with another growth.
    why : str
        Why there is no first pick at the plan's beginning; empty where there is.
    """

    cell: str
    ground_class: str
    firsts: Mapping[int, Possible]
    laters: Mapping[tuple[int, int], Possible]
    ahead_on: AheadOn
    why: str


def look_ahead(
    cell: str,
    ground_class: str,
    ahead_on: AheadOn,
    days: Sequence[date | None],
    spans: Sequence[Span],
    *,
    on: date,
    floor: float,
    now_kg: float | None = None,
    measure_first: bool = False,
    why: str = "",
) -> Outlook:
    """Work out what a cell could give in each season.

    Parameters
    ----------
    cell, ground_class : str
        Its name and class.
    ahead_on : callable
        The cell as it stands on `on`, on the ground and by the rule of a day.
    days : sequence of date or None
        Earliest day of a first pick in each season.
    spans : sequence of Span
        The seasons.
    on : date
        The day asked about.
    floor : float
        A pick leaves at least this share of the mark. [-]
    now_kg : float or None
        What the register leaves of the cell now, for the first season. [kg]
    measure_first : bool
        Whether the first pick asks for a survey before.
    why : str
        Why nothing can be taken at the beginning.

    Returns
    -------
    Outlook
        Without those that give nothing.
    """
    firsts: dict[int, Possible] = {}
    for period, day in enumerate(days):
        if day is None or (ahead := ahead_on(day)) is None:
            continue
        kg = first_kg(ahead, on, day) if period or now_kg is None else now_kg
        if kg > 0.0:
            firsts[period] = Possible(period, day, kg, measure_first and bool(period))
    laters: dict[tuple[int, int], Possible] = {}
    for before, first in firsts.items():
        ahead = ahead_on(first.day)
        if ahead is None:
            continue
        seasons = math.ceil(ahead.rule.rest_months / MONTHS)
        for period in range(before + seasons, len(spans)):
            day = rest_ends(first.day, MONTHS * (period - before))
            if period not in firsts or (then := ahead_on(day)) is None:
                continue
            kg = later_kg(then, on, first.day, first.kg, day, floor=floor)
            if kg > 0.0:
                laters[before, period] = Possible(period, day, kg, True)
    return Outlook(cell, ground_class, firsts, laters, ahead_on, why)


def first_kg(ahead: Ahead, on: date, day: date, *, true: Growth | None = None) -> float:
    """Give what could be taken of a cell on a day to come.

    Parameters
    ----------
    ahead : Ahead
        As it stands on `on`.
    on, day : date
        Today, and the day of the pick.
    true : Growth or None
        By which the moss grows, where that is not the one that the rule goes by.

    Returns
    -------
    float
        [kg]
    """
    return _allowed_by(grown(_growing(ahead, true), _years(on, day)), ahead)


def later_kg(
    ahead: Ahead, on: date, picked_on: date, kg: float, day: date, *, floor: float,
    true: Growth | None = None,
) -> float:
    """Give what could be taken of a cell on a day after a planned pick.

    Parameters
    ----------
    ahead : Ahead
        As it stands on `on`.
    on, picked_on, day : date
        Today, the day of the planned pick, and that of the next.
    kg : float
        Planned to be taken. [kg]
    floor : float
        A pick leaves at least this share of the mark. [-]
    true : Growth or None
        By which the moss grows, where that is not the one that the rule goes by.

    Returns
    -------
    float
        By forecast. [kg]
    """
    at_pick = grown(_growing(ahead, true), _years(on, picked_on))
    left = picked(at_pick, min(kg, at_pick.stand.crop_kg), floor=floor)
    return _allowed_by(grown(left, _years(picked_on, day)), ahead)


def _growing(ahead: Ahead, true: Growth | None) -> Ahead:
    return ahead if true is None else dataclasses.replace(ahead, growth=true)


def _allowed_by(then: Ahead, rule_of: Ahead) -> float:
    return allowed(dataclasses.replace(then, growth=rule_of.growth)).may_take_kg


def _years(since: date, until: date) -> float:
    return max(0, (until - since).days) / DAYS_PER_YEAR


def outlooks(
    register: Register, spans: Sequence[Span], *, with_unsurveyed: bool
) -> dict[str, Outlook]:
    """Work out what every cell could give.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    spans : sequence of Span
        The seasons.
    with_unsurveyed : bool
        Whether cells that nobody measured count with their class's values.

    Returns
    -------
    dict of str to Outlook
        By column and row; with empty `firsts` where a cell gives nothing in all the seasons.
    """
    crop_on = crops_ahead(register)
    openings = [_openings(register, span) for span in spans]
    least = register.tunables.same_pick_days
    found = {}
    for name, today in register.cells.items():
        over = today.picks.last_over
        opened = today.picks.open_pick
        begun = opened if opened is not None and not opened.touch else None
        since = begun or over
        never = today.state == "unsurveyed" and over is None
        measure = never or begun is not None or not surveyed_since(register.crop.cells[name], over)
        rest = since.rest_ends if since is not None else None
        now = today.left_kg if today.state == "ready" else None
        days: list[date | None] = []
        for period, span in enumerate(spans):
            if period == 0 and now is not None:
                days.append(span.first)
            elif (never and not with_unsurveyed) or (period == 0 and (measure or begun)):
                days.append(None)
            else:
                days.append(_first_day(name, crop_on, span, openings[period], rest, least))
        found[name] = look_ahead(
            name, register.crop.cells[name].ground_class, _ahead_on(name, crop_on), days, spans,
            on=register.on, floor=register.tunables.crop_floor,
            now_kg=now if spans[0].first == register.on else None, measure_first=measure,
            why="" if now else _why(today, measure),
        )
    return found


def _why(today: CellToday, measure: bool) -> str:
    if today.state == "ready":
        return "nothing may be taken of it by its rule"
    return today.why + (", and measured first" if measure and today.state == "resting" else "")


def _ahead_on(name: str, crop_on: Callable[[date], Crop]) -> AheadOn:
    def ahead(day: date) -> Ahead | None:
        cell = crop_on(day).cells.get(name)
        if cell is None or cell.walked is None or not cell.rule.permitted or cell.open_m2 <= 0.0:
            return None
        return ahead_of(cell, cell.walked)
    return ahead


def _first_day(
    name: str, crop_on: Callable[[date], Crop], span: Span, openings: Sequence[date],
    rest: date | None, least_days: int,
) -> date | None:
    """Give the first day of a season on which a cell is open, permitted and rested."""
    middle = crop_on(span.middle).cells.get(name)
    if middle is None or not middle.rule.permitted:
        return None
    days = sorted({*openings, *([rest] if rest is not None else [])})
    for day in days:
        if day < span.first or (rest is not None and day < rest):
            continue
        if (span.last - day).days < least_days and day != span.first:
            return None
        if _ahead_on(name, crop_on)(day) is not None:
            return day
    return None


def _openings(register: Register, span: Span) -> list[date]:
    """Give the days of a season on which something may open: its first, and when closings end."""
    days = {span.first}
    for one in register.grounds.on(span.first).closings:
        if one.until is not None:
            days.add(day_after(one.until))
    for permit in register.block.permits:
        if permit.since is not None:
            days.add(permit.since)
    return sorted(day for day in days if span.first <= day <= span.last)


def crops_ahead(register: Register) -> Callable[[date], Crop]:
    """Give the crop as known on the register's day, on the ground and by the rules of another.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Returns
    -------
    callable
        Works a chain out only where ground or rules differ from those it has.
    """
    known: dict[object, Crop] = {_key(register, register.on): register.crop}
    by_day: dict[date, Crop] = {}

    def crop_on(day: date) -> Crop:
        if day not in by_day:
            key = _key(register, day)
            if key not in known:
                known[key] = chain(register.known, register.grounds.on(day), until=register.on,
                                   rules_of=day)
            by_day[day] = known[key]
        return by_day[day]

    return crop_on


def _key(register: Register, day: date) -> object:
    cells = register.grounds.on(day).cells
    return tuple(
        (name, one.open_m2, one.ground_class, cell_rule(register.block, one.parcel, day))
        for name, one in cells.items()
    )
