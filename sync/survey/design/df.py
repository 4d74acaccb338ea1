"""Degrees of freedom of a sum of variances, each known by its own."""

import math
from collections.abc import Sequence

import numpy as np

from sync.survey.design.stratified import Stratum


def satterthwaite(parts: Sequence[tuple[float, float]]) -> float:
    """Give the degrees of freedom of a sum of independent variances.

    Parameters
    ----------
    parts : sequence of (float, float)
        Each variance and its degrees of freedom; infinite for one that is known.

    Returns
    -------
    float
        (ΣV)²/Σ(V²/df); infinite where nothing is unsure. [-] Satterthwaite 1946, *Biometrics
        Bulletin* 2:110-114 (from memory).
    """
    whole = sum(variance for variance, _ in parts)
    unsure = sum(variance**2 / df for variance, df in parts)
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
    """
    return satterthwaite([
        (one.units**2 * one.factor / one.count * float(np.var(one.values, ddof=1)), one.count - 1)
        for one in strata
    ])
