"""From wet kg to shed-dry kg, for lifts and for bags that nothing better is known of.

Rule 1: the water in a bag changes with the weather, so a factor holds for a day and not longer.
"""

import dataclasses
from collections.abc import Sequence

from sync.errors import SurveyError
from sync.settings import Tunables


@dataclasses.dataclass(frozen=True)
class Batch:
    """Bags weighed wet and again shed-dry [kg]."""

    wet_kg: float
    dry_kg: float


@dataclasses.dataclass(frozen=True)
class WetFactor:
    """Wet kg to one shed-dry kg, and the variance of that factor."""

    factor: float
    variance: float


def wet_factor(batches: Sequence[Batch], *, tunables: Tunables) -> WetFactor:
    """Estimate how many kg of wet moss make one kg shed-dry, from batches weighed both ways.

    Parameters
    ----------
    batches : sequence of Batch
        Of one day or spell of weather. [kg]
    tunables : Tunables
        `wet_factor_cv`, which stands in while there is but one batch.

    Returns
    -------
    WetFactor
        F = Σwet/Σdry and its variance.

    Raises
    ------
    SurveyError
        If there is no batch, or one without weight.

    Notes
    -----
    V(F) = Σ((wet − F·dry)²/dry)/((n−1)Σdry). Derived: generalised least squares for
    wet = F·dry + e, Var e in proportion to dry.
    """
    if not batches:
        raise SurveyError("wet_factor needs a batch weighed both wet and dry")
    for batch in batches:
        if not (batch.wet_kg > 0.0 and batch.dry_kg > 0.0):
            raise SurveyError(f"batch {batch!r}: both weights must be above 0")
    dry = sum(batch.dry_kg for batch in batches)
    factor = sum(batch.wet_kg for batch in batches) / dry
    if len(batches) == 1:
        return WetFactor(factor, (tunables.wet_factor_cv * factor) ** 2)
    residual = sum((b.wet_kg - factor * b.dry_kg) ** 2 / b.dry_kg for b in batches)
    return WetFactor(factor, residual / ((len(batches) - 1) * dry))


def wet_to_dry_kg(wet_kg: float, wet: WetFactor) -> tuple[float, float]:
    """Turn a wet weight into shed-dry kg; only for bags with neither a count nor a lot.

    Parameters
    ----------
    wet_kg : float
        Weight as it came off the swamp. [kg]
    wet : WetFactor
        Of that day.

    Returns
    -------
    kg : float
        Shed-dry. [kg]
    variance : float
        From the factor alone, delta rule (derived). [kg²]
    """
    dry = wet_kg / wet.factor
    return dry, dry**2 * wet.variance / wet.factor**2
