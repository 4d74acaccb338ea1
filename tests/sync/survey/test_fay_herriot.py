"""The area model with covariates against published milk expenditure."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from scipy.optimize import minimize_scalar

from sync.errors import SurveyError
from sync.survey.area_model import between_variance, fay_herriot

AREAS = st.integers(4, 10).flatmap(lambda count: st.tuples(
    arrays.arrays(float, count, elements=st.floats(-50.0, 50.0)),
    arrays.arrays(float, count, elements=st.floats(1.0, 100.0)),
))


@pytest.fixture(scope="module")
def milk(rows):
    """Direct estimates, their variances, and an intercept with three of four major areas."""
    table = rows("milk.csv")
    major = np.array([int(row["MajorArea"]) for row in table])
    return (np.array([float(row["yi"]) for row in table]),
            np.array([float(row["SD"]) ** 2 for row in table]),
            np.column_stack([np.ones(len(table)), major == 2, major == 3, major == 4]))


@pytest.fixture(scope="module")
def fitted(milk):
    return fay_herriot(*milk)


def minus_restricted(variance, direct, errors, covariates):
    """−2 times the restricted log-likelihood but for a constant, by plain matrices."""
    whole = np.diag(variance + errors)
    inverse = np.linalg.inv(whole)
    inner = covariates.T @ inverse @ covariates
    beta = np.linalg.solve(inner, covariates.T @ inverse @ direct)
    left = direct - covariates @ beta
    return np.log(np.diag(whole)).sum() + np.linalg.slogdet(inner)[1] + left @ inverse @ left


def near(printed):
    return pytest.approx([float(text) for text in printed], rel=1e-9)


def test_the_published_variance_and_line_are_met(models, fitted):
    printed = models["milk"]

    assert [fitted.variance] == near([printed["variance"]])
    assert fitted.coefficients.tolist() == near(printed["coefficients"])
    assert np.sqrt(np.diag(fitted.covariance)).tolist() == near(printed["coefficient_ses"])
    assert [fitted.log_likelihood] == near([printed["log_likelihood"]])
    assert fitted.predicted[:3].tolist() == near(printed["predicted"])
    assert fitted.mse[:3].tolist() == near(printed["mse"])


def test_all_43_areas_are_predicted_as_published(rows, fitted):
    printed = rows("milk_eblup_R_sae.csv")

    assert len(printed) == 43
    assert fitted.predicted.tolist() == near([row["eblup_REML"] for row in printed])
    assert fitted.mse.tolist() == near([row["mse_REML"] for row in printed])


def test_every_prediction_lies_between_the_direct_estimate_and_the_line(milk, fitted):
    direct, errors, covariates = milk
    line = covariates @ fitted.coefficients

    assert np.all(fitted.predicted >= np.minimum(direct, line))
    assert np.all(fitted.predicted <= np.maximum(direct, line))
    assert fitted.weight == pytest.approx(fitted.variance / (fitted.variance + errors), rel=1e-12)


def test_the_variance_maximises_the_restricted_likelihood(milk, fitted):
    best = minimize_scalar(
        minus_restricted, bounds=(1e-6, 1.0), args=milk, method="bounded",
        options={"xatol": 1e-12})
    # A maximum is flat, so doubles tell its place to about 1e-8; a slope tells it better.
    step = 1e-5 * fitted.variance
    slope = (minus_restricted(fitted.variance + step, *milk)
             - minus_restricted(fitted.variance - step, *milk)) / (2.0 * step)
    bend = (minus_restricted(1.01 * fitted.variance, *milk)
            - 2.0 * minus_restricted(fitted.variance, *milk)
            + minus_restricted(0.99 * fitted.variance, *milk)) / (0.01 * fitted.variance) ** 2

    assert fitted.variance == pytest.approx(best.x, rel=1e-6)
    assert abs(slope / bend) < 1e-6 * fitted.variance


@given(AREAS)
def test_one_column_of_ones_is_the_common_mean_of_the_classes(areas):
    direct, errors = areas
    model = fay_herriot(direct, errors, np.ones((len(direct), 1)))

    assert model.variance == pytest.approx(
        between_variance(direct, errors), rel=1e-10, abs=1e-10 * errors.max())


@given(AREAS, st.floats(-10.0, 10.0), st.floats(0.1, 10.0))
def test_a_line_added_to_all_areas_moves_the_line_and_nothing_else(areas, level, factor):
    direct, errors = areas
    covariates = np.column_stack([np.ones(len(direct)), np.arange(len(direct))])
    one = fay_herriot(direct, errors, covariates)
    other = fay_herriot(factor * direct + level, factor**2 * errors, covariates)

    scale = factor**2 * errors.max()
    assert other.variance == pytest.approx(factor**2 * one.variance, rel=1e-6, abs=1e-6 * scale)
    assert other.predicted == pytest.approx(factor * one.predicted + level, rel=1e-5, abs=1e-4)


@given(AREAS)
def test_no_prediction_is_worse_than_nothing_known(areas):
    direct, errors = areas
    model = fay_herriot(direct, errors, np.ones((len(direct), 1)))

    assert np.all((model.weight >= 0.0) & (model.weight < 1.0))
    assert np.all(model.mse > 0.0)


def test_areas_no_farther_from_the_line_than_their_errors_are_on_it():
    direct, errors = np.array([10.0, 20.1, 29.9, 40.0]), np.full(4, 25.0)
    covariates = np.column_stack([np.ones(4), np.arange(4.0)])
    model = fay_herriot(direct, errors, covariates)

    assert model.variance == 0.0
    assert model.weight.tolist() == [0.0] * 4
    assert model.predicted == pytest.approx(covariates @ model.coefficients, abs=1e-12)
    # What is left is the line's own error, and g3 = ψ²/ψ³·2/(4/ψ²) = ψ/2 twice.
    g2 = np.sum((covariates @ model.covariance) * covariates, axis=1)
    assert model.mse == pytest.approx(g2 + 25.0, rel=1e-12)


def test_a_fitted_model_cannot_be_written_into(fitted):
    with pytest.raises(ValueError):
        fitted.predicted[0] = 0.0


ONES = np.ones((3, 1))


@pytest.mark.parametrize(
    ("direct", "errors", "covariates"),
    [
        (np.ones(3), np.ones(3), np.eye(3)),
        (np.ones(3), np.ones(2), ONES),
        (np.ones(3), np.array([1.0, 0.0, 1.0]), ONES),
        (np.array([1.0, np.nan, 2.0]), np.ones(3), ONES),
        (np.ones(3), np.ones(3), np.ones((3, 2))),
        (np.ones(3), np.ones(3), np.ones((3, 0))),
    ],
)
def test_what_cannot_carry_a_model_is_refused(direct, errors, covariates):
    with pytest.raises(SurveyError):
        fay_herriot(direct, errors, covariates)
