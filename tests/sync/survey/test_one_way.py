"""The one-way random model against the published fit of seventy real cores."""

import math

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from sync.errors import SurveyError
from sync.survey.one_way import one_way

GROUPS = st.lists(
    st.lists(st.integers(0, 100), min_size=1, max_size=5), min_size=2, max_size=6,
).filter(lambda groups: any(len(set(group)) > 1 for group in groups))


@pytest.fixture(scope="module")
def by_substrate(models, cores):
    return [[float(core["SubsDens"]) for core in cores if core["Substrate"] == name]
            for name in models["one_way"]["groups"]]


@pytest.fixture(scope="module")
def fitted(by_substrate):
    return one_way(by_substrate)


def near(printed):
    return pytest.approx([float(text) for text in printed], rel=1e-6)


def test_the_published_fit_of_the_real_cores_is_met(models, by_substrate, fitted):
    printed = models["one_way"]
    names = ["between_variance", "within_variance", "mean", "mean_se"]

    assert [len(group) for group in by_substrate] == printed["counts"]
    assert [getattr(fitted, name) for name in names] == near([printed[name] for name in names])
    assert fitted.effects.tolist() == near(printed["effects"])


def test_another_library_fits_the_same(by_substrate, fitted):
    y = np.concatenate(by_substrate)
    group = np.repeat(np.arange(len(by_substrate)), [len(values) for values in by_substrate])
    theirs = sm.MixedLM(y, np.ones((len(y), 1)), group).fit(
        reml=True, method="bfgs", gtol=1e-10, maxiter=500)
    effects = [theirs.random_effects[g].iloc[0] for g in range(len(by_substrate))]

    assert fitted.between_variance == pytest.approx(float(theirs.cov_re[0, 0]), rel=1e-6)
    assert fitted.within_variance == pytest.approx(theirs.scale, rel=1e-6)
    assert fitted.mean == pytest.approx(theirs.fe_params[0], rel=1e-6)
    # Their standard error also lets the variances move; ours, as published, does not.
    assert theirs.bse_fe[0] > fitted.mean_se
    assert fitted.effects.tolist() == pytest.approx(effects, rel=1e-6)


def minus_restricted(ratio, groups):
    """−2 times the restricted log-likelihood, the within variance profiled out, by matrices."""
    y = np.concatenate(groups).astype(float)
    group = np.repeat(np.arange(len(groups)), [len(values) for values in groups])
    whole = np.eye(len(y)) + ratio * (group[:, None] == group[None, :])
    inverse, ones = np.linalg.inv(whole), np.ones(len(y))
    inner = ones @ inverse @ ones
    left = y - (ones @ inverse @ y) / inner
    df = len(y) - 1
    return (np.linalg.slogdet(whole)[1] + math.log(inner)
            + df * math.log(left @ inverse @ left / df))


def test_the_ratio_of_variances_maximises_the_restricted_likelihood(by_substrate, fitted):
    best = minimize_scalar(
        minus_restricted, bounds=(1e-6, 10.0), args=(by_substrate,), method="bounded",
        options={"xatol": 1e-12})

    assert fitted.between_variance / fitted.within_variance == pytest.approx(best.x, rel=1e-6)


@given(GROUPS)
def test_no_ratio_nearby_is_likelier(groups):
    got = one_way(groups)
    ratio = got.between_variance / got.within_variance
    here = minus_restricted(ratio, groups)

    assert here <= minus_restricted(ratio + 0.01 * (1.0 + ratio), groups) + 1e-9
    assert here <= minus_restricted(0.99 * ratio, groups) + 1e-9


def test_equal_groups_have_a_closed_form():
    groups = [[82, 118], [22, 52], [128, 84], [26, 54]]
    means = np.array([np.mean(group) for group in groups])
    within = np.mean([np.var(group, ddof=1) for group in groups])
    got = one_way(groups)

    assert got.within_variance == pytest.approx(within, rel=1e-12)
    assert got.between_variance == pytest.approx(np.var(means, ddof=1) - within / 2, rel=1e-12)
    assert got.mean == pytest.approx(means.mean(), rel=1e-12)
    assert got.mean_se == pytest.approx(np.std(means, ddof=1) / 2, rel=1e-12)


def test_groups_that_differ_by_no_more_than_their_values_are_one():
    groups = [[50, 70], [58, 62], [40, 84, 61], [59]]
    every = np.concatenate(groups)
    got = one_way(groups)

    assert got.between_variance == 0.0
    assert got.effects.tolist() == [0.0] * 4
    assert got.within_variance == pytest.approx(every.var(ddof=1), rel=1e-12)
    assert (got.mean, got.mean_se) == pytest.approx(
        (every.mean(), every.std(ddof=1) / math.sqrt(len(every))), rel=1e-12)


@given(GROUPS)
def test_a_group_is_drawn_towards_the_mean_and_not_beyond(groups):
    got = one_way(groups)
    away = np.array([np.mean(group) for group in groups]) - got.mean

    assert np.all(np.abs(got.effects) <= np.abs(away) + 1e-9)
    assert np.all(got.effects * away >= -1e-9)


@pytest.mark.parametrize(
    "groups",
    [[], [[1.0, 2.0]], [[1.0, 2.0], []], [[1.0], [2.0]], [[0.1, 0.1, 0.1], [2.0, 2.0]],
     [[1.0, math.nan], [2.0, 3.0]]],
)
def test_groups_that_cannot_tell_both_variances_apart_are_refused(groups):
    with pytest.raises(SurveyError):
        one_way(groups)
