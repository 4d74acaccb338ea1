"""With equal errors the area model shrinks as James and Stein do, but for its degrees of freedom.

Both draw k means towards their own mean by 1 − d·ψ/S, S their squares about it: the area model
with d = k − 1, which is REML's, James and Stein with d = k − 3, which loses least.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.survey.area_model import fay_herriot


@pytest.fixture(scope="module")
def players(models, rows):
    table = rows("efron_morris.csv")
    at_bats = models["james_stein"]["at_bats"]
    averages = np.array([int(row["hits"]) / at_bats for row in table])
    return ([row["name"] for row in table], averages,
            np.array([float(row["p"]) for row in table]), at_bats)


def stein(means, error):
    """James and Stein's factor and estimates, from the area model's weight of a direct mean."""
    model = fay_herriot(means, np.full(len(means), error), np.ones((len(means), 1)))
    count, centre = len(means), model.coefficients[0]
    factor = 1.0 - (1.0 - model.weight[0]) * (count - 3) / (count - 1)
    return factor, centre, centre + factor / model.weight * (model.predicted - centre)


def binomial(averages, at_bats):
    return averages.mean() * (1.0 - averages.mean()) / at_bats


def arcsine(averages, at_bats):
    return np.sqrt(at_bats) * np.arcsin(2.0 * averages - 1.0)


def test_the_published_factor_of_the_batting_averages(models, agrees, players):
    printed = models["james_stein"]["rounded"]
    _, averages, _, at_bats = players
    rounded = averages.round(3)
    factor, centre, _ = stein(rounded, binomial(rounded, at_bats))

    assert agrees(centre, printed["grand_mean"])
    assert agrees(factor, printed["factor"])
    assert round(centre, 3) == float(printed["grand_mean_printed"])
    assert round(factor, 3) == float(printed["factor_printed"])


def test_unrounded_averages_have_theirs(models, agrees, players):
    printed = models["james_stein"]["exact"]
    names, averages, rest, at_bats = players
    factor, centre, shrunk = stein(averages, binomial(averages, at_bats))

    assert agrees(centre, printed["grand_mean"])
    assert agrees(np.sum((averages - centre) ** 2), printed["squares"])
    assert agrees(factor, printed["factor"])
    for name in ("Clemente", "Alvis"):
        assert agrees(shrunk[names.index(name)], printed[name])
    assert agrees(np.sum((averages - rest) ** 2), printed["squared_error_raw"])
    assert agrees(np.sum((shrunk - rest) ** 2), printed["squared_error"])


def test_averages_brought_to_one_error_by_the_arcsine(models, agrees, players):
    printed = models["james_stein"]["arcsine"]
    names, averages, rest, at_bats = players
    x, truth = arcsine(averages, at_bats), arcsine(rest, at_bats)
    factor, centre, shrunk = stein(x, 1.0)
    back = (np.sin(shrunk / np.sqrt(at_bats)) + 1.0) / 2.0
    raw, now = np.sum((x - truth) ** 2), np.sum((shrunk - truth) ** 2)

    assert agrees(centre, printed["grand_mean"])
    assert agrees(np.sum((x - centre) ** 2), printed["squares"])
    assert agrees(factor, printed["factor"])
    for name in ("Clemente", "Alvis"):
        assert agrees(back[names.index(name)], printed[name])
    assert agrees(raw, printed["squared_error_raw"])
    assert agrees(now, printed["squared_error"])
    assert agrees(raw / now, printed["ratio"])


def test_the_area_model_itself_also_beats_the_raw_averages(players):
    _, averages, rest, at_bats = players
    model = fay_herriot(averages, np.full(18, binomial(averages, at_bats)), np.ones((18, 1)))

    assert np.sum((model.predicted - rest) ** 2) < 0.3 * np.sum((averages - rest) ** 2)


@given(st.lists(st.floats(-50.0, 50.0), min_size=4, max_size=20), st.floats(0.1, 500.0))
def test_with_equal_errors_the_weight_of_a_direct_mean_is_one_less_d_errors_over_squares(
        means, error):
    means = np.array(means)
    squares = np.sum((means - means.mean()) ** 2)
    model = fay_herriot(means, np.full(len(means), error), np.ones((len(means), 1)))
    expected = max(0.0, 1.0 - (len(means) - 1) * error / squares) if squares > 1e-9 else 0.0

    assert model.weight == pytest.approx(np.full(len(means), expected), rel=1e-9, abs=1e-9)
    assert model.predicted == pytest.approx(
        means.mean() + expected * (means - means.mean()), rel=1e-9, abs=1e-9)
