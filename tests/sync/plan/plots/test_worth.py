"""What a survey buys: the register's own error model with quadrats more."""

import dataclasses
from datetime import date

import numpy as np
import pytest

from sync.plan.plots.frame import frame_of
from sync.plan.plots.worth import after_survey, worth_of

ON = date(2027, 6, 1)


@pytest.fixture(scope="module")
def found(surveyed):
    return surveyed(ON)


def test_no_quadrat_more_leaves_the_class_as_it_is(found):
    lawn = found.crop.classes["lawn"].prediction
    same = after_survey(found.crop, lawn, {})
    assert lawn.surveyed == 4
    assert np.allclose(same.error, lawn.error, rtol=1e-12)
    assert same.mean_variance == pytest.approx(lawn.mean_variance, rel=1e-12)
    assert np.allclose(same.weight, lawn.weight)


def test_the_error_is_that_of_the_best_linear_prediction_with_those_quadrats(found):
    lawn = found.crop.classes["lawn"].prediction
    added = {"B03": 2, "A03": 3}
    then = after_survey(found.crop, lawn, added)
    # Cells X = μ + v, means y = X + e: generalised least squares for μ, worked out by matrices.
    counts = np.array([3 * (c in {"A01", "A02", "A03", "B02"}) + added.get(c, 0)
                       for c in lawn.cells])
    seen = counts > 0
    psi = lawn.within_variance / counts[seen]
    total = np.diag(lawn.between_variance + psi)
    one = np.ones((seen.sum(), 1))
    inverse = np.linalg.inv(total)
    mean_by = inverse @ one @ np.linalg.inv(one.T @ inverse @ one)
    covariance = lawn.between_variance * np.eye(len(counts))[:, seen]
    blup = covariance @ inverse
    weights = blup + (np.ones((len(counts), 1)) - blup @ one) @ mean_by.T
    spread = (lawn.between_variance * np.eye(len(counts)) - weights @ covariance.T
              - covariance @ weights.T + weights @ total @ weights.T)
    g3 = np.zeros(len(counts))
    g3[seen] = psi**2 / np.diag(total) ** 3 * 2.0 / (np.diag(total) ** -2.0).sum()

    assert np.allclose(then.error, spread + np.diag(2.0 * g3), rtol=1e-9)


def test_more_quadrats_make_block_and_cells_surer(found):
    frame = frame_of(found)
    cells = [c for c in frame.cells if c.cell in {"B01", "B03", "C02", "C03"}]
    few = worth_of(found, frame, cells, [1] * 4)
    many = worth_of(found, frame, cells, [4] * 4)
    assert few.block_cv_now == many.block_cv_now == pytest.approx(
        found.total.variance**0.5 / found.total.kg)
    assert many.block_cv_then < few.block_cv_then < few.block_cv_now
    assert many.cell_cv_then < few.cell_cv_then < few.cell_cv_now


def test_it_opens_what_nobody_measured_and_says_when(found):
    frame = frame_of(found)
    worth = worth_of(found, frame, frame.cells, [2] * len(frame.cells))
    assert {o.cell: o.now for o in worth.opened} == {
        "A01": False, "A02": False, "B01": True, "B03": True, "C02": True, "C03": True}
    assert all(o.kg > 0.0 for o in worth.opened if o.cell in {"B01", "B03", "C02", "C03"})


def test_the_expected_may_take_is_what_such_surveys_give_on_average(surveyed, mire):
    """Surveys of B03 whose means are spread as is thought now, each through the real register."""
    on = date(2027, 6, 1)
    frame = frame_of(surveyed(on))
    cell = [c for c in frame.cells if c.cell == "B03"]
    expected = worth_of(surveyed(on), frame, cell, [3]).opened[0].kg
    lawn = surveyed(on).crop.classes["lawn"].prediction
    rng = np.random.default_rng(2)
    sd = np.sqrt(lawn.between_variance + lawn.within_variance / 3 + lawn.mean_variance)
    ratio = np.log1p((sd / lawn.mean_l_m2) ** 2)
    got = []
    for _ in range(60):
        mean = lawn.mean_l_m2 * np.exp(np.sqrt(ratio) * rng.standard_normal() - ratio / 2)

        def read(book, mean=mean):
            # Three quadrats of one depth whose index is the mean, 100 % cover at most.
            depth = round(max(85.0, mean))
            for _ in range(3):
                book.quadrat(date(2027, 5, 1), "B03", min(100.0, round(100 * mean / depth)),
                             (depth, depth, depth))

        got.append(surveyed(on, then=read).cells["B03"].may_take_kg)
    error = np.std(got) / np.sqrt(len(got))
    assert abs(np.mean(got) - expected) < 0.15 * expected + 2 * error


def test_without_any_figure_nothing_is_expected(surveyed):
    bare = surveyed(ON, measured="")
    frame = frame_of(bare)
    worth = worth_of(bare, frame, frame.cells, [2] * len(frame.cells))
    assert worth.block_cv_now is worth.block_cv_then is worth.cell_cv_now is None
    assert worth.opened == ()
    assert len(worth.no_figure) == 9
    assert dataclasses.is_dataclass(worth)
