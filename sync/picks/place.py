"""The kg of a cell, from groups of bags that may lie in it or next door.

Rule 1: a bag is shared out by chance or by picking time; it is never moved whole to the likeliest
cell.
Rule 2: the bags of a pick go in together: kg of single days add up, their variances do not, for
the weight of a bag is one error for all of them.
"""

from collections.abc import Sequence

from sync.picks.groups import GroupShare, group_variance
from sync.picks.kilos import KgPerBag, Lot, count_kg, lot_share_kg


def cell_bags(groups: Sequence[GroupShare]) -> float:
    """Give the expected number of bags in a cell, Σ n·share.

    Parameters
    ----------
    groups : sequence of GroupShare
        Bags of each group and their share in the cell.

    Returns
    -------
    float
        Bags.
    """
    return sum([group.bags * group.share for group in groups])


def cell_kg(groups: Sequence[GroupShare], kappa: KgPerBag) -> tuple[float, float]:
    """Give the kg of a cell from counted bags.

    Parameters
    ----------
    groups : sequence of GroupShare
        Bags of each group and their share in the cell.
    kappa : KgPerBag
        Weight of a bag of this season and type. [kg]

    Returns
    -------
    kg : float
        Shed-dry. [kg]
    variance : float
        V(κ)(Σna)² + s²Σna + Σκ²n²v: weight of the mean bag, of the single bags, and place. [kg²]

    Notes
    -----
    Derived: delta rule, with groups independent of one another and of the weights.
    """
    kg, variance = count_kg(cell_bags(groups), kappa)
    return kg, variance + place_variance(groups, kappa.kg)


def place_variance(groups: Sequence[GroupShare], kg_per_bag: float) -> float:
    """Give the variance of a cell's kg from where each group of bags was. [kg²]."""
    return sum([group_variance(group, kg_per_bag) for group in groups])


def cell_kg_of_lot(
    bags: float, of_place: float, lot: Lot, kappa: KgPerBag
) -> tuple[float, float]:
    """Give the kg of a cell from bags that went into one weighed lot.

    Parameters
    ----------
    bags : float
        Of the lot's bags those expected in the cell, as `cell_bags` gives them.
    of_place : float
        Variance from where they were, as `place_variance` gives it by the lot's own weight of a
        bag D/n. [kg²]
    lot : Lot
        The weighed lot. [kg]
    kappa : KgPerBag
        For the variance of one bag. [kg²]

    Returns
    -------
    kg : float
        Shed-dry. [kg]
    variance : float
        That of the lot's share, and of the place of each group. [kg²]

    Raises
    ------
    SurveyError
        If the lot is empty, or holds fewer bags than are expected in the cell.

    Notes
    -----
    As `cell_kg`, with D/n and without V(κ). Derived.
    """
    kg, variance = lot_share_kg(bags, lot, kappa)
    return kg, variance + of_place
