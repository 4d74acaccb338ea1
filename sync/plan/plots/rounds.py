"""Walking orders: short rounds from the gate and back, one a surveyor and day.

Rule 1: one long round over all cells is cut into days, so that near cells fall on one day.
Rule 2: a cell is one person's, on one day.
Rule 3: the longest day is made as short as the cutting allows.
"""

import dataclasses
import itertools
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
_HALVINGS = 40
_SHORTER_M = 1e-6


@dataclasses.dataclass(frozen=True)
class Round:
    """One day's plots of one surveyor in walking order: their numbers, metres and minutes."""

    stops: tuple[int, ...]
    length_m: float
    minutes: float


@dataclasses.dataclass(frozen=True)
class Pace:
    """Minutes a metre of walking and minutes a plot."""

    a_metre: float
    a_plot: float


def short_round(length_m: Floats, stops: Sequence[int]) -> list[int]:
    """Order stops into a short round from the gate and back.

    Parameters
    ----------
    length_m : ndarray, shape (n + 1, n + 1)
        On foot, the gate first; an unknown gate lies 0 m from everywhere. [m]
    stops : sequence of int
        Rows of it, none the gate's.

    Returns
    -------
    list of int
        The same stops; the nearest next, then two legs are swapped as long as that shortens it
        (2-opt: Croes 1958, *Operations Research* 6:791-812, from memory).
    """
    left, order = list(stops), [0]
    while left:
        nearest = min(left, key=lambda stop: (length_m[order[-1], stop], stop))
        left.remove(nearest)
        order.append(nearest)
    ring = np.array([*order, 0])
    while len(ring) > 3:
        gain, i, j = _best_swap(length_m, ring)
        if gain < _SHORTER_M:
            break
        ring[i:j + 1] = ring[i:j + 1][::-1]
    return [int(stop) for stop in ring[1:-1]]


def _best_swap(length_m: Floats, ring: npt.NDArray[np.int64]) -> tuple[float, int, int]:
    """Give the turning round of stops i to j that saves most, and what it saves. [m]."""
    a, b = ring[:-1], ring[1:]
    legs = length_m[a, b]
    new = length_m[np.ix_(a, a)] + length_m[np.ix_(b, b)]
    saved = legs[:, None] + legs[None, :] - new
    saved[np.tril_indices(len(a), 1)] = -np.inf
    at = int(np.argmax(saved))
    first, second = divmod(at, len(a))
    return float(saved[first, second]), first + 1, second


def round_length_m(length_m: Floats, order: Sequence[int]) -> float:
    """Give the length of a round from the gate through the stops and back. [m]."""
    ring = [0, *order, 0]
    return float(sum(length_m[a, b] for a, b in itertools.pairwise(ring)))


def share_out(
    length_m: Floats, cells: Sequence[Sequence[int]], rounds: int, pace: Pace
) -> list[Round]:
    """Share the plots of cells out to rounds.

    Parameters
    ----------
    length_m : ndarray, shape (n + 1, n + 1)
        On foot between plots, the gate first. [m]
    cells : sequence of sequence of int
        The plots of each cell.
    rounds : int
        Surveyors × days.
    pace : Pace
        What takes how long. [min]

    Returns
    -------
    list of Round
        As many as there are, or fewer where there are fewer cells; none is empty.

    Notes
    -----
    Route first, cluster second: Beasley 1983, *Omega* 11:403-408 (from memory).
    """
    if not cells:
        return []
    lead = {min(cell): cell for cell in cells}
    whole = [lead[stop] for stop in short_round(length_m, sorted(lead))]
    legs = [short_round(length_m, cell) for cell in whole]
    low, high = 0.0, _minutes(length_m, [s for leg in legs for s in leg], pace)
    parts = [legs]
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        cut = _cut(length_m, legs, middle, pace)
        if cut is not None and len(cut) <= rounds:
            parts, high = cut, middle
        else:
            low = middle
    return [_round(length_m, [s for leg in part for s in leg], pace) for part in parts]


def _round(length_m: Floats, stops: Sequence[int], pace: Pace) -> Round:
    order = short_round(length_m, stops)
    if round_length_m(length_m, stops) < round_length_m(length_m, order):
        order = list(stops)
    return Round(tuple(order), round_length_m(length_m, order), _minutes(length_m, order, pace))


def _minutes(length_m: Floats, order: Sequence[int], pace: Pace) -> float:
    return round_length_m(length_m, order) * pace.a_metre + len(order) * pace.a_plot


def _cut(
    length_m: Floats, legs: Sequence[list[int]], most: float, pace: Pace
) -> list[list[list[int]]] | None:
    """Cut the long round where a day of so many minutes is full; None if a cell fits in none."""
    parts: list[list[list[int]]] = [[]]
    for leg in legs:
        stops = [s for one in (*parts[-1], leg) for s in one]
        if parts[-1] and _minutes(length_m, stops, pace) > most:
            parts.append([])
            stops = leg
        if _minutes(length_m, stops, pace) > most:
            return None
        parts[-1].append(leg)
    return parts


def to_surveyors(rounds: Sequence[Round], surveyors: int, days: int) -> list[list[Round]]:
    """Give each surveyor rounds, no more than days, so that all work about as long.

    Parameters
    ----------
    rounds : sequence of Round
        No more than surveyors × days.
    surveyors, days : int
        1 or more.

    Returns
    -------
    list of list of Round
        By surveyor; the longest goes to whoever has least (Graham 1969, *SIAM J. Appl. Math.*
        17:416-429, from memory).
    """
    shares: list[list[Round]] = [[] for _ in range(surveyors)]
    for one in sorted(rounds, key=lambda r: (-r.minutes, r.stops)):
        free = [s for s in shares if len(s) < days]
        min(free, key=lambda s: (len(s) > 0, sum(r.minutes for r in s))).append(one)
    return shares
