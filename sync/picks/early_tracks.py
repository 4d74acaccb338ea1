"""How likely it is that bags came from some ground, by groups of which tracks tell some.

Rule 1: all tracks share the error of the day; beside it each group has one of its own.
"""

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from sync.geometry.picking import DAYS
from sync.picks.early import ROUNDING, chance_at_least

Floats = npt.NDArray[np.float64]

_STEPS_A_BAG = 20


def chance_of_sum(
    groups: Sequence[tuple[float, float]], amounts: Sequence[Floats], least_bags: float
) -> float:
    """Give the chance that groups by chance and groups by drift make at least so many bags.

    Parameters
    ----------
    groups : sequence of (float, float)
        Bags (steps of 0.5) of each group that a point tells, and its chance (0 to 1): there
        together or not at all.
    amounts : sequence of array, shape (m,)
        Bags from there of each group that a track tells, for each of m equally likely errors of
        the track.
    least_bags : float
        Bags.

    Returns
    -------
    float
        Chance, 0 to 1; without amounts that of `chance_at_least`.

    Notes
    -----
    For each error of the day, which all tracks share, the groups' own errors are independent:
    convolution of their distributions in steps of a twentieth of a bag, then the mean over the
    errors of the day. Derived.
    """
    if not amounts:
        return chance_at_least(groups, least_bags)
    least = math.ceil(_STEPS_A_BAG * least_bags - ROUNDING)
    if least <= 0:
        return 1.0
    steps = np.rint(_STEPS_A_BAG * np.stack(amounts)).astype(np.int64)
    # Of ten thousand bags most are nowhere near.
    near = steps[steps.any(axis=1)].reshape(-1, DAYS, steps.shape[1] // DAYS)
    surely = near.min(axis=2).sum(axis=0) >= least
    chances = _chances(near, least)
    days = [0.0 if surely[day] else _below(groups, chances[near[:, day].any(axis=1), day])
            for day in range(DAYS)]
    return float(min(1.0, max(0.0, 1.0 - sum(days) / DAYS)))


def _chances(steps: npt.NDArray[np.int64], least: int) -> Floats:
    """Give the chance of each sum under `least`, by group and error of the day.

    `steps` are of shape (groups, errors of the day, errors of a group of its own).
    """
    groups, days, spells = steps.shape
    row = (least + 1) * np.arange(groups * days).reshape(groups, days, 1)
    counts = np.bincount((row + np.minimum(steps, least)).ravel(),
                         minlength=groups * days * (least + 1))
    chances: Floats = counts.reshape(groups, days, least + 1)[:, :, :least] / spells
    return chances


def _below(groups: Sequence[tuple[float, float]], chances: Floats) -> float:
    """Give the chance of fewer steps than the least, for one error of the day.

    `chances` are those of each sum under the least, by group.
    """
    least = chances.shape[1]
    below = np.zeros(least)  # the chance of each sum under the least
    below[0] = 1.0
    for each in chances:
        below = np.convolve(below, each)[:least]
    for bags, stated in groups:
        step, chance = round(_STEPS_A_BAG * bags), min(1.0, max(0.0, stated))
        moved = np.concatenate((np.zeros(min(step, least)), below))[:least]
        below = (1.0 - chance) * below + chance * moved
    return float(below.sum())


def chance_at_most(expected: float, least_bags: float) -> float:
    """Give what the chance of at least so many bags never passes.

    Parameters
    ----------
    expected : float
        Bags expected from a piece of ground, of all groups.
    least_bags : float
        Bags.

    Returns
    -------
    float
        Never under `chance_of_sum` of those groups; over 1 where it says nothing.

    Notes
    -----
    Markov's inequality, P(S ≥ n) ≤ E S/n; twice that, for amounts put into steps are doubled by
    it at the most: a half step or less goes to none, all else moves by half a step.
    """
    if least_bags <= 0.0:
        return math.inf
    return 2.0 * (1.0 + ROUNDING) * expected / least_bags
