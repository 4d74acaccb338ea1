"""What a new survey does to the crop and the mark of a cell.

Rule 1: forecast and measurement share the error of the density, and of a reader who read both
times; averaging does not shrink it.
Rule 2: a mark never falls under a set part of the class's, or years of over-picking would pass for
a poor site.
"""

import dataclasses
import math

from sync.crop.walk import Stand


@dataclasses.dataclass(frozen=True)
class Remeasured:
    """What a survey made of a forecast.

    Attributes
    ----------
    stand : Stand
        With the weighted crop; the mark as it was. [kg], [kg²]
    weight : float
        Of the measurement, w. [-]
    surprise : float
        Measured less forecast, in standard deviations of that difference without what is shared;
        0 where neither has any variance.
    """

    stand: Stand
    weight: float
    surprise: float


def remeasure(
    stand: Stand, measured_kg: float, measured_var: float, *, shared: float,
    of_measured: float | None = None,
) -> Remeasured:
    """Combine the forecast crop with a new survey of the cell.

    Parameters
    ----------
    stand : Stand
        Forecast for the day of the survey. [kg], [kg²]
    measured_kg, measured_var : float
        Crop by this survey's quadrats alone, and its variance without the density. [kg], [kg²]
    shared : float
        Relative covariance of both: δ² of the density, and of readers who read both times. [-]
    of_measured : float, optional
        Relative variance of the measurement apart from its quadrats; `shared` unless told. [-]

    Returns
    -------
    Remeasured
        Crop, its variance, and Cov = B·C·`shared`.

    Notes
    -----
    w = V_f/(V_f + V_m); V = (1−w)²V_f + w²(V_m + B_m²δ_m²) + 2w(1−w)B_f·B_m·δ².
    Derived: inverse-variance weights, with the true variance of that mean when relative errors of
    covariance δ² are common to both terms.
    """
    own = shared if of_measured is None else of_measured
    spread = stand.crop_var + measured_var
    weight = stand.crop_var / spread if spread > 0.0 else 1.0
    rest = 1.0 - weight
    crop = rest * stand.crop_kg + weight * measured_kg
    variance = (
        rest**2 * stand.crop_var
        + weight**2 * (measured_var + measured_kg**2 * own)
        + 2.0 * weight * rest * stand.crop_kg * measured_kg * shared
    )
    surprise = (measured_kg - stand.crop_kg) / math.sqrt(spread) if spread > 0.0 else 0.0
    after = dataclasses.replace(
        stand, crop_kg=crop, crop_var=variance, cov=crop * stand.mark_kg * shared
    )
    return Remeasured(after, weight, surprise)


def with_mark(stand: Stand, mark_kg: float, mark_var: float, *, shared: float) -> Stand:
    """Give a cell the mark that its rested measurements up to a day say.

    Parameters
    ----------
    stand : Stand
        With the crop of that day. [kg], [kg²]
    mark_kg, mark_var : float
        Mean of the cell's rested measurements, and its variance. [kg], [kg²]
    shared : float
        Relative covariance of crop and mark: density and readers of both. [-]

    Returns
    -------
    Stand
        Crop as it was; Cov = B·C·δ² (derived).
    """
    cov = stand.crop_kg * mark_kg * shared
    return dataclasses.replace(stand, mark_kg=mark_kg, mark_var=mark_var, cov=cov)


def mark_floor(
    stand: Stand, class_mark_kg: float, class_mark_var: float, *, floor: float, shared: float
) -> Stand:
    """Hold a cell's mark at a set part of its class's.

    Parameters
    ----------
    stand : Stand
        With the cell's own mark. [kg], [kg²]
    class_mark_kg, class_mark_var : float
        The class's mark on this cell's area, and its variance. [kg], [kg²]
    floor : float
        Part of the class's mark. [-]
    shared : float
        Relative covariance of crop and class's mark: density and readers of both. [-]

    Returns
    -------
    Stand
        As it was where the own mark is not less; else mark and variance are the class's part.

    Notes
    -----
    Var(f·C_h) = f²·Var(C_h), derived; that a floor is needed is common practice, no source.
    """
    least = floor * class_mark_kg
    if stand.mark_kg >= least:
        return stand
    return with_mark(stand, least, floor**2 * class_mark_var, shared=shared)
