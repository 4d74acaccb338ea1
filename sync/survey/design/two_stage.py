"""Quadrats within cells: a sample of cells, and in each of them a sample of quadrats.

Rule 1: cells are the first stage; quadrats of one cell are never taken for cells.
Rule 2: a cell with one quadrat says nothing of its own spread; a policy is named for it.
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
    """A cell that was sampled: its size in quadrats M_i, and y of the m_i that were laid."""

    name: str
    size: float
    values: Array


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
        N, how many there are.
    single : SingleUnit
        What a cell with one quadrat adds to the second stage.
    replaced : bool
        Treat cells as drawn with replacement: no correction, and no second stage.

    Returns
    -------
    Estimate
        Σw y/Σw with w = (N/n)(M_i/m_i), its variance linearised, df n − 1.

    Raises
    ------
    SurveyError
        If there are fewer than two cells, more than N, or a cell has no or too many quadrats.

    Notes
    -----
    z = w(y − mean)/Σw; (1 − n/N)·n/(n − 1)·Σ(z_i − z̄)² over sums z_i of cells, plus
    (n/N)Σ(1 − m_i/M_i)·m_i/(m_i − 1)·Σ(z_ij − z̄_i)²: Särndal, Swensson & Wretman 1992, *Model
    Assisted Survey Sampling*, chapters 4 and 5 (from memory).
    """
    _refuse(clusters, cells)
    weights = [cells / len(clusters) * one.size / len(one.values) for one in clusters]
    whole = sum(w * len(one.values) for w, one in zip(weights, clusters, strict=True))
    mean = sum(
        w * float(np.sum(one.values)) for w, one in zip(weights, clusters, strict=True)) / whole
    moved = [w * (one.values - mean) / whole for w, one in zip(weights, clusters, strict=True)]
    return Estimate(
        mean, _variance(clusters, moved, cells, single, replaced), len(clusters) - 1)


def two_stage_total(
    clusters: Sequence[Cluster], cells: float, *, single: SingleUnit = "refuse",
    replaced: bool = False,
) -> Estimate:
    """Estimate the total over all cells: Σw y, with the variance of `two_stage_mean`'s z = w y."""
    _refuse(clusters, cells)
    moved = [
        cells / len(clusters) * one.size / len(one.values) * one.values for one in clusters
    ]
    total = sum(float(np.sum(one)) for one in moved)
    return Estimate(
        total, _variance(clusters, moved, cells, single, replaced), len(clusters) - 1)


def _variance(
    clusters: Sequence[Cluster], moved: Sequence[Array], cells: float, single: SingleUnit,
    replaced: bool,
) -> float:
    count = len(clusters)
    sums = np.array([float(np.sum(one)) for one in moved])
    first = count * float(np.var(sums, ddof=1))
    if replaced:
        return first
    share = 0.0 if math.isinf(cells) else count / cells
    if share == 0.0:
        return first
    off = [(1.0 - 1.0 / one.size) * float(z[0]) ** 2
           for one, z in zip(clusters, moved, strict=True)]
    parts = [_within(one, z) for one, z in zip(clusters, moved, strict=True)]
    within = sum(filled(parts, [one.name for one in clusters], off, single))
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
        if not 1 <= len(one.values) <= one.size:
            raise SurveyError(f"cell {one.name!r}: {len(one.values)} quadrats of {one.size:g}")
