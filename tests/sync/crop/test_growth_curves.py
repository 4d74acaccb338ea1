"""Our curves of growth, fitted to certified data, give the certified figures.

A wrong curve, or one that loses digits, would not come back to eleven certified ones.
"""

import csv
import importlib.util
import math
import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import curve_fit, least_squares

from sync.crop.walk import logistic_share

TESTS = Path(__file__).parents[2]
PUBLISHED = TESTS / "published"


def made_block_growth():
    """Load the curve of the made-up blocks by its path: test folders are no packages."""
    path = TESTS / "bench" / "made_block" / "growth.py"
    spec = importlib.util.spec_from_file_location("made_block_growth", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


saturating_share = made_block_growth().saturating_share


def logistic(b, x):
    """b1/(1 + exp(b2 − b3x)), full growth b1 from the share 1/(1 + exp(b2)) on, and its slopes."""
    begun = 1.0 / (1.0 + math.exp(b[1]))
    share = np.array([logistic_share(begun, b[2] * at) for at in x])
    rise = b[0] * share * (1.0 - share)
    return b[0] * share, np.column_stack([share, -rise, x * rise])


def saturating(b, x):
    """b1(1 − exp(−b2x)) and its slopes: growth is as what is still missing."""
    share = np.array([saturating_share(b[1] * at) for at in x])
    return b[0] * share, np.column_stack([share, b[0] * x * (1.0 - share)])


CURVES = {"rat42": logistic, "misra1a": saturating}
STARTS = [("rat42", 0), ("rat42", 1), ("misra1a", 0), ("misra1a", 1)]


@pytest.fixture(scope="module")
def certified():
    return tomllib.loads((PUBLISHED / "models.toml").read_text(encoding="utf-8"))


def data(case):
    with (PUBLISHED / case["data"]).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return np.array([float(row["x"]) for row in rows]), np.array([float(row["y"]) for row in rows])


def fit(curve, case, start):
    """Least squares from a certified start; parameters, their SDs and the residual squares."""
    x, y = data(case)
    got = least_squares(
        lambda b: curve(b, x)[0] - y, case["starts"][start], lambda b: curve(b, x)[1],
        x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=500)
    squares = float(got.fun @ got.fun)
    inner = np.linalg.inv(got.jac.T @ got.jac)
    return got.x, np.sqrt(np.diag(inner) * squares / (len(x) - len(got.x))), squares


def near(printed):
    return pytest.approx([float(text) for text in printed], rel=1e-7)


@pytest.mark.parametrize(("name", "start"), STARTS)
def test_our_curve_meets_the_certified_fit_from_both_starts(certified, name, start):
    case = certified[name]
    parameters, sds, squares = fit(CURVES[name], case, start)

    assert parameters.tolist() == near(case["parameters"])
    assert sds.tolist() == near(case["sds"])
    assert [squares] == near([case["squares"]])


def test_the_certified_residual_spread_of_the_pasture(certified):
    case = certified["rat42"]
    squares = fit(logistic, case, 1)[2]

    assert [math.sqrt(squares / (9 - 3))] == near([case["residual_sd"]])


@pytest.mark.parametrize("start", [0, 1])
def test_the_formula_written_out_and_fitted_elsewhere_gives_the_same(certified, start):
    case = certified["rat42"]
    x, y = data(case)
    theirs, covariance = curve_fit(
        lambda x, b1, b2, b3: b1 / (1.0 + np.exp(b2 - b3 * x)), x, y, p0=case["starts"][start],
        xtol=1e-14, ftol=1e-14, gtol=1e-14)
    ours, sds, _ = fit(logistic, case, start)

    assert ours == pytest.approx(theirs, rel=1e-6)
    assert sds == pytest.approx(np.sqrt(np.diag(covariance)), rel=1e-6)


def test_growth_that_saturates_does_not_fit_the_pasture(certified):
    """The curves are two: what follows the one does not follow the other."""
    case = certified["rat42"]
    logistic_left = fit(logistic, case, 1)[2]
    saturating_left = fit(saturating, {**case, "starts": [[100.0, 0.01]]}, 0)[2]

    assert saturating_left > 8.0 * logistic_left


@given(st.floats(0.01, 0.99), st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_two_spans_of_growth_are_one_of_their_length(share, first, second):
    assert logistic_share(logistic_share(share, first), second) == pytest.approx(
        logistic_share(share, first + second), rel=1e-12)


@given(st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_so_are_two_of_growth_that_saturates(first, second):
    left = (1.0 - saturating_share(first)) * (1.0 - saturating_share(second))

    assert 1.0 - saturating_share(first + second) == pytest.approx(left, rel=1e-12)
