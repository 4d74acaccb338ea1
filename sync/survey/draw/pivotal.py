"""A sample that is spread over the ground, with the chances it was asked for.

Rule 1: each unit is drawn with exactly its own chance.
Rule 2: near units push each other out, so that the sample lies spread.
Rule 3: chance comes in as an argument; the same stream gives the same sample.
"""

from collections.abc import Callable, Sequence

import numpy as np

from sync.errors import SurveyError

#: A chance this near to 0 or 1 is that: what rounding leaves. [-]
_ROUNDING = 1e-9


def spread_sample(
    chances: Sequence[float],
    places: Sequence[tuple[float, float]],
    uniform: Callable[[], float],
) -> list[int]:
    """Draw units with given chances, spread over the ground.

    Parameters
    ----------
    chances : sequence of float
        π of each of N units, 0 to 1.
    places : sequence of (float, float)
        Where each lies. [m]
    uniform : callable
        Gives a number of [0, 1) by chance.

    Returns
    -------
    list of int
        Those drawn, ascending. As many as Σπ where that is whole, else the number next to it.

    Raises
    ------
    SurveyError
        If a chance is not between 0 and 1.

    Notes
    -----
    The local pivotal method 2 of Grafström, Lundström & Schelin 2012, Spatially balanced sampling
    through the pivotal method, *Biometrics* 68:514-520 (from memory): a unit by chance and its
    nearest neighbour fight, the loser's chance goes to the winner.
    """
    if len(chances) != len(places) or not all(0.0 <= one <= 1.0 for one in chances):
        raise SurveyError(f"chances={list(chances)!r}: one of 0 to 1 for each place")
    pi = np.array(chances, dtype=np.float64)
    at = np.array(places, dtype=np.float64).reshape(-1, 2)
    open_ = [i for i in range(len(pi)) if _undecided(float(pi[i]))]
    while len(open_) > 1:
        i = open_.pop(int(uniform() * len(open_)))
        apart = ((at[open_] - at[i]) ** 2).sum(axis=1)
        nearest = np.flatnonzero(apart == apart.min())
        where = int(nearest[int(uniform() * len(nearest))])
        j = open_[where]
        pi[i], pi[j] = _fight(float(pi[i]), float(pi[j]), uniform())
        if not _undecided(float(pi[j])):
            del open_[where]
        if _undecided(float(pi[i])):
            open_.append(i)
    for i in open_:
        pi[i] = 1.0 if uniform() < pi[i] else 0.0
    return [i for i in range(len(pi)) if pi[i] > 0.5]


def _undecided(chance: float) -> bool:
    return _ROUNDING < chance < 1.0 - _ROUNDING


def _fight(one: float, other: float, luck: float) -> tuple[float, float]:
    """Give the new chances of two units; each keeps its own on average."""
    both = one + other
    if both < 1.0:
        return (both, 0.0) if luck * both < one else (0.0, both)
    return (1.0, both - 1.0) if luck * (2.0 - both) < 1.0 - other else (both - 1.0, 1.0)
