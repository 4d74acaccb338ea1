"""The draw: which plots, where, in which order and what for.

Rule 1: the same register, effort and seed give the same draw.
Rule 2: an id is never given twice; what somebody may have on a phone keeps its place.
Rule 3: a pegged plot of a drawn cell is walked again, and one drawn before and never read is used
up, before a new place is drawn.
"""

import dataclasses
import itertools
from collections.abc import Callable, Collection, Sequence

import numpy as np

from sync.block import Plot
from sync.errors import SurveyError
from sync.geometry.scatter import equal_parts, place_by_chance
from sync.geometry.shapes import covers
from sync.geometry.ways import Ways, straight_between, ways_between
from sync.plan.plots.effort import Effort, Uniform, draw_cells
from sync.plan.plots.fits import effort_that_fits, pace_of
from sync.plan.plots.frame import Candidate, Frame, closed_ground, frame_of
from sync.plan.plots.known import next_number, walked_again
from sync.plan.plots.rounds import Round, share_out, to_surveyors
from sync.plan.plots.worth import Worth, worth_of
from sync.register.build import Register

#: Streams of chance: the draw's own; the trials come after it.
_DRAW, _TRIAL = 0, 1
#: So many places tell how far about the ways go.
_SAMPLE = 24


@dataclasses.dataclass(frozen=True)
class DrawnPlot:
    """A plot of the draw.

    Attributes
    ----------
    at : tuple of float
        Easting and northing. [m]
    old : bool
        Whether it has been in the file before: it keeps its id and is walked again.
    pegged : bool
        Whether a peg stands there.
    chance : float
        Of its cell to be drawn. [-]
    """

    name: str
    cell: str
    at: tuple[float, float]
    spare: bool
    old: bool
    pegged: bool
    chance: float


@dataclasses.dataclass(frozen=True, eq=False)
class Walk:
    """One surveyor's day: plots in order, the bends of each leg, metres and minutes.

    `bends` holds those on the way to each plot, and last those on the way back to the gate.
    """

    surveyor: int
    day: int
    plots: tuple[DrawnPlot, ...]
    bends: tuple[tuple[tuple[float, float], ...], ...]
    length_m: float
    minutes: float


@dataclasses.dataclass(frozen=True, eq=False)
class Draw:
    """A draw of plots.

    Attributes
    ----------
    cells : tuple of Candidate
        Drawn, in the order of their names.
    plots : tuple of DrawnPlot
        In walking order, spares last.
    gate : tuple of float or None
        Where the walks begin and end. [m]
    """

    register: Register
    seed: int
    surveyors: int
    days: int
    frame: Frame
    effort: Effort
    cells: tuple[Candidate, ...]
    plots: tuple[DrawnPlot, ...]
    walks: tuple[Walk, ...]
    worth: Worth
    gate: tuple[float, float] | None


def draw_plots(
    register: Register,
    surveyors: int,
    days: int,
    *,
    seed: int,
    streams: Callable[[int], Uniform],
    withdrawn: Collection[str] = (),
) -> Draw:
    """Draw the plots of a survey.

    Parameters
    ----------
    register : Register
        Of the day of the draw.
    surveyors, days : int
        1 or more.
    seed : int
        Kept with the draw.
    streams : callable
        Gives the stream of chance of a number, all of that seed.
    withdrawn : collection of str
        Plots of a draw that this one replaces.

    Returns
    -------
    Draw
        With walks and what it buys.

    Raises
    ------
    SurveyError
        If there is no cell to draw, or not even one cell's plots fit into a day.
    """
    frame = frame_of(register)
    if not frame.cells:
        raise SurveyError(f"no cell of {register.block.name} has open ground on {register.on}; "
                          "say --on a day on which some is open")
    gate = _gate(register)
    closed, tunables = closed_ground(register), register.tunables
    effort = effort_that_fits(
        frame, gate, surveyors * days, tunables, lambda trial: streams(_TRIAL + trial),
        detour=_detour(register, frame, gate),
    )
    if effort is None:
        raise SurveyError(f"days of {tunables.survey_day_h:g} h are too short for the plots of "
                          "even one cell; raise survey_day_h in block.toml [settings]")
    uniform = streams(_DRAW)
    cells = sorted(draw_cells(effort, uniform), key=frame.cells.index)
    found = _Places(register, effort, uniform, frozenset(withdrawn))
    planned = [found.of_cell(cell) for cell in cells]
    spares = [found.spares(cell) for cell in cells]
    stops = [(cell, place) for cell, places in zip(cells, planned, strict=True)
             for place in places]
    gate_or = gate or stops[0][1].at
    ways = ways_between(register.crop.ground.outline, closed,
                        [gate_or, *(place.at for _, place in stops)])
    length_m = ways.length_m.copy()
    if gate is None:
        length_m[0, :] = length_m[:, 0] = 0.0
    rounds = share_out(length_m, _numbers(planned), surveyors * days, pace_of(tunables))
    names = _Names(next_number(register), effort)
    shares = to_surveyors(rounds, surveyors, days)
    walks = tuple(
        _walk(one, surveyor, day, stops, ways, names, at_gate=gate is not None)
        for surveyor, mine in enumerate(shares, 1) for day, one in enumerate(mine, 1)
    )
    plots = [plot for walk in walks for plot in walk.plots]
    plots += [names.name(cell, place, spare=True)
              for cell, places in zip(cells, spares, strict=True) for place in places]
    worth = worth_of(register, frame, cells, [len(places) for places in planned])
    return Draw(register, seed, surveyors, days, frame, effort, tuple(cells), tuple(plots),
                walks, worth, gate)


def _gate(register: Register) -> tuple[float, float] | None:
    if register.block.gate is None:
        return None
    e, n = register.grounds.projection.to_m(*register.block.gate)
    return float(e), float(n)


def _detour(
    register: Register, frame: Frame, gate: tuple[float, float] | None
) -> float:
    """Measure how much longer ways are than straight lines, between cells over all the block."""
    step = max(1, len(frame.cells) // _SAMPLE)
    places = [cell.at for cell in frame.cells[::step]] + ([gate] if gate else [])
    ways = ways_between(register.crop.ground.outline, closed_ground(register), places)
    straight = straight_between(places)
    ok = np.isfinite(ways.length_m)
    whole = float(straight[ok].sum())
    return float(ways.length_m[ok].sum()) / whole if whole > 0.0 else 1.0


def _numbers(planned: Sequence[Sequence["_Place"]]) -> list[list[int]]:
    numbers, following = [], 1
    for places in planned:
        numbers.append(list(range(following, following + len(places))))
        following += len(places)
    return numbers


@dataclasses.dataclass(frozen=True)
class _Place:
    at: tuple[float, float]
    old: Plot | None = None
    pegged: bool = False


class _Places:
    """Draws the places of one cell after another."""

    def __init__(
        self, register: Register, effort: Effort, uniform: Uniform, withdrawn: frozenset[str]
    ) -> None:
        self._quadrats = effort.quadrats
        self._uniform = uniform
        self._old = walked_again(register, withdrawn)
        self._to_m = register.grounds.projection.to_m
        self._spares = register.tunables.spares

    def of_cell(self, cell: Candidate) -> list[_Place]:
        wanted = self._quadrats[cell.ground_class]
        old: list[_Place] = []
        for plot, pegged in self._old.get(cell.cell, ()):
            e, n = self._to_m(plot.lat, plot.lon)
            here = covers(cell.ground, np.array([float(e)]), np.array([float(n)]))
            if len(old) < wanted and bool(here[0]):
                old.append(_Place((float(e), float(n)), plot, pegged))
        if len(old) == wanted:
            return old
        parts = equal_parts(cell.ground, wanted)
        held = [sum(bool(covers(part, np.array([o.at[0]]), np.array([o.at[1]]))[0]) for o in old)
                for part in parts]
        luck = [self._uniform() for _ in parts]
        order = sorted(range(wanted), key=lambda i: (held[i], luck[i]))
        return old + [_Place(place_by_chance(parts[i], self._uniform))
                      for i in sorted(order[:wanted - len(old)])]

    def spares(self, cell: Candidate) -> list[_Place]:
        return [_Place(place_by_chance(cell.ground, self._uniform)) for _ in range(self._spares)]


class _Names:
    """Gives plots their ids, on and on."""

    def __init__(self, first: int, effort: Effort) -> None:
        self._next = first
        self._chances = effort.chances

    def name(self, cell: Candidate, place: _Place, *, spare: bool) -> DrawnPlot:
        name = place.old.name if place.old else f"{self._next:03d}"
        self._next += place.old is None
        return DrawnPlot(name, cell.cell, place.at, spare, place.old is not None, place.pegged,
                         self._chances[cell.cell])


def _walk(
    one: Round, surveyor: int, day: int, stops: Sequence[tuple[Candidate, _Place]], ways: Ways,
    names: _Names, *, at_gate: bool,
) -> Walk:
    plots = tuple(names.name(*stops[stop - 1], spare=False) for stop in one.stops)
    ring = [0, *one.stops, 0]
    bends = [ways.bends(a, b) for a, b in itertools.pairwise(ring)]
    if not at_gate:
        bends[0] = bends[-1] = ()
    return Walk(surveyor, day, plots, tuple(bends), one.length_m, one.minutes)
