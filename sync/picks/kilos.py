"""From bags to shed-dry kg: what a bag weighs, and how well that is known.

Rule 1: a lot's own weight is trusted before a count, a count before a wet weight.
Rule 2: the error of the mean bag is shared by all bags, so it grows with their number and not with
the root of it.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

from sync.errors import SurveyError
from sync.settings import Tunables


class Lot(NamedTuple):
    """A dried batch: its bags and what they weighed shed-dry [kg]."""

    bags: float
    dry_kg: float


class KgPerBag(NamedTuple):
    """The shed-dry weight of a bag.

    Attributes
    ----------
    kg : float
        Mean weight of a bag. [kg]
    variance : float
        Of the mean: the error that all bags share. [kg²]
    bag_variance : float
        Of one bag about the mean. [kg²]
    lots : int
        Lots that the mean rests on.
    assumed : bool
        True when it is the owner's figure, not yet weighed.
    df : float
        Degrees of freedom of `bag_variance`; infinite while all of it is assumed.
    """

    kg: float
    variance: float
    bag_variance: float
    lots: int
    assumed: bool
    df: float = math.inf


def kg_per_bag(lots: Sequence[Lot], *, owners_kg: float, tunables: Tunables) -> KgPerBag:
    """Estimate the shed-dry weight of a bag from the lots of a season and bag type.

    Parameters
    ----------
    lots : sequence of Lot
        Bags and shed-dry weight of each. [kg]
    owners_kg : float
        What the owner holds a bag to weigh; used as long as there is no lot. [kg]
    tunables : Tunables
        `cv_bag` and its weight `bag_df`; `kappa_prior_cv` for the owner's figure.

    Returns
    -------
    KgPerBag
        Mean, its variance and the variance of one bag. [kg], [kg²]

    Raises
    ------
    SurveyError
        If a lot has no bags or no weight.

    Notes
    -----
    Ratio κ = ΣD/Σn under the model D = κn + e, Var e = s²n; s² blends the residuals of the lots
    with (cv_bag κ)² worth `bag_df` degrees of freedom; V(κ) = s²/Σn. Derived: generalised least
    squares for that model. The two prior spreads are from memory, low confidence.
    """
    if not lots:
        spread = tunables.kappa_prior_cv * owners_kg
        return KgPerBag(owners_kg, spread**2, (tunables.cv_bag * owners_kg) ** 2, 0, True)
    for lot in lots:
        _refuse_empty(lot)
    bags = sum(lot.bags for lot in lots)
    mean = sum(lot.dry_kg for lot in lots) / bags
    prior = (tunables.cv_bag * mean) ** 2
    residual = sum((lot.dry_kg - mean * lot.bags) ** 2 / lot.bags for lot in lots)
    freedom = tunables.bag_df + len(lots) - 1
    of_one = (tunables.bag_df * prior + residual) / freedom if freedom > 0 else prior
    return KgPerBag(mean, of_one / bags, of_one, len(lots), False, max(freedom, 1.0))


def count_kg(bags: float, kappa: KgPerBag) -> tuple[float, float]:
    """Turn a count of bags that are not yet in a lot into kg.

    Parameters
    ----------
    bags : float
        Bags, in halves.
    kappa : KgPerBag
        Weight of a bag. [kg]

    Returns
    -------
    kg : float
        Shed-dry. [kg]
    variance : float
        n²V(κ) + n s²: the first term is shared by all the bags. [kg²]

    Notes
    -----
    Derived: variance of a sum of n bags with a common unknown mean.
    """
    return bags * kappa.kg, bags**2 * kappa.variance + bags * kappa.bag_variance


def lot_share_kg(bags_here: float, lot: Lot, kappa: KgPerBag) -> tuple[float, float]:
    """Give the part of a weighed lot that some of its bags make up.

    Parameters
    ----------
    bags_here : float
        Of the lot's bags, those asked about.
    lot : Lot
        The weighed lot. [kg]
    kappa : KgPerBag
        For the variance of one bag. [kg²]

    Returns
    -------
    kg : float
        The lot's weight shared evenly over its bags. [kg]
    variance : float
        n_c(1 − n_c/n)s²; none when the whole lot is asked about. [kg²]

    Raises
    ------
    SurveyError
        If the lot has no bags or no weight, or fewer than asked about.

    Notes
    -----
    Derived: variance of a part given the total of n exchangeable bags.
    """
    _refuse_empty(lot)
    share = bags_here / lot.bags
    if not 0.0 <= share <= 1.0 + 1e-9:
        raise SurveyError(f"bags_here={bags_here!r}: the lot has {lot.bags!r} bags")
    variance = bags_here * max(0.0, 1.0 - share) * kappa.bag_variance
    return share * lot.dry_kg, variance


def sds_off(lot: Lot, kappa: KgPerBag) -> float:
    """Give how far a lot's weight is from that of its bags by other lots.

    Parameters
    ----------
    lot : Lot
        The weighed lot. [kg]
    kappa : KgPerBag
        Weight of a bag by the other lots; with itself among them a lot is never odd. [kg]

    Returns
    -------
    float
        (D − κn)/√(n s² + n²V(κ)), under 0 for a light one. [standard deviations]

    Raises
    ------
    SurveyError
        If the lot has no bags or no weight.

    Notes
    -----
    Derived: the standard deviation is that of the difference of a lot and its forecast.
    """
    _refuse_empty(lot)
    expected, variance = count_kg(lot.bags, kappa)
    return (lot.dry_kg - expected) / math.sqrt(variance)


def _refuse_empty(lot: Lot) -> None:
    if not (lot.bags > 0.0 and lot.dry_kg > 0.0):
        raise SurveyError(f"lot {lot!r}: bags and dry_kg must be above 0")
