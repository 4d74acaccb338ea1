import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from sync.survey.area_model import between_variance

CELLS = st.lists(st.tuples(st.floats(0.0, 300.0), st.floats(1.0, 2000.0)), min_size=2, max_size=12)


def minus_log_likelihood(variance, means, errors):
    weights = 1.0 / (variance + errors)
    centre = weights @ means / weights.sum()
    return 0.5 * (-np.log(weights).sum() + np.log(weights.sum()) + weights @ (means - centre) ** 2)


def test_equal_errors_have_a_closed_form():
    means = np.array([100.0, 37.0, 106.0, 40.0])

    got = between_variance(means, np.full(4, 604.125625))

    assert got == pytest.approx(np.var(means, ddof=1) - 604.125625, rel=1e-12)


def test_cells_no_farther_apart_than_their_errors_have_no_variance():
    assert between_variance(np.array([60.0, 60.0, 62.0]), np.full(3, 300.0)) == 0.0


@pytest.mark.parametrize("mean", [0.0, 0.1, 70.7, 1e9 / 7.0])
def test_one_cell_says_nothing_of_the_variance_between_cells(mean):
    assert between_variance(np.array([mean]), np.array([0.3])) == 0.0


def test_the_root_maximises_the_restricted_likelihood():
    rng = np.random.default_rng(5)
    for _ in range(50):
        errors = rng.uniform(100.0, 1500.0, 8)
        means = rng.normal(70.0, np.sqrt(900.0 + errors))
        got = between_variance(means, errors)
        best = minimize_scalar(
            minus_log_likelihood, bounds=(0.0, 2e4), args=(means, errors), method="bounded",
            options={"xatol": 1e-8})

        assert got == pytest.approx(best.x, rel=1e-4, abs=1e-3)


@given(CELLS, st.floats(0.01, 100.0))
def test_the_variance_scales_with_the_square_of_the_unit(cells, factor):
    means, errors = np.array(cells).T

    one = between_variance(means, errors)
    other = between_variance(factor * means, factor**2 * errors)

    assert other == pytest.approx(factor**2 * one, rel=1e-6, abs=1e-9 * factor**2 * errors.max())


@given(CELLS)
def test_the_variance_is_never_negative_and_at_most_that_of_the_means(cells):
    means, errors = np.array(cells).T

    # With unequal errors the weighted scatter may exceed the plain one, by the weights at most.
    bound = np.var(means, ddof=1) * len(means) + errors.max()
    assert 0.0 <= between_variance(means, errors) <= bound
