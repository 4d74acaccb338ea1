"""Means and totals of a stratified random sample.

Rule 1: a stratum is drawn without replacement from its N_h places; an infinite N_h needs no
finite-population correction.
Rule 2: df = n − H unless the caller takes Satterthwaite's.
"""

import dataclasses
import math
from collections.abc import Sequence

import numpy as np

from sync.errors import SurveyError
from sync.survey.arrays import Array
from sync.survey.design.estimate import Estimate
from sync.survey.design.single_unit import SingleUnit, filled


@dataclasses.dataclass(frozen=True, eq=False)
class Stratum:
    """A stratum and its sample.

    Attributes
    ----------
    name : str
        What to call it in an error.
    units : float
        N_h, its units.
    values : ndarray, shape (n_h,)
        y of the units seen.
    corrected : bool
        False leaves the finite-population factor out, as for draws with replacement, which may
        then be more than there are units.
    """

    name: str
    units: float
    values: Array
    corrected: bool = True

    @property
    def count(self) -> int:
        """Units seen, n_h."""
        return len(self.values)

    @property
    def factor(self) -> float:
        """1 − n_h/N_h, or 1. [-]."""
        return 1.0 - self.count / self.units if self.corrected else 1.0


def stratum_mean(stratum: Stratum) -> Estimate:
    """Estimate the mean of one stratum.

    Parameters
    ----------
    stratum : Stratum
        Two units or more.

    Returns
    -------
    Estimate
        ȳ_h, (1 − n_h/N_h)s_h²/n_h with s² by n − 1, df n_h − 1: Cochran 1977, *Sampling
        Techniques*, chapter 2 (from memory). [unit of y]

    Raises
    ------
    SurveyError
        If fewer were seen, or more than there are.
    """
    _refuse(stratum, 2)
    variance = stratum.factor * float(np.var(stratum.values, ddof=1)) / stratum.count
    return Estimate(float(np.mean(stratum.values)), variance, stratum.count - 1)


def stratified_total(strata: Sequence[Stratum], *, single: SingleUnit = "refuse") -> Estimate:
    """Estimate a total over strata.

    Parameters
    ----------
    strata : sequence of Stratum
        H of them, each with a finite number of units.
    single : SingleUnit
        What a stratum of one unit adds.

    Returns
    -------
    Estimate
        ΣN_hȳ_h, ΣN_h²(1 − n_h/N_h)s_h²/n_h, df = n − H: Cochran 1977, *Sampling Techniques*,
        chapter 5 (from memory). [unit of y]

    Raises
    ------
    SurveyError
        If a stratum is unsound (see `refuse_unsound`), or has one unit and that is refused.
    """
    refuse_unsound(strata)
    total = sum(one.units * float(np.mean(one.values)) for one in strata)
    centre = total / sum(one.units for one in strata)
    parts = [
        one.units**2 * stratum_mean(one).variance if one.count > 1 else None for one in strata
    ]
    off = [one.units**2 * one.factor * (float(one.values[0]) - centre) ** 2 for one in strata]
    variance = sum(filled(parts, [one.name for one in strata], off, single))
    return Estimate(total, variance, sum(one.count for one in strata) - len(strata))


def stratified_mean(strata: Sequence[Stratum], *, single: SingleUnit = "refuse") -> Estimate:
    """Estimate the mean over strata.

    Parameters
    ----------
    strata, single
        As in `stratified_total`.

    Returns
    -------
    Estimate
        The total over ΣN_h, its variance over (ΣN_h)², the same df. [unit of y]

    Raises
    ------
    SurveyError
        As `stratified_total`.
    """
    units = sum(one.units for one in strata)
    total = stratified_total(strata, single=single)
    return Estimate(total.value / units, total.variance / units**2, total.df)


def design_effect(strata: Sequence[Stratum]) -> float:
    """Give the variance of the mean over that of a simple random sample of as many.

    Parameters
    ----------
    strata : sequence of Stratum
        Two units or more each.

    Returns
    -------
    float
        Against (1 − n/N)S²/n, drawn without replacement whatever the strata are, S² estimated by
        the sample weighted N_h/n_h, Σw(y − ȳ)²/Σw times n/(n − 1). [-] Kish 1965, *Survey
        Sampling*, section 8.2 (from memory).

    Raises
    ------
    SurveyError
        As `stratified_total`; or if a simple random sample would be certain, for all units are
        seen or none differ.
    """
    units, count = sum(one.units for one in strata), sum(one.count for one in strata)
    mean = stratified_mean(strata)
    spread = sum(
        one.units * float(np.mean((one.values - mean.value) ** 2)) for one in strata) / units
    simple = (1.0 - count / units) * spread / (count - 1)
    if not simple > 0.0:
        raise SurveyError(f"{count} units seen of {units:g}, variance {spread:g}: a simple random "
                          "sample would be certain, so there is no effect of the design")
    return mean.variance / simple


def refuse_unsound(strata: Sequence[Stratum]) -> None:
    """Refuse strata that carry no total.

    Parameters
    ----------
    strata : sequence of Stratum
        What was seen.

    Raises
    ------
    SurveyError
        If there is none, or one is infinite, or nothing or more than there is was seen in it.
    """
    if not strata:
        raise SurveyError("strata=[]: one at least is needed")
    for one in strata:
        if math.isinf(one.units):
            raise SurveyError(f"stratum {one.name!r}: units={one.units!r}, must be finite")
        _refuse(one, 1)


def _refuse(stratum: Stratum, least: int) -> None:
    most = stratum.units if stratum.corrected else math.inf
    if not (stratum.units > 0.0 and least <= stratum.count <= most):
        raise SurveyError(f"stratum {stratum.name!r}: {stratum.count} units seen of "
                          f"{stratum.units:g}; {least} or more, and no more than there are")
