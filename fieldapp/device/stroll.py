"""A made-up walk over a ground sheet, to try the phone out at a desk.

Rule 1: the same sheet and start give the same walk; nothing in it is random.
Rule 2: it goes by a few cells that lie together, ready and resting ones among them, and by plots.
"""

import math
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from fieldapp.device.location import ReplayedGpx
from fieldapp.ground import Cell, Sheet, state_on
from fieldapp.ground.shapes import Point, holds
from fieldapp.record import Fix

#: Between picking speed and a walk on moss; common practice, no source. [m/s]
PACE_M_S = 0.9
#: A phone's receiver under open sky; common practice, no source. [m]
ACC_M = 4.0
#: At least so long; then the walk ends where it is. [s]
LASTS_S = 7200
#: At each stop, so that signs that wait 10 s are seen. [s]
STAY_S = 20
#: Cells and plots of one round.
CELLS = 5
PLOTS = 4
#: States that a round shall pass, if the block has them.
_SHOWN = ("ready", "resting")
_ASKED = 9
_DEGREE_DIGITS = 7


def stroll(sheet: Sheet, *, start: datetime, pace_m_s: float = PACE_M_S,
           acc_m: float = ACC_M) -> ReplayedGpx:
    """Make up a walk.

    Parameters
    ----------
    sheet : Sheet
        The ground; states are those of the day of `start`.
    start : datetime
        Aware; the first fix.
    pace_m_s : float
        Above 0. [m/s]
    acc_m : float
        68 % radius of each fix. [m]

    Returns
    -------
    ReplayedGpx
        A fix each second for at least two hours: from the gate, or the block's middle without
        one, through the middles of neighbouring cells and past their plots, then round again.

    Raises
    ------
    ValueError
        If the pace is not above 0.
    """
    if not pace_m_s > 0.0:
        raise ValueError(f"pace_m_s={pace_m_s!r} is not above 0")
    day = start.astimezone(ZoneInfo(sheet.zone)).date()
    stops = _round(sheet, sheet.gate or _middle_of_all(sheet), day)
    points: list[Point] = []
    while len(points) <= LASTS_S:
        points.extend(_along([*points[-1:], *stops], pace_m_s))
    began = start.astimezone(UTC)
    return ReplayedGpx([_fix(sheet, point, began + timedelta(seconds=second), acc_m)
                        for second, point in enumerate(points)])


def _fix(sheet: Sheet, point: Point, at: datetime, acc_m: float) -> Fix:
    lat, lon = sheet.map.to_deg(*point)
    return (at, round(lat, _DEGREE_DIGITS), round(lon, _DEGREE_DIGITS), acc_m)


def _along(stops: Sequence[Point], pace_m_s: float) -> Iterator[Point]:
    """Give a point each second: a stay at each stop, and the straight way to the next."""
    yield from [stops[0]] * STAY_S
    for here, there in pairwise(stops):
        seconds = math.ceil(math.dist(here, there) / pace_m_s)
        for second in range(1, seconds):
            share = second / seconds
            yield (here[0] + share * (there[0] - here[0]), here[1] + share * (there[1] - here[1]))
        yield from [there] * STAY_S


def _round(sheet: Sheet, begin: Point, day: date) -> list[Point]:
    """Give the stops of one round: the gate, then by nearness the cells' middles and the plots."""
    middles = {cell.name: _middle(cell) for cell in sheet.cells}
    near = sorted(sheet.cells, key=lambda cell: (math.dist(middles[cell.name], begin), cell.name))
    chosen = _chosen(sheet, near, day)
    plots = [plot.at for plot in sheet.plots if plot.cell in chosen and not plot.spare][:PLOTS]
    waiting = [middles[name] for name in chosen] + plots
    stops = [begin]
    while waiting:
        stops.append(min(waiting, key=lambda point: math.dist(point, stops[-1])))
        waiting.remove(stops[-1])
    return stops


def _chosen(sheet: Sheet, near: Sequence[Cell], day: date) -> list[str]:
    """Give the nearest cell of each state to be shown, then the nearest until there are enough."""
    states = {cell.name: state_on(sheet, cell, day) for cell in near}
    first = [next((cell.name for cell in near if states[cell.name] == state), None)
             for state in _SHOWN]
    names = [name for name in first if name is not None]
    return list(dict.fromkeys([*names, *(cell.name for cell in near)]))[:CELLS]


def _middle(cell: Cell) -> Point:
    """Give the point of a cell nearest to the middle of its box, by a grid over it."""
    west, south, east, north = cell.box
    middle = ((west + east) / 2.0, (south + north) / 2.0)
    grid = [(west + (column + 0.5) / _ASKED * (east - west),
             south + (row + 0.5) / _ASKED * (north - south))
            for row in range(_ASKED) for column in range(_ASKED)]
    within = [point for point in grid if holds(cell.shape, *point)]
    return min(within, key=lambda point: math.dist(point, middle), default=cell.shape[0][0][0])


def _middle_of_all(sheet: Sheet) -> Point:
    boxes = [cell.box for cell in sheet.cells]
    if not boxes:
        return 0.0, 0.0
    return ((min(box[0] for box in boxes) + max(box[2] for box in boxes)) / 2.0,
            (min(box[1] for box in boxes) + max(box[3] for box in boxes)) / 2.0)
