"""Double sampling for stratification: the first phase tells the strata apart, the second measures.

Rule 1: the sizes of the strata are themselves estimates, and the variance knows it.
Rule 2: exact for any size of either phase; nothing is left out for being small.
"""

import math
from collections.abc import Sequence

import numpy as np

from sync.errors import SurveyError
from sync.survey.double.phases import DoubleMean


def stratified_mean(
    first: Sequence[int], second: Sequence[Sequence[float]], *, units: float = math.inf
) -> DoubleMean:
    """Estimate a mean whose strata are known for the places of the first phase only.

    Parameters
    ----------
    first : sequence of int
        n'_h, places of each stratum in a random first phase.
    second : sequence of sequence of float
        y of the n_h of them that were measured, drawn at random within each stratum.
    units : float
        N, the places of the whole ground; infinite where they are too many to matter.

    Returns
    -------
    DoubleMean
        In the unit of y; `units` times the mean is the total.

    Raises
    ------
    SurveyError
        If a stratum has a single measured place where it has more, or none, or more than it has;
        if the first phase is one place, or more than the ground.

    Notes
    -----
    With w_h = n'_h/n', V_h = (1/n_h − 1/n'_h)s²_h:
    phase 2 is Σw_h²V_h; phase 1 is (1/n' − 1/N)Ŝ²,
    Ŝ² = [Σ(n'_h − 1)s²_h + Σn'_h(ȳ_h − ȳ)² − Σn'_h(1 − w_h)V_h]/(n' − 1), the unbiased estimate of
    the variance of y in the first phase. This is eq. 9.4.14 of [1]_ with its terms gathered anew.

    References
    ----------
    .. [1] Särndal, Swensson & Wretman, *Model Assisted Survey Sampling*, 1992, section 9.4.
    """
    places = sum(first)
    if not 2 <= places <= units:
        raise SurveyError(f"first={places!r}, units={units!r}: the first phase needs two places "
                          "or more, and no more than the ground has")
    strata = [
        (count, np.asarray(values, dtype=np.float64))
        for count, values in zip(first, second, strict=True)
        if count or len(values)
    ]
    for count, values in strata:
        if not min(2, count) <= len(values) <= count or count == 0:
            raise SurveyError(
                f"{len(values)} of {count} places measured: a stratum needs two, or all it has")
    size = np.array([count for count, _ in strata], dtype=np.float64)
    measured = np.array([len(values) for _, values in strata], dtype=np.float64)
    means = np.array([float(values.mean()) for _, values in strata])
    # One of one: nothing is left to vary, and both factors of s² are 0.
    s2 = np.array([float(values.var(ddof=1)) if len(values) > 1 else 0.0 for _, values in strata])
    share = size / places
    left = (1.0 / measured - 1.0 / size) * s2
    mean = float(share @ means)
    spread = float((size - 1.0) @ s2 + size @ (means - mean) ** 2 - (size * (1.0 - share)) @ left)
    return DoubleMean(
        mean=mean,
        first_part=(1.0 / places - 1.0 / units) * spread / (places - 1),
        second_part=float(share**2 @ left),
    )
