"""Where a person picked between two presses: seconds by cell along the track.

Rule 1: walking is not picking; a fix counts while its bearer hardly moves on.
Rule 2: a fix speaks for the time until the next, but not for long; a gap is nobody's time.
Rule 3: time is shared among the ground of cells: what lies in a cell's square but off the block is
no cell's.
"""

import dataclasses
import math
from collections.abc import Iterator, Mapping

import numpy as np
import numpy.typing as npt
import shapely

from sync.block import Grid
from sync.geometry.crs import Floats, Projection
from sync.geometry.grid import MOST_COLUMNS, MOST_ROWS, cell_index, cell_name, cell_square
from sync.geometry.ground import CellGround, Ground
from sync.geometry.placed import Drift
from sync.geometry.shapes import Shape, bounds_of
from sync.intake.seen import Track

_MS_A_S = 1000.0
_OFF = -1
#: Errors of a day, errors of a spell for each of them, and fixes of a spell that are moved.
DAYS, SPELLS = 12, 16
DRIFTS = DAYS * SPELLS
_MOST_FIXES = 60


@dataclasses.dataclass(frozen=True, eq=False)
class GroundTrack:
    """A track's good fixes in the block's metres.

    Attributes
    ----------
    at_ms : array of int64, shape (n,)
        Since 1970, UTC. [ms]
    e, n : array of float64, shape (n,)
        [m]
    acc_m : array of float64, shape (n,)
        68 % radius; NaN where the receiver does not say. [m]
    walks : array of bool, shape (n,)
        Whether its bearer walks from there to the next good fix; false for the last.
    """

    at_ms: npt.NDArray[np.int64]
    e: Floats
    n: Floats
    acc_m: Floats
    walks: npt.NDArray[np.bool_]


@dataclasses.dataclass(frozen=True, eq=False)
class Spell:
    """The picking fixes of one interval, each with the seconds it speaks for.

    Attributes
    ----------
    e, n, acc_m, seconds : array of float64, shape (m,)
        [m], [m], [m], [s]
    """

    e: Floats
    n: Floats
    acc_m: Floats
    seconds: Floats

    def __len__(self) -> int:
        return len(self.e)


def ground_track(
    projection: Projection, track: Track, *, worst_m: float, fastest_m_s: float
) -> GroundTrack:
    """Bring a track to the ground and part walking from picking.

    Parameters
    ----------
    projection : Projection
        The block's.
    track : Track
        By instant.
    worst_m : float
        A fix with a larger 68 % radius is left out; one that states none is not. [m]
    fastest_m_s : float
        From this speed to the next good fix on, it is walking. [m/s]

    Returns
    -------
    GroundTrack
        Its good fixes.

    Notes
    -----
    Speed is that to the next good fix. Common practice, no source.
    """
    good = ~(track.acc_m > worst_m)
    at_ms = track.at_ms[good]
    e, n = projection.to_m(track.lat[good], track.lon[good])
    moved = np.hypot(np.diff(e), np.diff(n))
    walks = np.append(moved >= fastest_m_s * np.diff(at_ms) / _MS_A_S, False)[:len(at_ms)]
    return GroundTrack(at_ms, np.asarray(e), np.asarray(n), track.acc_m[good], walks)


def spell_of(
    track: GroundTrack, *, since_ms: float, until_ms: float, longest_s: float
) -> Spell:
    """Give the picking fixes from one instant to another.

    Parameters
    ----------
    track : GroundTrack
        One person's.
    since_ms, until_ms : float
        From the press before (or start, or resume), itself included, to this press, itself not;
        the last fix lasts until then at most and is judged by no speed. [ms since 1970]
    longest_s : float
        No fix counts for longer. [s]

    Returns
    -------
    Spell
        Empty where no fix is good enough: there is no track to go by.
    """
    first, last = np.searchsorted(track.at_ms, (since_ms, until_ms), side="left")
    at_ms = track.at_ms[first:last]
    if not len(at_ms):
        return Spell(*(np.empty(0) for _ in range(4)))
    lasts_s = np.diff(np.append(at_ms.astype(np.float64), until_ms)) / _MS_A_S
    picks = ~track.walks[first:last]
    picks[-1] = True
    return Spell(
        track.e[first:last][picks], track.n[first:last][picks], track.acc_m[first:last][picks],
        np.minimum(lasts_s, longest_s)[picks])


def passes_of(
    track: GroundTrack, *, since_ms: float, until_ms: float, longest_s: float
) -> list[Floats]:
    """Give the passes of hands over ground: places of picking fixes that follow one another.

    Parameters
    ----------
    track : GroundTrack
        One person's.
    since_ms, until_ms : float
        From an instant, itself included, to another, itself not. [ms since 1970]
    longest_s : float
        A longer gap, or a walk, parts two passes. [s]

    Returns
    -------
    list of array of float64, shape (m, 2)
        Easting and northing. [m]
    """
    first, last = np.searchsorted(track.at_ms, (since_ms, until_ms), side="left")
    places = np.column_stack((track.e[first:last], track.n[first:last]))
    if len(places) < 2:
        return []
    apart_s = np.diff(track.at_ms[first:last]) / _MS_A_S
    parts = track.walks[first:last - 1] | (apart_s > longest_s)
    return [one for one in np.split(places, np.flatnonzero(parts) + 1) if len(one) > 1]


def cells_under(ground: Ground, shape: Shape) -> Iterator[CellGround]:
    """Give the cells whose squares a shape reaches, by column and row."""
    west, south, east, north = bounds_of(shape)
    side = ground.grid.cell_m
    cols, rows = (
        range(max(0, math.floor((low - origin) / side)), math.floor((high - origin) / side) + 1)
        for low, high, origin in ((west, east, ground.grid.origin_e),
                                  (south, north, ground.grid.origin_n)))
    for col in cols[:MOST_COLUMNS]:
        for row in rows[:MOST_ROWS]:
            cell = ground.cells.get(cell_name(col, row)) if (
                col < MOST_COLUMNS and row < MOST_ROWS) else None
            if cell is not None:
                yield cell


def time_by_cell(
    ground: Ground, spell: Spell, *, east_m: float = 0.0, north_m: float = 0.0
) -> dict[str, float]:
    """Share out the picking time of a spell among the ground of cells.

    Parameters
    ----------
    ground : Ground
        Of the day.
    spell : Spell
        Picking fixes.
    east_m, north_m : float
        Moves the whole spell. [m]

    Returns
    -------
    dict of str to float
        Part of the time by cell, 0 to 1, by column and row; they fall short of 1 by what was off
        the block. Empty without any time. [-]
    """
    whole = float(spell.seconds.sum())
    if whole <= 0.0:
        return {}
    e, n = spell.e + east_m, spell.n + north_m
    shares: dict[str, float] = {}
    for cell, here in _on_cells(ground, e, n):
        spent = float(spell.seconds[here].sum())
        if spent > 0.0:
            shares[cell.cell] = spent / whole
    return shares


def _on_cells(
    ground: Ground, e: Floats, n: Floats
) -> Iterator[tuple[CellGround, npt.NDArray[np.bool_]]]:
    """Give each cell that some places lie on, by column and row, and which of them do."""
    squares = squares_of(ground.grid, e, n)
    for square in np.unique(squares[squares != _OFF]):
        cell = ground.cells.get(cell_name(*divmod(int(square), MOST_ROWS)))
        if cell is None:
            continue
        here = squares == square
        if not cell.rectangular:
            here[here] = shapely.contains_xy(cell.shape, e[here], n[here])
        yield cell, here


def squares_of(grid: Grid, e: Floats, n: Floats) -> npt.NDArray[np.int64]:
    """Give the number of the square of each place: column × rows + row; −1 off the grid."""
    with np.errstate(invalid="ignore"):
        col = np.floor((e - grid.origin_e) / grid.cell_m)
        row = np.floor((n - grid.origin_n) / grid.cell_m)
        on_grid = (col >= 0) & (col < MOST_COLUMNS) & (row >= 0) & (row < MOST_ROWS)
        numbers = np.where(on_grid, col * MOST_ROWS + row, _OFF)
    return numbers.astype(np.int64)


def moved_shares(
    ground: Ground, spell: Spell, sigma_m: float
) -> Mapping[str, tuple[float, float, float, float]]:
    """Give the shares of time with the spell moved one standard deviation each way.

    Parameters
    ----------
    ground : Ground
        Of the day.
    spell : Spell
        Picking fixes.
    sigma_m : float
        Of each coordinate. [m]

    Returns
    -------
    mapping of str to (float, float, float, float)
        By cell that any of the four reaches: east, west, north, south. [-]
    """
    ways = [time_by_cell(ground, spell, east_m=east * sigma_m, north_m=north * sigma_m)
            for east, north in ((1, 0), (-1, 0), (0, 1), (0, -1))]
    cells = sorted({cell for way in ways for cell in way}, key=cell_index)
    return {cell: (ways[0].get(cell, 0.0), ways[1].get(cell, 0.0),
                   ways[2].get(cell, 0.0), ways[3].get(cell, 0.0)) for cell in cells}


def _spread(count: int) -> Floats:
    """Give places that cover a circular normal of SD 1 evenly: a spiral of golden angles."""
    turns = np.arange(count) * (math.pi * (3.0 - math.sqrt(5.0)))
    far = np.sqrt(-2.0 * np.log1p(-(np.arange(count) + 0.5) / count))
    far *= math.sqrt(2.0 / np.mean(far**2))  # a few places fall short of the spread of all
    return np.column_stack((far * np.cos(turns), far * np.sin(turns)))


_DAYS_SPREAD, _SPELLS_SPREAD = _spread(DAYS)[:, None], _spread(SPELLS)[None, :]
_ALL, _NONE = np.ones(DRIFTS), np.zeros(DRIFTS)


def drift_of(ground: Ground, spell: Spell, sigma_m: float, *, lasting: float) -> Drift:
    """Give the shares of time for each of some equally likely errors of the whole spell.

    Parameters
    ----------
    ground : Ground
        Of the day.
    spell : Spell
        Picking fixes.
    sigma_m : float
        Of the error that all of its fixes share, each coordinate. [m]
    lasting : float
        Part of its variance that the spells of a day share, 0 to 1. [-]

    Returns
    -------
    Drift
        One entry for each of `DRIFTS` errors: for each of `DAYS` errors that the spells of a day
        share, `SPELLS` of the spell's own. Together they cover a circular normal evenly.

    Notes
    -----
    Places on a spiral with equal parts of the normal between its turns, parted by the golden
    angle; derived.
    """
    errors = sigma_m * (math.sqrt(lasting) * _DAYS_SPREAD
                        + math.sqrt(1.0 - lasting) * _SPELLS_SPREAD).reshape(DRIFTS, 2)
    surely = _surely_in(ground, spell, float(np.abs(errors).max()))
    if surely is not None:
        return Drift({surely: _ALL}, {}, _NONE)
    asked = _some_of(spell)
    e = (asked.e + errors[:, :1]).ravel()
    n = (asked.n + errors[:, 1:]).ravel()
    weights = asked.seconds / asked.seconds.sum()
    cells: dict[str, Floats] = {}
    closed: dict[str, Floats] = {}
    held: dict[str, Floats] = {}
    for cell, here in _on_cells(ground, e, n):
        for found, shape in ((cells, None), (closed, cell.closed), (held, cell.held)):
            if shape is not None and shape.is_empty:
                continue
            there = here.copy()
            if shape is not None:
                there[there] = shapely.contains_xy(shape, e[there], n[there])
            parts = there.reshape(DRIFTS, -1) @ weights
            if parts.any():
                found[cell.cell] = parts
    inside = sum(cells.values(), np.zeros(DRIFTS))
    return Drift(cells, closed, np.clip(1.0 - inside, 0.0, 1.0), held)


def _surely_in(ground: Ground, spell: Spell, far_m: float) -> str | None:
    """Give the whole open square that no error leads any fix of a spell out of."""
    squares = squares_of(ground.grid, spell.e, spell.n)
    if squares[0] == _OFF or (squares != squares[0]).any():
        return None
    name = cell_name(*divmod(int(squares[0]), MOST_ROWS))
    cell = ground.cells.get(name)
    if cell is None or not (cell.rectangular and cell.closed.is_empty and cell.held.is_empty):
        return None
    west, south, east, north = cell_square(ground.grid, name)
    inside = (spell.e.min() - far_m > west and spell.e.max() + far_m < east
              and spell.n.min() - far_m > south and spell.n.max() + far_m < north)
    return name if inside else None


def _some_of(spell: Spell) -> Spell:
    """Thin a long spell out evenly: neighbours in time lie side by side."""
    every = -(-len(spell) // _MOST_FIXES)
    if every <= 1:
        return spell
    starts = np.arange(0, len(spell), every)
    middle = np.minimum(starts + every // 2, len(spell) - 1)
    return Spell(spell.e[middle], spell.n[middle], spell.acc_m[middle],
                 np.add.reduceat(spell.seconds, starts))
