"""Quadrats within cells: a sample of cells, and in each of them a sample of quadrats.

Rule 1: cells are the first stage; quadrats of one cell are never taken for cells.
Rule 2: a cell with one quadrat says nothing of its own spread; a policy is named for it.
Rule 3: cells may be without number (N infinite) for a mean, never for a total.
"""

import dataclasses
import math
from collections.abc import Sequence

import numpy as np

from sync.errors import SurveyError
from sync.survey.arrays import Array
from sync.survey.design.estimate import Estimate
from sync.survey.design.single_unit import SingleUnit, filled


@dataclasses.dataclass(frozen=True, eq=False)
class Cluster:
    """A cell that was sampled.

    Attributes
    ----------
    name : str
        What to call it in an error.
    size : float
        M_i, the quadrats it holds; no need to be whole, but finite.
    values : ndarray, shape (m_i,)
        y of the quadrats laid.
    """

    name: str
    size: float
    values: Array

    @property
    def weight(self) -> float:
        """Quadrats of the cell that each one laid stands for, M_i/m_i. [-]."""
        return self.size / len(self.values)


def two_stage_mean(
    clusters: Sequence[Cluster], cells: float, *, single: SingleUnit = "refuse",
    replaced: bool = False,
) -> Estimate:
    """Estimate the mean per quadrat of all cells from some of them.

    Parameters
    ----------
    clusters : sequence of Cluster
        n sampled cells, two or more.
    cells : float
        N, how many there are; may be infinite.
    single : SingleUnit
        What a cell with one quadrat of more adds to the second stage. "average" counts cells
        read to the last quadrat among the others: they add 0.
    replaced : bool
        Treat cells as drawn with replacement: no correction, and no second stage.

    Returns
    -------
    Estimate
        Σw y/Σw with w = (N/n)(M_i/m_i), its variance linearised, df n − 1. [unit of y]

    Raises
    ------
    SurveyError
        If there are fewer than two cells, more than N, a cell has no or too many quadrats or is
        infinite, or `single` refuses.

    Notes
    -----
    z = w(y − mean)/Σw; (1 − n/N)·n/(n − 1)·Σ(z_i − z̄)² over sums z_i of cells, plus
    (n/N)Σ(1 − m_i/M_i)·m_i/(m_i − 1)·Σ(z_ij − z̄_i)²: Särndal, Swensson & Wretman 1992, *Model
    Assisted Survey Sampling*, chapters 4 and 5 (from memory). N/n leaves z, so N may be infinite;
    then there is no second stage, and `single` is not asked.
    """
    _refuse(clusters, cells)
    mean, size = _mean(clusters), sum(one.size for one in clusters)
    moved = [one.weight / size * (one.values - mean) for one in clusters]
    variance = _variance(clusters, moved, _off_mean(clusters, 1.0 / size), cells, single, replaced)
    return Estimate(mean, variance, len(clusters) - 1)


def two_stage_total(
    clusters: Sequence[Cluster], cells: float, *, single: SingleUnit = "refuse",
    replaced: bool = False,
) -> Estimate:
    """Estimate the total over all cells.

    Parameters
    ----------
    clusters, single, replaced
        As in `two_stage_mean`.
    cells : float
        N, finite.

    Returns
    -------
    Estimate
        Σw y, and the variance of `two_stage_mean` with z = w y, df n − 1: the sizes M_i of cells
        not sampled are not used. [unit of y]

    Raises
    ------
    SurveyError
        As `two_stage_mean`, or if N is infinite.
    """
    _refuse(clusters, cells)
    if math.isinf(cells):
        raise SurveyError(f"cells={cells!r}: a total needs a finite number")
    scale = cells / len(clusters)
    moved = [scale * one.weight * one.values for one in clusters]
    variance = _variance(clusters, moved, _off_mean(clusters, scale), cells, single, replaced)
    return Estimate(sum(float(np.sum(one)) for one in moved), variance, len(clusters) - 1)


def _mean(clusters: Sequence[Cluster]) -> float:
    total = sum(one.weight * float(np.sum(one.values)) for one in clusters)
    return total / sum(one.size for one in clusters)


def _off_mean(clusters: Sequence[Cluster], scale: float) -> list[float]:
    """Give what each cell's first quadrat adds if set against the mean of all."""
    mean = _mean(clusters)
    return [(1.0 - 1.0 / one.size) * (scale * one.weight * (float(one.values[0]) - mean)) ** 2
            for one in clusters]


def _variance(
    clusters: Sequence[Cluster], moved: Sequence[Array], off_mean: Sequence[float], cells: float,
    single: SingleUnit, replaced: bool,
) -> float:
    count = len(clusters)
    first = count * float(np.var([float(np.sum(one)) for one in moved], ddof=1))
    share = count / cells
    if replaced or share == 0.0:
        return first
    parts = [_within(one, z) for one, z in zip(clusters, moved, strict=True)]
    within = sum(filled(parts, [one.name for one in clusters], off_mean, single))
    return (1.0 - share) * first + share * within


def _within(cluster: Cluster, moved: Array) -> float | None:
    count = len(moved)
    left = 1.0 - count / cluster.size
    if left <= 0.0:
        return 0.0
    return left * count * float(np.var(moved, ddof=1)) if count > 1 else None


def _refuse(clusters: Sequence[Cluster], cells: float) -> None:
    if not 2 <= len(clusters) <= cells:
        raise SurveyError(f"{len(clusters)} cells of {cells:g}: two or more are needed, and no "
                          "more than there are")
    for one in clusters:
        if not 1 <= len(one.values) <= one.size < math.inf:
            raise SurveyError(f"cell {one.name!r}: {len(one.values)} quadrats of {one.size:g}; "
                              "one at least, of a finite number")
