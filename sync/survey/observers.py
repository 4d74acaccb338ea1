"""How a reader of cover compares with the truth, and what his error does to a block's total.

Rule 1: a reader's factor comes from second readings or point counts of his own quadrats, never
from the weight of clips.
Rule 2: what the pairs leave unknown is shared by all that rests on that reader's quadrats.
"""

import dataclasses
from collections.abc import Mapping, Sequence

import numpy as np

from sync.errors import SurveyError
from sync.settings import Tunables
from sync.survey.arrays import Array
from sync.survey.cells import ClassPrediction


@dataclasses.dataclass(frozen=True)
class ObserverFactor:
    """A reader's factor on cover.

    Attributes
    ----------
    factor : float
        By which his cover is multiplied, b. [-]
    variance : float
        What is left unknown of it, v. [-]
    raw : float
        Checked over read, by his pairs alone. [-]
    weight : float
        Of the pairs against the prior of 1. [-]
    pairs : int
        How many.
    """

    factor: float
    variance: float
    raw: float
    weight: float
    pairs: int


def observer_factor(
    read_pct: Sequence[float], checked_pct: Sequence[float], *, tunables: Tunables
) -> ObserverFactor:
    """Estimate a reader's factor from quadrats that were read twice.

    Parameters
    ----------
    read_pct, checked_pct : sequence of float
        Cover as this reader saw it and as it was checked, of the same quadrats. [%]
    tunables : Tunables
        `observer_sd` and `pair_sd`. [-]

    Returns
    -------
    ObserverFactor
        1 with the prior's variance where there are no pairs.

    Raises
    ------
    SurveyError
        If the two are not as many, or the reader saw no moss in any of them.

    Notes
    -----
    b = 1 + γ(Σchecked/Σread − 1), γ = τ²/(τ² + σ²/n), v = τ²(1 − γ): a normal prior about 1 met
    by a ratio of n pairs (derived). τ and σ after [1]_.

    References
    ----------
    .. [1] Sykes, Horrill & Mountford, *Use of visual cover assessments as quantitative estimators
       of some British woodland taxa*, J. Ecol. 71, 1983 (title from memory).
    """
    if len(read_pct) != len(checked_pct):
        raise SurveyError(f"{len(read_pct)} readings and {len(checked_pct)} checks make no pairs")
    prior = tunables.observer_sd**2
    pairs = len(read_pct)
    if pairs == 0:
        return ObserverFactor(1.0, prior, 1.0, 0.0, 0)
    if sum(read_pct) <= 0.0:
        raise SurveyError("the reader saw no moss in any pair; check quadrats that have some")
    raw = sum(checked_pct) / sum(read_pct)
    weight = prior / (prior + tunables.pair_sd**2 / pairs)
    return ObserverFactor(1.0 + weight * (raw - 1.0), prior * (1.0 - weight), raw, weight, pairs)


def reader_shares(
    prediction: ClassPrediction, read_by: Mapping[str, Mapping[str, float]]
) -> dict[str, Array]:
    """Give the share of each cell's index that rests on each reader.

    Parameters
    ----------
    prediction : ClassPrediction
        Of the class.
    read_by : mapping of str to mapping of str to float
        By cell and reader: the part of the cell's mean that comes from that reader's quadrats; the
        parts of a cell add up to its mean. [L m⁻²]

    Returns
    -------
    dict of str to ndarray, shape (J,)
        By reader, over the prediction's cells; the readers' shares of a cell add up to 1 where the
        class has moss. [-]

    Notes
    -----
    f_co = (γ_c·x̄_co + (1 − γ_c)·μ̂·w_o)/X̂_c, w_o = Σγ·x̄_co/Σγ·x̄_c. Derived.
    """
    readers = sorted({reader for parts in read_by.values() for reader in parts})
    lent = prediction.weight
    parts = {
        reader: np.array([read_by.get(c, {}).get(reader, 0.0) for c in prediction.cells])
        for reader in readers
    }
    whole = sum(float(lent @ part) for part in parts.values())
    index = np.where(prediction.index_l_m2 > 0.0, prediction.index_l_m2, np.inf)
    return {
        reader: (
            lent * part
            + (1.0 - lent) * prediction.mean_l_m2 * (float(lent @ part) / whole if whole else 0.0)
        ) / index
        for reader, part in parts.items()
    }


def readers_variance(
    shares: Mapping[str, Array], crops_kg: Array, left: Mapping[str, float]
) -> float:
    """Give what the readers' errors add to the variance of a total.

    Parameters
    ----------
    shares : mapping of str to ndarray, shape (J,)
        Share of each cell that rests on each reader. [-]
    crops_kg : ndarray, shape (J,)
        Crop of each cell. [kg]
    left : mapping of str to float
        Variance left of each reader's factor. [-]

    Returns
    -------
    float
        Σ_o v_o(Σ_c f_co·B_c)². [kg²] Derived: the errors of different readers are independent.
    """
    return float(sum(left[reader] * float(share @ crops_kg) ** 2
                     for reader, share in shares.items()))
