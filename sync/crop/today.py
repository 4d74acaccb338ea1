"""A cell's state on a day and what may be taken of it.

Rule 1: the state is the first that fits: closed, resting, unsurveyed, taken, ready.
Rule 2: while a pick is open, what may be taken is what could be taken before its first day.
Rule 3: a cell gets at most one pick on a forecast; after its rest it must be measured again.
"""

import dataclasses
from collections.abc import Callable, Sequence
from datetime import date
from typing import Literal

from sync.block import Block, day_after
from sync.crop.ahead import Ahead, allowance_by, allowed, grown
from sync.crop.allow import Allowance, left_kg
from sync.crop.chain import CellCrop
from sync.crop.classes import JudgedPick
from sync.crop.walk import Stand
from sync.crop.walked import Walked
from sync.geometry.ground import CellGround
from sync.picks.joining import Pick, is_open
from sync.picks.made import Kg
from sync.settings import DAYS_PER_YEAR, Tunables

State = Literal["closed", "resting", "unsurveyed", "taken", "ready"]


@dataclasses.dataclass(frozen=True)
class PicksToday:
    """A cell's picks as they stand on a day.

    Attributes
    ----------
    open_pick : JudgedPick or None
        The pick that picking today would join; a touch may be open too.
    last_over : JudgedPick or None
        The last real pick that is over; its rest counts.
    """

    open_pick: JudgedPick | None
    last_over: JudgedPick | None


@dataclasses.dataclass(frozen=True)
class CellToday:
    """What the register says of a cell apart from its crop.

    Attributes
    ----------
    allowance : Allowance or None
        At the start of the open pick, else today; None unless the cell is ready or taken.
    at_start : CellCrop or None
        The cell as it was before the open pick, which the allowance rests on.
    taken : Kg or None
        Taken in the open pick. [kg]
    may_take_kg, left_kg : float or None
        None where the cell has no figure. [kg]
    next_on : date or None
        First day on which it is ready by what is known.
    next_kg : float or None
        What could then be taken; None where no crop can be told today. [kg]
    """

    state: State
    why: str
    picks: PicksToday
    allowance: Allowance | None
    at_start: CellCrop | None
    taken: Kg | None
    may_take_kg: float | None
    left_kg: float | None
    next_on: date | None
    next_kg: float | None


def picks_today(
    picks: Sequence[JudgedPick],
    finished: Sequence[date],
    block: Block,
    tunables: Tunables,
    *,
    on: date,
) -> PicksToday:
    """Part a cell's picks into the open one and the last that is over.

    Parameters
    ----------
    picks : sequence of JudgedPick
        Oldest first, none after `on`.
    finished : sequence of date
        Days on which an END named the cell finished.
    block : Block
        For its seasons.
    tunables : Tunables
        How long a pick may be joined.
    on : date
        The day asked about.
    """
    def still_open(pick: JudgedPick) -> bool:
        span = Pick(pick.made.first, pick.made.last, pick.made.days)
        return is_open(
            span, on,
            finished_days=[day for day in finished if day <= on],
            season_start=block.season_start,
            same_pick_days=tunables.same_pick_days,
            pick_longest_days=tunables.pick_longest_days,
        )

    opened = [pick for pick in picks if still_open(pick)]
    over = [pick for pick in picks if not pick.touch and pick not in opened]
    return PicksToday(opened[-1] if opened else None, over[-1] if over else None)


def cell_today(
    cell: CellCrop,
    ground: CellGround,
    finished: Sequence[date],
    block: Block,
    tunables: Tunables,
    cell_before: Callable[[date], CellCrop | None],
    *,
    on: date,
    later: Callable[[date], CellGround | None],
) -> CellToday:
    """Say what state a cell is in and what may be taken of it.

    Parameters
    ----------
    cell : CellCrop
        It on the day asked about.
    ground : CellGround
        The cell's ground on that day.
    finished : sequence of date
        Days on which an END named the cell finished.
    block, tunables
        Seasons, and how long a pick may be joined.
    cell_before : callable
        The cell by what happened before a day; None where it was no ground of the block.
    on : date
        The day asked about.
    later : callable
        The cell's ground on a later day, for closings that end.

    Returns
    -------
    CellToday
        With a reason in words.
    """
    picks = picks_today(cell.picks, finished, block, tunables, on=on)
    state, why = _state(cell, ground, picks, on)
    at_start, taken = cell, None
    if picks.open_pick is not None:
        taken = _taken(picks.open_pick, cell)
        at_start = cell_before(picks.open_pick.made.first) or cell
    found: Allowance | None = None
    if state == "ready":
        found = _allowance(at_start, cell, picks.open_pick)
    # Ready without a figure (its class was never measured at rest) stays without one.
    may_take = left = None if state == "ready" else 0.0
    if found is not None:
        may_take = found.may_take_kg
        left = left_kg(may_take, taken.kg if taken is not None else 0.0)
        if taken is not None and left == 0.0:
            state = "taken"
            why = f"taken: {taken.kg:.0f} kg of {may_take:.0f} kg are picked"
    next_on, next_kg = _next(state, left, cell, ground, picks, later, on=on)
    return CellToday(
        state, why, picks, found, at_start if found is not None else None, taken, may_take, left,
        next_on, next_kg,
    )


def _state(
    cell: CellCrop, ground: CellGround, picks: PicksToday, on: date
) -> tuple[State, str]:
    if ground.open_m2 <= 0.0:
        return "closed", _why_closed(ground)
    if not cell.rule.permitted:
        return "closed", "closed: no permit in force"
    over = picks.last_over
    if over is not None and over.rest_ends is not None and on < over.rest_ends:
        return "resting", f"rests until {over.rest_ends.isoformat()}"
    if not surveyed_since(cell, over):
        if over is None:
            return "unsurveyed", "nobody has laid a quadrat here"
        return "unsurveyed", (
            f"not measured since its last pick ended {over.made.last.isoformat()}"
        )
    latest = max(_survey_days(cell))
    return "ready", f"ready: measured {latest.isoformat()}"


def _why_closed(ground: CellGround) -> str:
    closings = sorted(ground.closings, key=lambda c: (c.until is None, c.until or date.min, c.why))
    if not closings:
        return "closed: no open ground"
    last = closings[-1]
    until = f" until {last.until.isoformat()}" if last.until else ""
    return f"closed: {last.why}{until}"


def surveyed_since(cell: CellCrop, over: JudgedPick | None) -> bool:
    """Say whether a cell has a quadrat or bare plot since its last pick that is over.

    Parameters
    ----------
    cell : CellCrop
        The cell on a day.
    over : JudgedPick or None
        Its last pick that is over.

    Returns
    -------
    bool
        A quadrat noted right after a pick opens no cell.
    """
    since = over.made.last if over is not None else date.min
    return any(day > since for day in _survey_days(cell))


def _survey_days(cell: CellCrop) -> list[date]:
    """Give the days of the quadrats that the crop can rest on: by eye only where none is drawn."""
    useful = [r.reading for r in cell.readings
              if r.index is not None and r.reading.when != "after_pick"]
    return [r.day for r in [r for r in useful if r.drawn] or useful]


def _taken(pick: JudgedPick, cell: CellCrop) -> Kg:
    """Give what a pick took; where nobody knows its kg, what the walk took for it."""
    nothing = Kg(0.0, 0.0, 0.0, pick.made.records)
    if pick.made.whole is not None or cell.walked is None:
        return pick.made.whole or nothing
    return cell.walked.taken.get(pick.made.first, nothing)


def _allowance(
    at_start: CellCrop, cell: CellCrop, open_pick: JudgedPick | None
) -> Allowance | None:
    """Work out what may be taken; a survey that fell into the pick counts as of its start."""
    walked = at_start.walked
    today = cell.walked
    during = today.during if today is not None else None
    if during is not None and open_pick is not None and during.first == open_pick.made.first:
        stand = dataclasses.replace(
            during.stand,
            crop_kg=during.stand.crop_kg + during.taken.kg,
            crop_var=during.stand.crop_var + during.taken.variance,
        )
        ruled = dataclasses.replace(cell, rule=at_start.rule, growth=at_start.growth)
        return allowance_of(stand, during.pickable_kg + during.taken.kg, ruled)
    if walked is None:
        return None
    return allowance_of(walked.stand, walked.pickable_kg, at_start)


def allowance_of(stand: Stand, pickable_kg: float, cell: CellCrop) -> Allowance:
    """Work out what may be taken of a cell by its own rule and growth.

    Parameters
    ----------
    stand : Stand
        Crop and rested crop. [kg]
    pickable_kg : float
        What of the crop is pickable. [kg]
    cell : CellCrop
        Whose ground, rule and growth hold.
    """
    return allowance_by(stand, pickable_kg, cell.open_m2, cell.growth, cell.rule)


def _next(
    state: State,
    left: float | None,
    cell: CellCrop,
    ground: CellGround,
    picks: PicksToday,
    later: Callable[[date], CellGround | None],
    *,
    on: date,
) -> tuple[date | None, float | None]:
    """Give the first day on which the cell is ready, and what could then be taken."""
    if state == "ready":
        return on, left
    if state in {"unsurveyed", "taken"} or not surveyed_since(cell, picks.last_over):
        return None, None
    day = _opens(cell, ground, picks, on)
    if day is None:
        return None, None
    then = later(day)
    if then is None or then.open_m2 <= 0.0:
        return None, None
    if cell.walked is None:  # wholly closed today, so it has no crop to look ahead from
        return day, None
    years = (day - on).days / DAYS_PER_YEAR
    return day, allowed(grown(ahead_of(cell, cell.walked), years)).may_take_kg


def ahead_of(cell: CellCrop, walked: Walked) -> Ahead:
    """Give what a look ahead needs of a cell and its walk."""
    return Ahead(
        walked.stand, walked.share, walked.measured, cell.open_m2, cell.growth, cell.rule)


def _opens(
    cell: CellCrop, ground: CellGround, picks: PicksToday, on: date
) -> date | None:
    days = [on]
    if picks.last_over is not None and picks.last_over.rest_ends is not None:
        days.append(picks.last_over.rest_ends)
    if ground.open_m2 <= 0.0:
        untils = [closing.until for closing in ground.closings]
        if any(until is None for until in untils) or not untils:
            return None
        days.append(day_after(max(u for u in untils if u is not None)))
    if not cell.rule.permitted:
        return None
    return max(days)

