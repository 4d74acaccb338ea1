"""How much fits into the days that there are, found by trial draws.

Rule 1: the trials have chance of their own, so that the real draw's chances stay what they are.
Rule 2: where all cells fit, the time that is left goes to more quadrats in each.
"""

from collections.abc import Callable

from sync.geometry.shapes import bounds_of
from sync.geometry.ways import straight_between
from sync.plan.plots.effort import Effort, Uniform, draw_cells, effort_of
from sync.plan.plots.frame import Frame
from sync.plan.plots.rounds import Pace, share_out
from sync.settings import Tunables

_TRIALS = 4
#: So many trials in four must fit.
_FIT = 3


def pace_of(tunables: Tunables) -> Pace:
    """Give the minutes of a metre and of a plot."""
    return Pace(60.0 / (1000.0 * tunables.walk_km_h), tunables.quadrat_min)


def effort_that_fits(
    frame: Frame,
    gate: tuple[float, float] | None,
    rounds: int,
    tunables: Tunables,
    streams: Callable[[int], Uniform],
    *,
    detour: float = 1.0,
) -> Effort | None:
    """Find the most cells, and then quadrats, that can be walked in so many days.

    Parameters
    ----------
    frame : Frame
        The cells.
    gate : tuple of float or None
        Where each day begins and ends. [m]
    rounds : int
        Surveyors × days.
    tunables : Tunables
        Minutes, speed, hours a day.
    streams : callable
        Gives the stream of chance of a number; the same for the same number.
    detour : float
        How much longer ways are than the straight line. [-]

    Returns
    -------
    Effort or None
        None if not even one cell fits.
    """
    most = 60.0 * tunables.survey_day_h

    def fits(effort: Effort) -> bool:
        longest = [_longest_min(effort, gate, rounds, tunables, streams(trial), detour)
                   for trial in range(_TRIALS)]
        return sum(minutes <= most for minutes in longest) >= _FIT

    low, high = 0, len(frame.cells)
    while low < high:
        middle = (low + high + 1) // 2
        fit = fits(effort_of(frame, middle, tunables))
        low, high = (middle, high) if fit else (low, middle - 1)
    if low == 0:
        return None
    found = effort_of(frame, low, tunables)
    if low == len(frame.cells):
        for least in range(2, tunables.most_quadrats + 1):
            more = effort_of(frame, low, tunables, least=least)
            if not fits(more):
                break
            found = more
    return found


def _longest_min(
    effort: Effort, gate: tuple[float, float] | None, rounds: int, tunables: Tunables,
    uniform: Uniform, detour: float,
) -> float:
    places: list[tuple[float, float]] = [gate or (0.0, 0.0)]
    cells: list[list[int]] = []
    for cell in draw_cells(effort, uniform):
        west, south, east, north = bounds_of(cell.ground)
        stops = []
        for _ in range(effort.quadrats[cell.ground_class]):
            stops.append(len(places))
            places.append((west + uniform() * (east - west), south + uniform() * (north - south)))
        cells.append(stops)
    length_m = straight_between(places) * detour
    if gate is None:
        length_m[0, :] = length_m[:, 0] = 0.0
    walked = share_out(length_m, cells, rounds, pace_of(tunables))
    return max((one.minutes for one in walked), default=0.0)
