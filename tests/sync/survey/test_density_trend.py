"""A trend of density with depth, against a general least-squares library and made-up clips."""

import numpy as np
import pytest
import statsmodels.api as sm

from sync.survey.density_trend import CLIPS_TO_TELL, DepthClip, depth_trend


def clips(rng, count, *, slope, classes=("lawn", "mound")):
    found = []
    for i in range(count):
        name, depth = classes[i % len(classes)], float(rng.uniform(40, 160))
        level = 12.0 if name == "lawn" else 9.0
        volume = float(rng.uniform(30, 120))
        noise = float(rng.normal(0, 6.0 / np.sqrt(volume)))
        found.append(DepthClip(name, level + slope * (depth - 100) + noise, volume, depth))
    return found


def test_slope_and_t_are_those_of_weighted_least_squares():
    made = clips(np.random.default_rng(5), 24, slope=-0.02)
    lawn = np.array([c.ground_class == "lawn" for c in made], dtype=float)
    columns = np.column_stack([lawn, 1 - lawn, [c.depth_mm for c in made]])
    weights = np.array([c.volume_l_m2 for c in made])
    density = np.array([c.density_kg_m3 for c in made])
    fit = sm.WLS(density, columns, weights=weights).fit()

    found = depth_trend(made)

    level = weights @ density / weights.sum()
    assert found.per_100_mm == pytest.approx(100 * fit.params[2] / level, rel=1e-6)
    assert found.t == pytest.approx(fit.tvalues[2], rel=1e-6)
    assert found.sure == (fit.pvalues[2] < 0.05)


def test_without_a_trend_one_is_called_sure_one_time_in_twenty():
    rng = np.random.default_rng(417)
    sure = [depth_trend(clips(rng, 12, slope=0.0)).sure for _ in range(2000)]
    assert np.mean(sure) == pytest.approx(0.05, abs=0.015)


def test_a_strong_trend_is_found_by_a_dozen_clips():
    rng = np.random.default_rng(417)
    found = [depth_trend(clips(rng, 12, slope=-0.05)) for _ in range(300)]
    assert np.mean([one.sure for one in found]) > 0.8
    assert np.mean([one.per_100_mm for one in found]) == pytest.approx(-0.5, abs=0.05)


def test_few_clips_or_one_depth_say_nothing():
    few = clips(np.random.default_rng(1), CLIPS_TO_TELL - 1, slope=-0.05)
    assert depth_trend(few) is None
    assert depth_trend([DepthClip("lawn", 12.0 + i % 3, 60.0, 90.0) for i in range(20)]) is None
    assert depth_trend([DepthClip(f"c{i}", 12.0, 60.0, 90.0 + i) for i in range(9)]) is None


def test_densities_all_alike_show_no_trend():
    flat = depth_trend([DepthClip("lawn", 12.0, 60.0, 60.0 + 10 * i) for i in range(10)])
    assert not flat.sure
