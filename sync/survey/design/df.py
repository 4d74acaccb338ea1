"""Degrees of freedom of a sum of variances, each known by its own."""

import math
from collections.abc import Sequence

from sync.errors import SurveyError
from sync.survey.design.stratified import Stratum, refuse_unsound, stratum_mean


def satterthwaite(parts: Sequence[tuple[float, float]]) -> float:
    """Give the degrees of freedom of a sum of independent variances.

    Parameters
    ----------
    parts : sequence of (float, float)
        Each variance [unit²] and its degrees of freedom; infinite for one that is known.

    Returns
    -------
    float
        (ΣV)²/Σ(V²/df); infinite where nothing is unsure. [-] Satterthwaite 1946, *Biometrics
        Bulletin* 2:110-114 (from memory).

    Raises
    ------
    SurveyError
        If a variance is negative, or one above 0 has no degrees of freedom.
    """
    for variance, df in parts:
        if not (variance >= 0.0 and (df > 0.0 or variance == 0.0)):
            raise SurveyError(f"variance={variance!r}, df={df!r}: neither negative, and a "
                              "variance needs degrees of freedom")
    whole = sum(variance for variance, _ in parts)
    unsure = sum(variance**2 / df for variance, df in parts if variance > 0.0)
    return whole**2 / unsure if unsure > 0.0 else math.inf


def stratified_df(strata: Sequence[Stratum]) -> float:
    """Give Satterthwaite's degrees of freedom of a stratified mean.

    Parameters
    ----------
    strata : sequence of Stratum
        Two units or more each.

    Returns
    -------
    float
        (Σgs²)²/Σ(g²s⁴/(n − 1)), g_h = N_h(N_h − n_h)/n_h: Cochran 1977, *Sampling Techniques*,
        section 5.4 (equation number from memory: 5.16). Without the correction g_h = N_h²/n_h. [-]

    Raises
    ------
    SurveyError
        If a stratum has fewer than two units, or is unsound (see `refuse_unsound`).
    """
    refuse_unsound(strata)
    each = [(one.units, stratum_mean(one)) for one in strata]
    return satterthwaite([(units**2 * mean.variance, mean.df) for units, mean in each])
