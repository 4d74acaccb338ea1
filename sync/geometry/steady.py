"""Picking places with that part of the receiver's error taken out that slow picking gives away.

A receiver's error wanders within minutes, a picker moves on by half a metre a minute. What the
places do in an hour is therefore partly error, and an error that passes leaves its mark on the
bags before and after.
Rule 1: how fast a picker moves on is learned from the track itself, stretch by stretch; where it
cannot be learned, and over a leap, places are left as they are.
Rule 2: walking is left as it is; it is nobody's picking.
Rule 3: the error that is left is told with the place, from the same sums.
"""

import dataclasses

import numpy as np
import numpy.typing as npt
from scipy.linalg import cho_solve_banded, cholesky_banded

from sync.geometry.chance import sigma_of
from sync.geometry.crs import Floats
from sync.geometry.picking import GroundTrack
from sync.settings import Tunables

Ints = npt.NDArray[np.int64]
_MS_A_S = 1000.0
#: Fixes of so long are taken together: ten times less than an error lasts. [s]
_STEP_S = 60.0
#: Times over which a picker's pace is seen, and the gap after which nothing of an error is left,
#: in units of the time that an error lasts. Going to and fro hides from one time, not from three.
_PACE_LASTS, _PARTED_LASTS = (0.6, 1.1, 2.0), 3.0
_NOWHERE = -1
LEAST_R68_M = 0.1


@dataclasses.dataclass(frozen=True, eq=False)
class Stretch:
    """The errors that are left in a stretch of a track without a long gap.

    Attributes
    ----------
    first : int
        Number of its first step in the track.
    factor : array, shape (2, m)
        Lower Cholesky factor, banded, of the precision of the steps' places. [1/m]
    """

    first: int
    factor: Floats

    def covariances(self, weights: Floats) -> Floats:
        """Give the covariance of a weighted sum of its places with each of them. [m²]."""
        found: Floats = cho_solve_banded((self.factor, True), weights)
        return found


@dataclasses.dataclass(frozen=True, eq=False)
class Steadied:
    """A track whose picking places are steadied, and what error is left in them.

    Attributes
    ----------
    track : GroundTrack
        The same fixes; those of picking are moved.
    step_of : array of int64, shape (n,)
        Number of the step that each fix is in; −1 while walking.
    stretches : tuple of Stretch
        In order.
    """

    track: GroundTrack
    step_of: Ints
    stretches: tuple[Stretch, ...]

    def error_between(self, since_ms: float, until_ms: float) -> tuple[float, float] | None:
        """Give the error that all picking places between two instants share.

        Parameters
        ----------
        since_ms, until_ms : float
            [ms since 1970]

        Returns
        -------
        tuple of float, or None
            Standard deviation of the mean place, each coordinate [m]; and how much of it lasts:
            its correlation with as long a time just before and after, 0 to 1. None without a
            steadied fix.
        """
        first, last = np.searchsorted(self.track.at_ms, (since_ms, until_ms), side="left")
        steps = self.step_of[first:last]
        steps = steps[steps != _NOWHERE]
        if not len(steps):
            return None
        low, high = int(steps[0]), int(steps[-1]) + 1
        here = np.bincount(steps - low, minlength=high - low) / len(steps)
        variance, beside = 0.0, []
        for stretch in self._reached(low, high):
            size = stretch.factor.shape[1]
            a, b = max(low - stretch.first, 0), min(high - stretch.first, size)
            weights = np.zeros(size)
            weights[a:b] = here[a + stretch.first - low:b + stretch.first - low]
            shared = stretch.covariances(weights)
            variance += float(weights @ shared)
            long = b - a
            beside += [part.mean() for part in (shared[max(a - long, 0):a], shared[b:b + long])
                       if len(part)]
        lasting = float(np.mean(beside)) / variance if beside else 0.0
        return float(np.sqrt(variance)), min(max(lasting, 0.0), 1.0)

    def _reached(self, low: int, high: int) -> list[Stretch]:
        firsts = [stretch.first for stretch in self.stretches]
        return list(self.stretches[np.searchsorted(firsts, low, side="right") - 1:
                                   np.searchsorted(firsts, high, side="left")])


def steadied(track: GroundTrack, tunables: Tunables) -> Steadied:
    """Steady the picking places of a track.

    Parameters
    ----------
    track : GroundTrack
        One device's.
    tunables : Tunables
        How long an error lasts, the accuracy of a fix that states none, the least pace, and how
        large a step is a leap.

    Returns
    -------
    Steadied
        Each picking fix moved by what the place of its step was moved.

    Notes
    -----
    Steps of a minute, parted by walking. Each coordinate apart: place = a random walk, seen with
    an error of the receiver's own size whose correlation is e^(−t/τ). Both have tridiagonal
    precisions, P of the errors and W of the walk, so the best linear estimate of all places from
    all that was seen, x = (P + W)⁻¹ P y, and its covariance (P + W)⁻¹ are one banded solve; any
    place to begin with is as good as another. Rauch, Tung & Striebel's smoother of 1965 gives the
    same, step by step (from memory); the banded form is derived.
    """
    picks = np.flatnonzero(~track.walks)
    step_of = np.full(len(track.at_ms), _NOWHERE, dtype=np.int64)
    if not len(picks):
        return Steadied(track, step_of, ())
    at_s = (track.at_ms[picks] - track.at_ms[picks[0]]) / _MS_A_S
    begins = np.append(True, (np.diff(picks) > 1) | (np.diff(at_s // _STEP_S) > 0))
    starts, step_of[picks] = np.flatnonzero(begins), np.cumsum(begins) - 1
    r68_m = np.where(np.isnan(track.acc_m), tunables.unknown_accuracy_m,
                     np.maximum(track.acc_m, LEAST_R68_M))
    places = np.column_stack((track.e, track.n))
    seen = np.column_stack((at_s, sigma_of(1.0) * r68_m[picks], places[picks]))
    seen = np.add.reduceat(seen, starts, axis=0)
    seen /= np.diff(np.append(starts, len(picks)))[:, None]
    apart = np.flatnonzero(np.diff(seen[:, 0]) > _PARTED_LASTS * tunables.error_lasts_s) + 1
    moved, stretches = np.empty((len(seen), 2)), []
    for first, last in zip([0, *apart], [*apart, len(seen)], strict=True):
        here, factor = _steady_stretch(seen[first:last], tunables)
        moved[first:last] = here
        stretches.append(Stretch(int(first), factor))
    places[picks] += (moved - seen[:, 2:])[step_of[picks]]
    mended = dataclasses.replace(track, e=places[:, 0], n=places[:, 1])
    return Steadied(mended, step_of, tuple(stretches))


def _steady_stretch(seen: Floats, tunables: Tunables) -> tuple[Floats, Floats]:
    """Steady steps (instant, standard deviation, easting, northing); give places and factor."""
    at_s, sigma, places = seen[:, 0], seen[:, 1], seen[:, 2:]
    lasts_s = np.diff(at_s)
    errors = _precision_of_errors(lasts_s, sigma, tunables.error_lasts_s)
    seen_moved = _times(errors, places)
    links = _links(seen, tunables)
    precision = errors.copy()
    precision[0, :-1] += links
    precision[0, 1:] += links
    precision[1, :-1] -= links
    factor: Floats = cholesky_banded(precision, lower=True)
    return cho_solve_banded((factor, True), seen_moved), factor


def _precision_of_errors(lasts_s: Floats, sigma: Floats, error_lasts_s: float) -> Floats:
    """Give the inverse covariance, lower banded, of errors whose correlation is e^(−t/τ)."""
    keeps = np.exp(-lasts_s / error_lasts_s)
    fresh = -np.expm1(-2.0 * lasts_s / error_lasts_s)
    found = np.zeros((2, len(sigma)))
    found[0] = 1.0
    found[0, 1:] = 1.0 / fresh
    found[0, :-1] += keeps**2 / fresh
    found[1, :-1] = -keeps / fresh / (sigma[1:] * sigma[:-1])
    found[0] /= sigma**2
    return found


def _times(banded: Floats, places: Floats) -> Floats:
    found = banded[0, :, None] * places
    found[:-1] += banded[1, :-1, None] * places[1:]
    found[1:] += banded[1, :-1, None] * places[:-1]
    return found


def _links(seen: Floats, tunables: Tunables) -> Floats:
    """Give how firmly each step's place is tied to the next, 1/variance of the way. [1/m²]."""
    lasts_s, ways = np.diff(seen[:, 0]), np.diff(seen[:, 2:], axis=0)
    far2 = np.sum(ways**2, axis=1)
    every = np.arange(len(ways))
    leaps = far2 > tunables.leap_sigmas**2 * _error_of_way(seen, every, every + 1, tunables)
    pace = _pace(seen, np.where(leaps[:, None], 0.0, ways), tunables)
    if pace is None:
        return np.zeros(len(ways))
    return 1.0 / (pace * lasts_s + np.where(leaps, far2, 0.0))


def _error_of_way(seen: Floats, i: Ints, j: Ints, tunables: Tunables) -> Floats:
    """Give the variance, each way, that errors alone give the way from step i to j. [m²]."""
    at_s, sigma = seen[:, 0], seen[:, 1]
    fades = -np.expm1(-(at_s[j] - at_s[i]) / tunables.error_lasts_s)
    found: Floats = (sigma[j] - sigma[i])**2 + 2.0 * fades * sigma[i] * sigma[j]
    return found


def _pace(seen: Floats, ways: Floats, tunables: Tunables) -> float | None:
    """Learn how fast the variance of a picker's place grows, each coordinate; None if short.

    The mean square of the way over some time, less what errors alone make of it; the largest of
    some times counts. Leaps are taken out before. Method of moments, derived. [m²/s]
    """
    places = np.append(np.zeros((1, 2)), np.cumsum(ways, axis=0), axis=0)
    paces = [_pace_over(lasts * tunables.error_lasts_s, seen, places, tunables)
             for lasts in _PACE_LASTS]
    if paces[-1] is None:
        return None
    return max(tunables.least_pace_m2_s, *(pace for pace in paces if pace is not None))


def _pace_over(
    over_s: float, seen: Floats, places: Floats, tunables: Tunables
) -> float | None:
    at_s = seen[:, 0]
    j = np.searchsorted(at_s, at_s + over_s)
    i = np.flatnonzero(j < len(at_s))
    j = j[i]
    near = at_s[j] - at_s[i] < 1.5 * over_s
    i, j = i[near], j[near]
    if not len(i):
        return None
    moved = np.sum((places[j] - places[i])**2) - 2.0 * np.sum(_error_of_way(seen, i, j, tunables))
    return float(moved / (2.0 * np.sum(at_s[j] - at_s[i])))
