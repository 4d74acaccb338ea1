"""The class's mean by its sample: which estimator, why, and worked by hand from the quadrats."""

import math
from datetime import date

import numpy as np
import pytest

from sync.crop.class_table import class_mean

DAY, ON = date(2024, 1, 10), date(2024, 3, 1)
FRAME_M2 = 0.25
COVERS = {"A01": (60, 80), "B02": (50, 70), "C03": (90, 40)}


def surveyed(made, clips=0, intercept=0.0):
    book = made.Book()
    for cell, covers in COVERS.items():
        for cover in covers:
            book.quadrat(DAY, cell, cover, (100, 100))
    for i in range(clips):
        cell = ("A01", "B02", "C03")[i % 3]
        depth = 70 + 3 * i
        book.quadrat(DAY, cell, 60, (depth, depth), clip=f"X-{i}")
        density = 12.0 + (i % 3 - 1) + intercept / (0.6 * depth)
        book.note("clip", DAY, clip=f"X-{i}", cut="plug", area_m2=0.0625, from_mm=0, to_mm=60,
                  dry_g=density * 0.0625 * 60, dried="shed")
    return book


def table(made, book, **tunables):
    found = made.register(book, ON, **tunables).crop
    return class_mean(found, "all", frame_m2=FRAME_M2), found


def test_the_mean_index_is_that_of_a_two_stage_sample(made):
    got, crop = table(made, surveyed(made), observer_sd=1e-9)
    areas = np.array([crop.cells[cell].open_m2 for cell in COVERS])
    means = np.array([np.mean(covers) for covers in COVERS.values()])
    mean = float(areas @ means / areas.sum())
    # z of the cells: area × (cell mean − mean)/Σ area over the sampled ones.
    z = areas * (means - mean) / areas.sum()
    first = (1 - 3 / 9) * 3 * np.var(z, ddof=1)
    within = [(a / areas.sum()) ** 2 * np.var(covers, ddof=1) / 2
              for a, covers in zip(areas, COVERS.values(), strict=True)]
    # Two quadrats of a hectare: the second correction is next to nothing.
    assert got.index.value == pytest.approx(mean)
    assert got.index.variance == pytest.approx(first + 3 / 9 * sum(within), rel=1e-3)
    assert got.quadrats == 6


def test_without_clips_it_leans_on_the_registers_density_and_says_so(made):
    got, crop = table(made, surveyed(made))
    assert (got.estimator, got.clips) == ("density", 0)
    assert got.crop_t_ha.value == pytest.approx(0.01 * 12.0 * got.index.value)
    of_density = float(crop.densities.covariance[0, 0]) / 144
    cv2 = got.crop_t_ha.variance / got.crop_t_ha.value**2
    of_index = got.index.variance / got.index.value**2
    assert cv2 == pytest.approx(of_index + of_density + of_index * of_density)
    assert "0 clips of the class" in got.why


def test_a_few_clips_make_a_ratio(made):
    got, _crop = table(made, surveyed(made, clips=6))
    assert (got.estimator, got.clips) == ("ratio", 6)
    x = [0.6 * (70 + 3 * i) for i in range(6)]
    y = [(12.0 + (i % 3 - 1)) * x[i] for i in range(6)]
    assert got.crop_t_ha.value == pytest.approx(0.01 * got.index.value * sum(y) / sum(x))
    assert "6 clips, too few to tell a line" in got.why
    residuals = np.array(y) - np.array(x) * sum(y) / sum(x)
    second = float(residuals @ residuals) / 5 / 6 * 1e-4
    first = (got.crop_t_ha.value / got.index.value) ** 2 * got.index.variance
    assert got.crop_t_ha.variance == pytest.approx(first + second)


def test_many_clips_on_a_line_that_misses_the_origin_make_a_regression(made):
    got, _ = table(made, surveyed(made, clips=18, intercept=400.0))
    assert got.estimator == "regression"
    assert "misses the origin (intercept" in got.why
    plain, _ = table(made, surveyed(made, clips=18))
    assert plain.estimator == "ratio"
    assert "does not miss the origin beyond chance" in plain.why


def test_a_reader_nobody_checked_widens_it(made):
    sure, _ = table(made, surveyed(made, clips=6), observer_sd=1e-9)
    unsure, _ = table(made, surveyed(made, clips=6))
    assert unsure.index.variance - sure.index.variance == pytest.approx(
        (0.12 * sure.index.value) ** 2)


def test_one_surveyed_cell_has_the_registers_mean_and_no_class_has_none(made):
    book = made.Book()
    book.quadrat(DAY, "B02", 60, (90, 110))
    got, crop = table(made, book, observer_sd=1e-9)
    known = crop.classes["all"].prediction
    assert got.index.value == known.mean_l_m2
    assert got.index.variance == pytest.approx(known.mean_variance)
    assert "one surveyed cell has no spread" in got.why
    empty, _ = table(made, made.Book())
    assert (empty.index, empty.crop_t_ha, empty.estimator) == (None, None, "none")


def test_a_class_is_told_in_the_register_with_interval_and_reason(made):
    from sync.report.block_rows import class_rows
    found = made.register(surveyed(made, clips=6), ON)
    (row,) = class_rows(found)
    low, high = class_mean(found.crop, "all", frame_m2=FRAME_M2).crop_t_ha.interval(0.90)
    assert row["standing_crop_t_ha"]["low"] == pytest.approx(low, abs=0.005)
    assert row["standing_crop_t_ha"]["high"] == pytest.approx(high, abs=0.005)
    assert row["estimator"] == "ratio"
    assert math.isfinite(row["mean_index"]["value"])
