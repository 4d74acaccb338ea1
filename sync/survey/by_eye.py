"""Quadrats laid by eye: they speak for a cell without drawn ones, and only for it.

Rule 1: their mean carries a bias that no number of them removes.
Rule 2: where enough cells have both kinds, the bias is measured and mended first.
"""

import dataclasses
import math
from collections.abc import Sequence

#: Fewer cells than this with both kinds say too little of the bias; own choice.
CELLS_WITH_BOTH = 5
#: However well measured, the bias of the next person in the next place is not known better. [-]
LEAST_CV = 0.10


@dataclasses.dataclass(frozen=True)
class ByEye:
    """What to multiply a by-eye mean by, and the CV of the bias that is left, both [-]."""

    ratio: float
    cv: float


#: Drawn quadrats.
NO_BIAS = ByEye(1.0, 0.0)


def by_eye_bias(pairs: Sequence[tuple[float, float]], *, assumed_cv: float) -> ByEye:
    """Learn the bias of by-eye quadrats from cells that have drawn ones too.

    Parameters
    ----------
    pairs : sequence of (float, float)
        Mean of the drawn and mean of the by-eye quadrats of each such cell. [L m⁻²]
    assumed_cv : float
        CV of the bias before any pair is seen. [-]

    Returns
    -------
    ByEye
        Ratio of the means and its relative standard error, at least `LEAST_CV`; 1 and the assumed
        CV under `CELLS_WITH_BOTH` cells, or where either kind found no moss. [-]

    Notes
    -----
    R = Σd/Σe, SE(R) = √(Σ(d − Re)²/(J(J − 1)))/ē: Cochran, *Sampling Techniques*, 1977,
    chapter 6 (from memory).
    """
    count = len(pairs)
    drawn = math.fsum(pair[0] for pair in pairs)
    eye = math.fsum(pair[1] for pair in pairs)
    if count < CELLS_WITH_BOTH or drawn <= 0.0 or eye <= 0.0:
        return ByEye(1.0, assumed_cv)
    ratio = drawn / eye
    squares = math.fsum((of_drawn - ratio * of_eye) ** 2 for of_drawn, of_eye in pairs)
    relative = math.sqrt(squares / (count * (count - 1))) * count / drawn
    return ByEye(ratio, max(LEAST_CV, relative))
