"""Water tables: which cell dries while the block about it does not.

Rule 1: a change is read against the block's own median, so that a dry summer says nothing.
Rule 2: a cell that fell but is still wet is not dry.
"""

import statistics
from collections.abc import Mapping

from sync.errors import SurveyError


def relative_changes_mm(changes_mm: Mapping[str, float]) -> dict[str, float]:
    """Give each cell's change of water table less the median of the block.

    Parameters
    ----------
    changes_mm : mapping of str to float
        Level now less level before, by cell; negative where it fell. [mm]

    Returns
    -------
    dict of str to float
        In the same order. [mm]

    Raises
    ------
    SurveyError
        If no cell was measured twice.
    """
    if not changes_mm:
        raise SurveyError("no cell has two water tables: nothing is known of a change")
    median = statistics.median(changes_mm.values())
    return {cell: change - median for cell, change in changes_mm.items()}


def is_drying(
    relative_mm: float, level_mm: float, *, least_fall_mm: float, dry_level_mm: float
) -> bool:
    """Say whether a cell is drying.

    Parameters
    ----------
    relative_mm : float
        Change less the block's median change. [mm]
    level_mm : float
        Level now, negative below the moss surface. [mm]
    least_fall_mm : float
        It fell by so much against the block, or more; above 0. [mm]
    dry_level_mm : float
        And stands at this level or deeper; negative. [mm]

    Returns
    -------
    bool
        Common practice, no source.
    """
    return relative_mm <= -least_fall_mm and level_mm <= dry_level_mm
