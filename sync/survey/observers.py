"""How a reader of cover compares with the truth, from quadrats that were read twice.

Rule 1: a reader's factor comes from second readings of his own quadrats, never from the weight of
clips.
Rule 2: a second reading is another person's and carries that person's own error; only one counted
by dots is taken as the truth.
Rule 3: what the pairs leave unknown stays in the range of all that rests on that reader.
"""

import dataclasses
from collections.abc import Iterable, Sequence

import numpy as np

from sync.settings import Tunables
from sync.survey.arrays import Array, read_only

#: Two readings farther apart than this were not of the same frame; the ratio is held here. [-]
RATIO_HELD = (0.5, 2.0)


@dataclasses.dataclass(frozen=True)
class ReadTwice:
    """Cover of one quadrat as two persons read it.

    Attributes
    ----------
    reader : str
        Who read it first.
    checker : str or None
        Who read it again; None where the second reading was counted by dots.
    read_pct, checked_pct : float
        Cover as read and as read again. [%]
    record : str
        Name of the second reading.
    """

    reader: str
    checker: str | None
    read_pct: float
    checked_pct: float
    record: str = ""


@dataclasses.dataclass(frozen=True, eq=False)
class Observers:
    """Everybody who read a quadrat, and what is known of how they read.

    Attributes
    ----------
    people : tuple of str
        Person codes, P of them, sorted.
    factor : ndarray, shape (P,)
        By which the cover that each read is multiplied, b. [-]
    covariance : ndarray, shape (P, P)
        Of what is left unknown of those factors. [-]
    raw : tuple of float or None
        Read again over read, by a person's own pairs alone; None without pairs. [-]
    pairs : tuple of int
        How many of a person's quadrats were read again.
    """

    people: tuple[str, ...]
    factor: Array
    covariance: Array
    raw: tuple[float | None, ...]
    pairs: tuple[int, ...]

    def factor_of(self, person: str) -> float:
        """Give the factor of one person; 1 for somebody who read nothing. [-]."""
        return float(self.factor[self.people.index(person)]) if person in self.people else 1.0

    def shared(self, one: Array, other: Array) -> float:
        """Give the covariance of two figures by how much each rests on each person.

        Parameters
        ----------
        one, other : ndarray, shape (P,)
            Relative change of the figure for a relative change of each person's readings. [-]

        Returns
        -------
        float
            Of the two relative errors, fᵀVg. [-]
        """
        return float(one @ self.covariance @ other)

    def nobody(self) -> Array:
        """Give the shares of a figure that rests on no reader."""
        return np.zeros(len(self.people))


def observers_of(
    people: Iterable[str], twice: Sequence[ReadTwice], *, tunables: Tunables
) -> Observers:
    """Estimate the factors of all readers from the quadrats that were read twice.

    Parameters
    ----------
    people : iterable of str
        Everybody who read a quadrat, in any order.
    twice : sequence of ReadTwice
        Quadrats read twice; those that the first reader found bare say nothing.
    tunables : Tunables
        `observer_sd` τ, one person against the truth, and `pair_sd` σ, one pair. [-]

    Returns
    -------
    Observers
        Factor 1 and the prior's variance for whoever has no pairs.

    Notes
    -----
    Factors 1 + β_p with β ~ N(0, τ²); of n pairs of reader p and checker q
    Σagain/Σread − 1 ~ N(β_p − β_q, σ²/n), β_q = 0 where dots were counted; the posterior of a
    linear normal model (derived). With dots alone it is b = 1 + γ(Σagain/Σread − 1),
    γ = τ²/(τ² + σ²/n), and τ²(1 − γ) is left. Two persons who only check each other learn how
    they differ, not who is right: each moves half way, and τ²/2 is left to both together.
    τ and σ after [1]_.

    References
    ----------
    .. [1] Sykes, Horrill & Mountford, *Use of visual cover assessments as quantitative estimators
       of some British woodland taxa*, J. Ecol. 71, 1983 (title from memory).
    """
    useful = [one for one in twice if one.read_pct > 0.0]
    names = {one.reader for one in useful} | {one.checker for one in useful if one.checker}
    known = tuple(sorted(set(people) | names))
    precision = np.eye(len(known)) / tunables.observer_sd**2
    pull = np.zeros(len(known))
    for reader, checker in sorted({(o.reader, o.checker or "") for o in useful}):
        mine = [o for o in useful if (o.reader, o.checker or "") == (reader, checker)]
        way = np.zeros(len(known))
        way[known.index(reader)] = 1.0
        if checker:
            way[known.index(checker)] = -1.0
        weight = len(mine) / tunables.pair_sd**2
        precision += weight * np.outer(way, way)
        pull += weight * (_held_ratio(mine) - 1.0) * way
    own = [[o for o in useful if o.reader == person] for person in known]
    covariance = np.linalg.inv(precision) if known else precision
    return Observers(
        people=known,
        factor=read_only(1.0 + covariance @ pull),
        covariance=read_only((covariance + covariance.T) / 2.0),
        raw=tuple(_ratio(mine) if mine else None for mine in own),
        pairs=tuple(len(mine) for mine in own),
    )


def _ratio(twice: Sequence[ReadTwice]) -> float:
    return sum(o.checked_pct for o in twice) / sum(o.read_pct for o in twice)


def _held_ratio(twice: Sequence[ReadTwice]) -> float:
    low, high = RATIO_HELD
    return min(high, max(low, _ratio(twice)))
