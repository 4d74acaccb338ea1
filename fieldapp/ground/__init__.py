"""Where am I, and may I pick here: answered from the ground sheet alone, with no signal.

This is the one door to the sheet (`sheet`, `sheet_read`, `sheet_file`) and to what
it says of the ground (`states`, `edges`); other packages import from here alone.
Rule 1: states are those of today, however old the sheet.
Rule 2: an answer that the fix cannot carry says so; only `ready` and sure is green.
"""

import dataclasses
from datetime import date, datetime, tzinfo
from typing import Literal

from fieldapp.ground.edges import Edge, edge
from fieldapp.ground.shapes import chance_in
from fieldapp.ground.sheet import (
    BagType,
    Cell,
    Closure,
    GroundError,
    GroundMap,
    Mark,
    Peg,
    PermitLeft,
    PersonOnSheet,
    Plot,
    Sheet,
    State,
)
from fieldapp.ground.sheet_file import pack_sheet, sheet_json, unpack_sheet
from fieldapp.ground.sheet_read import sheet_of
from fieldapp.ground.states import bare_state, cell_at, closure_at, state_at, state_on
from fieldapp.record import Where

__all__ = [
    "EDGE_FACTOR", "FIX_STALE_S", "UNKNOWN_ACCURACY_M", "Answer", "BagType", "Band", "Cell",
    "Closure", "Edge", "GroundError", "GroundMap", "Mark", "Peg", "PermitLeft", "PersonOnSheet",
    "Plot", "Sheet", "State", "answer", "cell_at", "chance_in_cell", "closure_at", "edge",
    "pack_sheet", "sheet_json", "sheet_of", "state_at", "state_on", "unpack_sheet",
]

#: 95 % one-sided for a straight edge when the radius is the 68 % one: 1.645/1.5096; derived.
EDGE_FACTOR = 1.1
#: An older fix says nothing of where the person is now; common practice, no source.
FIX_STALE_S = 30.0
#: 68 % radius of a fix that states none; from memory. [m]
UNKNOWN_ACCURACY_M = 15.0
Band = Literal["no_sheet", "cannot_tell", "outside", "near_edge",
               "closed", "resting", "unsurveyed", "taken", "ready"]


@dataclasses.dataclass(frozen=True)
class Answer:
    """What the band on the screen shows, all of it.

    Attributes
    ----------
    cell, state : str or None
        The cell under the fix and its state today; None outside the block and without a fix.
    why : str
        The shed's own words for that state; empty where it changed after the sheet was made.
    rest_ends : date or None
        First day on which a resting cell may be picked.
    edge_m, edge_to, edge_state, edge_dir
        The nearest change of state, see `Edge`; outside the block the way back.
    sure : bool
        The fix is fresh and farther from the edge than its radius reaches.
    near_edge, cannot_tell, outside : bool
        Too near for the fix; no fix or a stale one; in no cell.
    sheet_old : bool
        The sheet is past `good_until`.
    sheet_days : int
        Whole days since it was made.
    left_bags, left_kg : int, float or None
        As of the sheet; None where the state has changed since or there is no figure.
    outside_m : float or None
        Way back to the block. [m]
    acc_m, age_s : float or None
        68 % radius as reckoned with [m] and age [s] of the fix.
    """

    cell: str | None = None
    state: State | None = None
    why: str = ""
    ground_class: str | None = None
    rest_ends: date | None = None
    edge_m: float | None = None
    edge_to: str | None = None
    edge_state: State | None = None
    edge_dir: str | None = None
    sure: bool = False
    near_edge: bool = False
    cannot_tell: bool = False
    sheet_old: bool = False
    sheet_days: int = 0
    left_bags: int | None = None
    left_kg: float | None = None
    outside: bool = False
    outside_m: float | None = None
    acc_m: float | None = None
    age_s: float | None = None

    @property
    def band(self) -> Band:
        """The one word to show: can't tell, then outside, then near an edge, then the state."""
        if self.cannot_tell:
            return "cannot_tell"
        if self.outside or self.state is None:
            return "outside"
        return "near_edge" if self.near_edge else self.state


def chance_in_cell(sheet: Sheet, cell: Cell, where: Where) -> float:
    """Give the chance that a fix was taken in a cell.

    Parameters
    ----------
    sheet : Sheet
        The ground.
    cell : Cell
        One of its cells.
    where : Where
        The fix; one without a radius is taken as `UNKNOWN_ACCURACY_M`.

    Returns
    -------
    float
        Between 0 and 1.
    """
    x, y = sheet.map.to_m(where.lat, where.lon)
    return chance_in(cell.shape, x, y, _radius_m(where))


def answer(sheet: Sheet, where: Where | None, *, now: datetime, zone: tzinfo) -> Answer:
    """Answer "where am I, may I pick here?".

    Parameters
    ----------
    sheet : Sheet
        The last one taken, however old.
    where : Where or None
        The newest fix, its age as of `now`; None before the first.
    now : datetime
        Aware.
    zone : tzinfo
        The block's time zone: days change at its midnight.

    Returns
    -------
    Answer
        The state under the fix if the next change of state is at least 1.1 times the fix's
        radius away, else near an edge with both sides named. A fix older than 30 s, or none,
        cannot tell; what it last said is given all the same.
    """
    old = Answer(sheet_old=now > sheet.good_until, sheet_days=max(0, (now - sheet.made_at).days))
    if where is None:
        return dataclasses.replace(old, cannot_tell=True)
    x, y = sheet.map.to_m(where.lat, where.lon)
    day = now.astimezone(zone).date()
    found, next_edge = _under(sheet, x, y, day), edge(sheet, x, y, day)
    stale = where.age_s > FIX_STALE_S
    near = next_edge.edge_m < EDGE_FACTOR * _radius_m(where)
    return dataclasses.replace(
        found, edge_m=next_edge.edge_m, edge_to=next_edge.cell, edge_state=next_edge.state,
        edge_dir=next_edge.direction, near_edge=near, cannot_tell=stale,
        sure=not near and not stale, outside_m=next_edge.edge_m if found.outside else None,
        acc_m=_radius_m(where), age_s=where.age_s, sheet_old=old.sheet_old,
        sheet_days=old.sheet_days)


def _under(sheet: Sheet, x: float, y: float, day: date) -> Answer:
    """Say what the ground under a point is, without a word on how sure that is."""
    cell = cell_at(sheet, x, y)
    if cell is None:
        return Answer(outside=True)
    closure = closure_at(sheet, x, y, day)
    state: State = "closed" if closure is not None else bare_state(cell, day)
    as_told = state == cell.state
    why = closure.why if closure is not None else cell.why if as_told else ""
    return Answer(
        cell=cell.name, state=state, why=why, ground_class=cell.ground_class,
        rest_ends=cell.rest_ends if state == "resting" else None,
        left_bags=cell.left_bags if as_told else None, left_kg=cell.left_kg if as_told else None)


def _radius_m(where: Where) -> float:
    return UNKNOWN_ACCURACY_M if where.acc_m is None else where.acc_m
