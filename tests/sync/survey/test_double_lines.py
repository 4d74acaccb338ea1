"""Double sampling with a ratio and with a regression."""

import math

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import assume, given
from hypothesis import strategies as st

from sync.errors import SurveyError
from sync.survey.double.phases import MeasuredFirst, SimpleFirst
from sync.survey.double.ratio import ratio_mean
from sync.survey.double.regression import fit_line, regression_mean

PAIRS = st.lists(
    st.tuples(st.floats(1.0, 100.0), st.floats(-50.0, 50.0)), min_size=3, max_size=12)


@pytest.fixture(scope="session")
def meuse(rows):
    """x of the first phase; x and y of the second."""
    table = rows("twophase_meuse.csv")
    both = [(float(row["x"]), float(row["y"])) for row in table if row["y"]]
    return np.array([float(row["x"]) for row in table]), *np.array(both).T


@pytest.fixture(scope="session")
def first(models, meuse):
    return SimpleFirst(meuse[0].mean(), len(meuse[0]), models["double"]["meuse"]["units"])


def test_the_regression_of_the_flood_plain_is_met(models, agrees, meuse, first):
    printed = models["double"]["meuse"]
    _, x, y = meuse

    assert agrees(first.mean, printed["first_mean"])
    assert agrees(x.mean(), printed["second_mean"])
    assert agrees(y.mean(), printed["second_y"])
    assert agrees(fit_line(x, y).slope, printed["slope"])
    assert agrees(regression_mean(x, y, first).mean, printed["mean"])


@pytest.mark.parametrize(("taken_off", "name"), [(1, "se_n_1"), (2, "se_n_2")])
def test_either_residual_variance_has_its_own_error(
        models, agrees, meuse, first, taken_off, name):
    got = regression_mean(meuse[1], meuse[2], first, taken_off=taken_off)

    assert agrees(math.sqrt(got.variance), models["double"]["meuse"][name])


def test_two_degrees_are_taken_off_unless_said_otherwise(models, agrees, meuse, first):
    got = regression_mean(meuse[1], meuse[2], first)

    assert agrees(math.sqrt(got.variance), models["double"]["meuse"]["se_n_2"])


def test_a_regression_beats_the_second_phase_alone(models, agrees, meuse, first):
    printed = models["double"]["meuse"]
    y = meuse[2]
    alone = (1 / len(y) - 1 / printed["units"]) * y.var(ddof=1)

    assert agrees(math.sqrt(alone), printed["second_only_se"])
    assert regression_mean(meuse[1], y, first).variance < 0.5 * alone


def test_errors_with_g_weights_are_another_convention(models, agrees, meuse, first):
    """Calibration weighs each residual by g; ours does not, and lies within 2 % of both."""
    printed = models["double"]["meuse"]
    _, x, y = meuse
    n, n1, fpc = len(x), first.count, 1 - first.count / first.units
    line = fit_line(x, y)
    g = 1 + n * (first.mean - x.mean()) * (x - x.mean()) / np.sum((x - x.mean()) ** 2)
    about = g * (y - regression_mean(x, y, first).mean)
    residuals = g * (y - line.intercept - line.slope * x)
    second = (1 / n - 1 / n1) * residuals @ residuals / (n - 1)
    squares, pairs = about @ about, about.sum() ** 2 - about @ about
    full = fpc / n1**2 * (squares * n1 / n - pairs / (n1 - 1) * n1 * (n1 - 1) / n / (n - 1))
    weighted = fpc / n1 * (about @ (y - regression_mean(x, y, first).mean)) * n1 / n / (n1 - 1)

    assert agrees(math.sqrt(full + second), printed["se_calibrated_full"])
    assert agrees(math.sqrt(weighted + second), printed["se_calibrated_approx"])
    for theirs in (full, weighted):
        assert regression_mean(x, y, first).variance == pytest.approx(theirs + second, rel=0.04)


def test_the_line_is_that_of_another_library(meuse):
    _, x, y = meuse
    line, theirs = fit_line(x, y), sm.OLS(y, sm.add_constant(x)).fit()

    assert [line.intercept, line.slope] == pytest.approx(theirs.params, rel=1e-10)
    assert line.intercept_t == pytest.approx(theirs.tvalues[0], rel=1e-10)
    assert line.residual_squares == pytest.approx(theirs.ssr, rel=1e-10)
    assert line.count == theirs.nobs


def test_the_ratio_of_the_flood_plain_follows_its_formula_written_out(meuse, first):
    _, x, y = meuse
    r = y.mean() / x.mean()
    s_yy, s_xx, s_xy = y.var(ddof=1), x.var(ddof=1), np.cov(x, y)[0, 1]
    by_hand = ((1 - first.count / first.units) * s_yy / first.count
               + (1 - len(x) / first.count) * (s_yy + r**2 * s_xx - 2 * r * s_xy) / len(x))
    got = ratio_mean(x, y, first)

    assert got.mean == pytest.approx(y.mean() * first.mean / x.mean(), rel=1e-12)
    assert got.variance == pytest.approx(by_hand, rel=1e-12)


@given(PAIRS, st.integers(0, 30))
def test_a_random_first_phase_known_by_its_variance_is_the_textbook_form_split(pairs, more):
    """V(x̄') = s²_x/n' gives the textbook variance with b²s²_x + s²_e in the place of s²_y."""
    x, y = np.array(pairs).T
    assume(np.ptp(x) > 1e-3)
    count, s2_x = len(x) + more, 7.0
    line = fit_line(x, y)
    s2_e = line.residual_squares / (len(x) - 2)
    got = regression_mean(x, y, MeasuredFirst(40.0, s2_x / count))
    split = line.slope**2 * s2_x + s2_e

    assert got.variance == pytest.approx(
        split / count + (1 - len(x) / count) * s2_e / len(x), rel=1e-9)
    assert got.mean == regression_mean(x, y, SimpleFirst(40.0, count)).mean


@given(PAIRS, st.integers(0, 30), st.integers(0, 200))
def test_the_split_holds_with_a_finite_ground_too(pairs, more, beyond):
    x, y = np.array(pairs).T
    assume(np.ptp(x) > 1e-3)
    count, units, s2_x = len(x) + more, len(x) + more + beyond, 7.0
    line = fit_line(x, y)
    s2_e = line.residual_squares / (len(x) - 2)
    got = regression_mean(x, y, MeasuredFirst(40.0, (1 / count - 1 / units) * s2_x, units))

    assert got.variance == pytest.approx(
        (1 / count - 1 / units) * (line.slope**2 * s2_x + s2_e)
        + (1 / len(x) - 1 / count) * s2_e, rel=1e-9, abs=1e-12)


@given(PAIRS, st.integers(1, 30))
def test_a_ratio_is_split_likewise_but_for_residuals_that_vary_with_x(pairs, more):
    x, y = np.array(pairs).T
    y = y + 60.0
    count = len(x) + more
    r = y.sum() / x.sum()
    crosswise = np.cov(x, y - r * x)[0, 1]
    got = ratio_mean(x, y, MeasuredFirst(40.0, x.var(ddof=1) / count))
    textbook = ratio_mean(x, y, SimpleFirst(40.0, count))

    assert textbook.mean == got.mean
    assert textbook.variance - 2 * r * crosswise / count == pytest.approx(
        got.variance, rel=1e-9, abs=1e-9)


def two_stage(rng, intercept):
    """Forty cells of two quadrats, twelve of the quadrats measured; y's own mean is 20·slope."""
    cells = rng.normal(20.0, 4.0, 40)
    x = cells[:, None] + rng.normal(0.0, 3.0, (40, 2))
    y = intercept + 1.5 * x + rng.normal(0.0, 2.0, x.shape)
    chosen = rng.choice(x.size, 12, replace=False)
    means = x.mean(axis=1)
    return (x.ravel()[chosen], y.ravel()[chosen],
            MeasuredFirst(float(means.mean()), float(means.var(ddof=1)) / 40))


@pytest.mark.parametrize(
    ("estimate", "intercept"), [(regression_mean, 10.0), (ratio_mean, 0.0)])
def test_the_variance_holds_when_the_first_phase_is_cells_and_quadrats(estimate, intercept):
    rng = np.random.default_rng(71)
    runs = [estimate(*two_stage(rng, intercept)) for _ in range(6000)]
    means = np.array([run.mean for run in runs])
    truth = intercept + 1.5 * 20.0
    seen = np.mean((means - truth) ** 2)

    assert means.mean() == pytest.approx(truth, abs=3.5 * math.sqrt(seen / len(runs)))
    # The slope's own error, left out, is worth about 1/n: a tenth here.
    assert np.mean([run.variance for run in runs]) == pytest.approx(seen, rel=0.10)
    assert np.mean([run.second_part for run in runs]) < 0.75 * seen


def test_a_perfect_line_leaves_only_the_error_of_the_first_phase():
    x = np.array([1.0, 2.0, 3.0, 4.0])

    got = regression_mean(x, 2.0 * x, MeasuredFirst(2.0, 0.25))
    line = fit_line(x, np.array([3.0, 5.0, 7.0, 9.0]))

    assert (got.mean, got.first_part, got.second_part) == (4.0, 1.0, 0.0)
    assert (line.intercept, line.slope, line.intercept_t) == (1.0, 2.0, math.inf)
    assert fit_line(x, 2.0 * x).intercept_t == 0.0


def test_a_first_phase_wholly_measured_is_plain_random_sampling(meuse):
    _, x, y = meuse
    got = regression_mean(x, y, SimpleFirst(x.mean(), len(x), 500))

    assert got.mean == pytest.approx(y.mean(), rel=1e-12)
    assert got.variance == pytest.approx((1 - len(y) / 500) * y.var(ddof=1) / len(y), rel=1e-12)


X, Y = np.array([1.0, 2.0, 3.0]), np.array([2.0, 3.0, 5.0])


@pytest.mark.parametrize("estimate", [ratio_mean, regression_mean])
@pytest.mark.parametrize(
    "first",
    [SimpleFirst(2.0, 2), SimpleFirst(2.0, 9, 8), MeasuredFirst(2.0, -0.1),
     MeasuredFirst(2.0, 0.1, 2), MeasuredFirst(2.0, math.nan)])
def test_phases_that_do_not_fit_are_refused(estimate, first):
    with pytest.raises(SurveyError):
        estimate(X, Y, first)


@pytest.mark.parametrize(("x", "y"), [(X[:2], Y[:2]), (np.full(3, 0.1), Y)])
def test_no_line_goes_through_two_places_or_through_one_x(x, y):
    with pytest.raises(SurveyError):
        fit_line(x, y)


@pytest.mark.parametrize("x", [np.zeros(3), np.array([1.0]), np.array([])])
def test_no_ratio_to_nothing(x):
    with pytest.raises(SurveyError):
        ratio_mean(x, np.ones(len(x)), SimpleFirst(2.0, 9))
