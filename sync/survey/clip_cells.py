"""How much of a clip's spread lies between cells: assumed at first, learned from repeated clips.

Rule 1: only cells with two clips or more can tell.
Rule 2: under five such cells nothing is learned, and afterwards the assumption keeps its weight.
"""

import math
import statistics
from collections.abc import Sequence

#: Fewer cells than this with two clips or more say too little to learn from; own choice.
CELLS_TO_LEARN_FROM = 5


def share_between_cells(
    residuals: Sequence[float], cells: Sequence[str | None], *, assumed: float, df: float
) -> float:
    """Give the share of a clip's variance that lies between cells.

    Parameters
    ----------
    residuals : sequence of float
        (y − ρz)/√z of each clip, of one variance. [g m⁻² per √(L m⁻²)]
    cells : sequence of str or None
        Cell of each clip, in the same order; None where it is not known.
    assumed : float
        The share before any clip is seen, 0 to 1. [-]
    df : float
        Worth of that assumption in degrees of freedom.

    Returns
    -------
    float
        θ, 0 to 1. [-]

    Notes
    -----
    θ = (df·assumed + (J − 1)θ̂)/(df + J − 1) over J cells, θ̂ the intraclass correlation.
    """
    by_cell: dict[str, list[float]] = {}
    for residual, cell in zip(residuals, cells, strict=True):
        if cell is not None:
            by_cell.setdefault(cell, []).append(residual)
    groups = [group for group in by_cell.values() if len(group) >= 2]
    learned = intraclass_correlation(groups) if len(groups) >= CELLS_TO_LEARN_FROM else None
    if learned is None:
        return assumed
    worth = len(groups) - 1
    return (df * assumed + worth * learned) / (df + worth)


def intraclass_correlation(groups: Sequence[Sequence[float]]) -> float | None:
    """Give the one-way intraclass correlation, held to 0 to 1.

    Parameters
    ----------
    groups : sequence of sequence of float
        Values by cell, two cells or more, at least one of them with two values.

    Returns
    -------
    float or None
        θ̂ [-]; None where all values are the same.

    Notes
    -----
    (MSB − MSW)/(MSB + (n0 − 1)MSW), n0 = (N − Σn²/N)/(J − 1): the analysis-of-variance estimator
    of Searle, Casella & McCulloch, *Variance Components*, 1992, section 3.6 (from memory).
    """
    count = sum(len(group) for group in groups)
    degrees = len(groups) - 1
    grand = math.fsum(value for group in groups for value in group) / count
    means = [statistics.fmean(group) for group in groups]
    between = math.fsum(
        len(group) * (mean - grand) ** 2 for group, mean in zip(groups, means, strict=True)
    ) / degrees
    within = math.fsum(
        (value - mean) ** 2 for group, mean in zip(groups, means, strict=True) for value in group
    ) / (count - len(groups))
    size = (count - sum(len(group) ** 2 for group in groups) / count) / degrees
    whole = between + (size - 1.0) * within
    if whole <= 0.0:
        return None
    return min(1.0, max(0.0, (between - within) / whole))
