"""Whether a pick only touches a cell, so that no rest starts.

Rule 1: kg of a touch count; only the rest does not start.
Rule 2: what cannot be judged is a pick: the doubt rests the ground.
"""


def share_by_weight(kg: float, pickable_kg: float) -> float | None:
    """Give the share of a cell's pickable crop that was taken.

    Parameters
    ----------
    kg : float
        Picked, shed-dry. [kg]
    pickable_kg : float
        What could be picked. [kg]

    Returns
    -------
    float or None
        Share, 1 is all of it; None where nothing was pickable.
    """
    return kg / pickable_kg if pickable_kg > 0.0 else None


def touches(
    kg: float | None,
    pickable_at_mark_kg: float | None,
    *,
    area_share: float | None,
    touch_pct: float,
) -> bool:
    """Say whether a pick only touches the cell.

    Parameters
    ----------
    kg : float or None
        Picked, shed-dry; None for a pick that is known without its kg. [kg]
    pickable_at_mark_kg : float or None
        Pickable crop when the cell is rested: what can be picked of a cell at rest is so little
        that a stray bag would restart the rest. None where there is no survey. [kg]
    area_share : float or None
        Swept area over the cell's open area, 0 to 1; None without a track.
    touch_pct : float
        At this share, by area or by weight, it is a pick. [%]

    Returns
    -------
    bool
        True for a touch.

    Notes
    -----
    Common practice, no source.
    """
    least = touch_pct / 100.0
    if kg is None or (pickable_at_mark_kg is None and area_share is None):
        return False
    by_area = area_share is not None and area_share >= least
    by_weight = pickable_at_mark_kg is not None and kg >= least * pickable_at_mark_kg
    return not (by_area or by_weight)
