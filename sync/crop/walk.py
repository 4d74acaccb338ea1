"""From the survey to today: growth, picks and new surveys of one cell, with their variance.

Rule 1: a cell is credited with growth only until it is back at its own mark, never beyond.
Rule 2: crop and mark come from the same quadrats, so their covariance is carried along.
Rule 3: every step gives a new stand; nothing is changed in place.
"""

import dataclasses
import math

from sync.settings import Tunables

#: ln 7.43 = 2.005: on a logistic, from a third left to four fifths of full takes 2/r years.
NORMAL_PICK_COMES_BACK = 2.0


@dataclasses.dataclass(frozen=True)
class Growth:
    """How fast picked moss comes back.

    Attributes
    ----------
    rate : float
        Rate r of the logistic. [1/yr]
    variance : float
        Of the rate. [1/yr²]
    comeback : float
        Share of full at which a rested cell stands, φ. [-]
    """

    rate: float
    variance: float
    comeback: float


@dataclasses.dataclass(frozen=True)
class Stand:
    """What stands in a cell and what stands there when it is rested (its mark).

    Attributes
    ----------
    crop_kg, mark_kg : float
        Shed-dry. [kg]
    crop_var, mark_var, cov : float
        Variances of the two and their covariance. [kg²]
    """

    crop_kg: float
    mark_kg: float
    crop_var: float
    mark_var: float
    cov: float


def growth_prior(recovery_years: float, *, tunables: Tunables) -> Growth:
    """Give the growth rate that local knowledge implies, before any cell is measured again.

    Parameters
    ----------
    recovery_years : float
        Years that a normal pick (a third left) takes to come back; not the rest period, or a
        shorter rest would prove faster growth. [yr]
    tunables : Tunables
        `comeback` and `growth_prior_cv`.

    Returns
    -------
    Growth
        2/R, give or take its stated part.

    Raises
    ------
    ValueError
        If `recovery_years` is not above 0.

    Notes
    -----
    Derived: ln(0.8·0.65/(0.35·0.2)) = 2.005.
    """
    if not recovery_years > 0.0:
        raise ValueError(f"recovery_years={recovery_years!r}: must be above 0")
    rate = NORMAL_PICK_COMES_BACK / recovery_years
    return Growth(rate, (tunables.growth_prior_cv * rate) ** 2, tunables.comeback)


def start(crop_kg: float, *, cv: float) -> Stand:
    """Begin with a rested cell: what stands there is its mark.

    Parameters
    ----------
    crop_kg : float
        Of the first rested survey, or the class's value for a cell without one. [kg]
    cv : float
        SD over crop. [-]

    Returns
    -------
    Stand
        Crop and mark the same figure with the same error.
    """
    variance = (cv * crop_kg) ** 2
    return Stand(crop_kg, crop_kg, variance, variance, variance)


def share_of_full(stand: Stand, comeback: float) -> float:
    """Give the crop as a share of what the ground can carry, b = φB/C.

    Parameters
    ----------
    stand : Stand
        Crop and mark. [kg]
    comeback : float
        Share of full at the mark, φ. [-]

    Returns
    -------
    float
        0 or more; φ where the mark is 0, for such ground has nothing to come back to.
    """
    return comeback * stand.crop_kg / stand.mark_kg if stand.mark_kg > 0.0 else comeback


def logistic_share(share: float, rate_times_years: float) -> float:
    """Give the share of full that a share of full grows to.

    Parameters
    ----------
    share : float
        At the beginning, 0 to 1. [-]
    rate_times_years : float
        Rate times time, r·Δ. [-]

    Returns
    -------
    float
        b/(b + (1 − b)e^{−rΔ}): the logistic curve of Verhulst 1838 (from memory). [-]
    """
    return share / (share + (1.0 - share) * math.exp(-rate_times_years))


def grow(stand: Stand, years: float, growth: Growth) -> Stand:
    """Let a cell grow back towards its mark.

    Parameters
    ----------
    stand : Stand
        At the beginning. [kg], [kg²]
    years : float
        Days over 365.25. [yr]
    growth : Growth
        Rate, its variance and the comeback level.

    Returns
    -------
    Stand
        At the end; unchanged where the crop is at its mark or over it, or where nothing stands.

    Raises
    ------
    ValueError
        If `years` is negative.

    Notes
    -----
    Logistic of rate r to C/φ, cut where it reaches φ, with the first-order variance in B, C and r
    (derived). The error of r is taken anew in each step: two steps hold a little less of it than
    one of their length.
    """
    if years < 0.0:
        raise ValueError(f"years={years!r}: time does not run back")
    full = growth.comeback
    b = share_of_full(stand, full)
    # Crop against mark, not b against φ: φB/C of a cell at its mark may round to under φ.
    if stand.crop_kg >= stand.mark_kg or b <= 0.0:
        return stand
    span = _credited_years(b, years, growth)
    fade = math.exp(-growth.rate * span)
    g = logistic_share(b, growth.rate * span)
    by_crop = fade / (b + (1.0 - b) * fade) ** 2
    by_mark = (g - b * by_crop) / full
    by_rate = stand.mark_kg / full * span * g * (1.0 - g)
    return Stand(
        crop_kg=stand.mark_kg if span < years else min(stand.mark_kg, stand.mark_kg * g / full),
        mark_kg=stand.mark_kg,
        crop_var=by_crop**2 * stand.crop_var
        + by_mark**2 * stand.mark_var
        + 2.0 * by_crop * by_mark * stand.cov
        + by_rate**2 * growth.variance,
        mark_var=stand.mark_var,
        cov=by_crop * stand.cov + by_mark * stand.mark_var,
    )


def take(stand: Stand, kg: float, kg_var: float, *, floor: float) -> tuple[Stand, bool]:
    """Take a pick off a cell, on the mean day of the pick.

    Parameters
    ----------
    stand : Stand
        Before the pick. [kg], [kg²]
    kg, kg_var : float
        Picked, shed-dry, and its variance. [kg], [kg²]
    floor : float
        A pick leaves at least this share of the mark, whatever the figures say. [-]

    Returns
    -------
    after : Stand
        The mark and the covariance as they were; never more crop than before.
    hit : bool
        True when the floor held the crop: more was picked than stood.

    Raises
    ------
    ValueError
        If `kg` is negative.
    """
    if kg < 0.0:
        raise ValueError(f"kg={kg!r}: a pick takes away")
    least = min(stand.crop_kg, floor * stand.mark_kg)
    left = stand.crop_kg - kg
    after = dataclasses.replace(
        stand, crop_kg=max(left, least), crop_var=stand.crop_var + kg_var
    )
    return after, left < least


def _credited_years(b: float, years: float, growth: Growth) -> float:
    if growth.rate <= 0.0:
        return years
    full = growth.comeback
    # Single logarithms: a crop next to nothing must not turn into a division by nothing.
    odds = math.log(full) - math.log1p(-full) - math.log(b) + math.log1p(-b)
    return min(years, max(0.0, odds / growth.rate))
