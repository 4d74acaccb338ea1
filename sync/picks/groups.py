"""Which presses share one position error.

Rule 1: presses of one phone form a group while they are near its first, in time and on the ground.
Rule 2: the error of a group is counted once for all its bags; taking them as independent bags
would claim a certainty that nobody has.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from math import hypot
from typing import NamedTuple


class GroupShare(NamedTuple):
    """The bags of one group and the part of them that belongs to one cell.

    Attributes
    ----------
    bags : float
        All bags of the group.
    share : float
        Part of them in the cell: a chance (point) or a share of time (track), 0 to 1.
    variance : float or None
        Of the share; None for a point, where it is share·(1 − share).
    """

    bags: float
    share: float
    variance: float | None = None


def group_presses(
    presses: Sequence[tuple[datetime, float, float]], *, minutes: float, metres: float
) -> list[int]:
    """Put the presses of one phone into groups.

    Parameters
    ----------
    presses : sequence of (datetime, float, float)
        Instant, easting [m] and northing [m] of each press of one phone, in any order.
    minutes : float
        A group lasts so long after its first press. [min]
    metres : float
        And reaches so far from it. [m]

    Returns
    -------
    list of int
        Group of each press, in the order given; groups are numbered from 0 by their first press.

    Notes
    -----
    A press near two groups goes with the one that began first. Common practice, no source.
    """
    order = sorted(range(len(presses)), key=lambda i: presses[i])
    span = timedelta(minutes=minutes)
    firsts: list[tuple[datetime, float, float]] = []
    group_of = [0] * len(presses)
    oldest = 0
    for i in order:
        at, e, n = presses[i]
        while oldest < len(firsts) and at - firsts[oldest][0] > span:
            oldest += 1
        near = [
            g for g in range(oldest, len(firsts))
            if hypot(e - firsts[g][1], n - firsts[g][2]) <= metres
        ]
        if not near:
            firsts.append(presses[i])
        group_of[i] = near[0] if near else len(firsts) - 1
    return group_of


def mean_share(presses: Sequence[tuple[float, float]]) -> float:
    """Give a group's share in a cell: the mean of its presses, weighted by their bags.

    Parameters
    ----------
    presses : sequence of (float, float)
        Bags and share (0 to 1) of each press of the group.

    Returns
    -------
    float
        0 to 1; 0 for a group without bags.
    """
    bags = sum(count for count, _ in presses)
    return sum(count * share for count, share in presses) / bags if bags > 0.0 else 0.0


def track_share_variance(*, east: float, west: float, north: float, south: float) -> float:
    """Give the variance of a share of picking time from the track moved by its own error.

    Parameters
    ----------
    east, west, north, south : float
        Share in the cell (0 to 1) with the whole interval moved one standard deviation that way.

    Returns
    -------
    float
        [(a_E − a_W)² + (a_N − a_S)²]/4. Derived: delta rule with central differences.
    """
    return ((east - west) ** 2 + (north - south) ** 2) / 4.0


def group_variance(group: GroupShare, kg_per_bag: float) -> float:
    """Give the variance of a group's kg in a cell that comes from where the group was.

    Parameters
    ----------
    group : GroupShare
        Bags and share.
    kg_per_bag : float
        Shed-dry weight of a bag. [kg]

    Returns
    -------
    float
        κ²n²v, with v = share·(1 − share) for a point: all its bags are there, or none. [kg²]
        Derived.
    """
    variance = group.variance
    if variance is None:
        # A chance that comes out of sums of floats may be over 1 by rounding.
        variance = max(0.0, group.share * (1.0 - group.share))
    return (kg_per_bag * group.bags) ** 2 * variance
