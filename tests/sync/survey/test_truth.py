"""Made-up blocks of known truth: do the ranges hold what they promise?"""

import math

import numpy as np
import pytest

from sync.settings import Z_RANGE, Tunables
from sync.survey.cells import CellSample, predict_class
from sync.survey.clips import Clip
from sync.survey.density import density_of_classes, density_prior, of_class
from sync.survey.totals import (
    block_total,
    cell_cv2,
    class_volume,
    crop_kg,
    lognormal_range,
    t_quantile,
)

TUNABLES = Tunables()
BLOCKS, CELLS = 300, 60


def lognormal(rng, mean, cv, size=None):
    s2 = math.log1p(cv**2)
    return mean * np.exp(rng.normal(-s2 / 2, math.sqrt(s2), size))


def one_block(rng):
    """Survey a block with 40 % of its cells measured, 1-4 quadrats each, and 12 clips.

    Returns whether each surveyed and unsurveyed cell, the total, and a total whose cells were
    added as if independent, held the truth.
    """
    density = lognormal(rng, 12.0, 0.6)
    truth = lognormal(rng, 70.0, 0.6, CELLS)
    samples = [
        CellSample(f"c{row}", tuple(
            lognormal(rng, truth[row], 0.8, rng.integers(1, 5)) if rng.random() < 0.4 else ()))
        for row in range(CELLS)]
    got = predict_class(samples, tunables=TUNABLES)
    clips = [Clip("all", z * lognormal(rng, density, 0.25), z)
             for z in lognormal(rng, 70.0, 0.5, 12)]
    densities = density_of_classes(clips, ["all"], prior=density_prior(TUNABLES))
    rho = of_class(densities, "all")

    held, alone = {True: [], False: []}, 0.0
    for row, sample in enumerate(samples):
        index, error = got.index_l_m2[row], got.error[row, row]
        cv2 = cell_cv2(index, error, rho.mean_kg_m3, rho.variance, rho.between_cv2)
        kg = crop_kg(10_000.0, rho.mean_kg_m3, index)
        low, high = lognormal_range(kg, math.sqrt(cv2), t=t_quantile(got.df))
        held[bool(sample.drawn_l_m2)].append(low <= 10.0 * density * truth[row] <= high)
        alone += kg**2 * cv2
    total = block_total(
        [class_volume("all", got, dict.fromkeys(got.cells, 10_000.0))], densities)
    true_kg = 10.0 * density * truth.sum()
    low, high = lognormal_range(total.kg, total.cv, t=Z_RANGE)
    low_alone, high_alone = lognormal_range(total.kg, math.sqrt(alone) / total.kg, t=Z_RANGE)
    return held[True], held[False], low <= true_kg <= high, low_alone <= true_kg <= high_alone


@pytest.fixture(scope="module")
def coverage():
    rng = np.random.default_rng(20)
    runs = [one_block(rng) for _ in range(BLOCKS)]
    surveyed, unsurveyed, block, alone = zip(*runs, strict=True)
    return {
        "surveyed": np.mean(np.concatenate(surveyed)),
        "unsurveyed": np.mean(np.concatenate(unsurveyed)),
        "block": np.mean(block),
        "cells added as if independent": np.mean(alone),
    }


@pytest.mark.parametrize("what", ["surveyed", "unsurveyed", "block"])
def test_nine_ranges_in_ten_hold_the_truth(coverage, what):
    assert 0.85 <= coverage[what] <= 0.96


def test_a_total_of_independent_cells_would_miss_it_far_too_often(coverage):
    assert coverage["cells added as if independent"] < 0.70
