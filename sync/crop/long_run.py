"""What a block can give year after year, and what its permit leaves of today's figure.

Rule 1: the long-run mean holds no caution: over many picks the errors of single cells even out.
Rule 2: a cap limits the block's figure alone; the cells keep their own.
"""

from collections.abc import Iterable

from sync.crop.allow import left_after_rest_share
from sync.crop.walk import Growth


def take_at_mark_kg(
    mark_kg: float,
    pickable_share: float,
    *,
    area_m2: float,
    growth: Growth,
    rest_years: float,
    keep: float,
    max_share: float | None,
    max_kg_m2: float | None,
) -> float:
    """Give what one pick takes from a cell that stands at its mark, without caution.

    Parameters
    ----------
    mark_kg : float
        Rested crop C. [kg]
    pickable_share : float
        Pickable share at the mark, q, 0 to 1. [-]
    area_m2 : float
        Open ground. [m²]
    growth : Growth
        Rate and comeback level φ.
    rest_years : float
        Rest period, months/12. [yr]
    keep : float
        Share of the pickable crop that stays, 0 to 1.
    max_share, max_kg_m2 : float or None
        The permit's largest share of the crop [-] and largest take by area [kg/m²].

    Returns
    -------
    float
        min((1−keep)qC, C(1 − e/φ), permit on C), not under 0. [kg] Derived.
    """
    e = left_after_rest_share(growth.rate, rest_years, growth.comeback)
    takes = [(1.0 - keep) * pickable_share * mark_kg, mark_kg * (1.0 - e / growth.comeback)]
    if max_share is not None:
        takes.append(max_share * mark_kg)
    if max_kg_m2 is not None:
        takes.append(max_kg_m2 * area_m2)
    return max(0.0, min(takes))


def yearly_kg(takes_kg: Iterable[float], *, rest_years: float) -> float:
    """Give the long-run mean of a block: each cell picked once in a rest period.

    Parameters
    ----------
    takes_kg : iterable of float
        `take_at_mark_kg` of each open cell that has a figure. [kg]
    rest_years : float
        Rest period, months/12, above 0. [yr]

    Returns
    -------
    float
        kg a year.

    Raises
    ------
    ValueError
        If there is no rest.
    """
    if not rest_years > 0.0:
        raise ValueError(f"rest_years={rest_years!r}: must be above 0")
    return sum(takes_kg) / rest_years


def block_may_take_kg(
    left_kg: Iterable[float], *, cap_kg: float | None, picked_kg: float
) -> float:
    """Give what a block may still give now, under one permit.

    Parameters
    ----------
    left_kg : iterable of float
        What is left of may take in each of its cells. [kg]
    cap_kg : float or None
        The permit's cap for a permit year; None for no cap. [kg]
    picked_kg : float
        Picked in that permit year, outside and unplaced bags too. [kg]

    Returns
    -------
    float
        min(Σ left, cap − picked), not under 0. [kg]
    """
    total = sum(left_kg)
    return total if cap_kg is None else max(0.0, min(total, cap_kg - picked_kg))
