"""Double sampling for stratification against published variances."""

import math
from collections import defaultdict
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import SurveyError
from sync.survey.double.stratified import stratified_mean

STRATUM = st.lists(st.floats(-100.0, 100.0), min_size=2, max_size=6)
STRATA = st.lists(st.tuples(STRATUM, st.integers(0, 20)), min_size=1, max_size=4)


def by_stratum(rows, column, value):
    """y of the measured places of each stratum, in the order of their names."""
    found = defaultdict(list)
    for row in rows:
        if row[value]:
            found[row[column]].append(float(row[value]))
    return [found[name] for name in sorted(found)]


@pytest.fixture(scope="session")
def made_up(rows):
    return by_stratum(rows("twophase_rei.csv"), "h", "y")


@pytest.fixture(scope="session")
def voorst(rows):
    return by_stratum(rows("voorst_twophase.csv"), "stratum", "z")


def weighted_spread(first, second):
    """The spread of y in the first phase by weights alone, Σ(n'_h/n_h)(y − ȳ)²/(n' − 1)."""
    mean = np.average([np.mean(values) for values in second], weights=first)
    squares = sum(count / len(values) * np.sum((np.array(values) - mean) ** 2)
                  for count, values in zip(first, second, strict=True))
    return squares / (sum(first) - 1)


def test_the_printed_variance_of_phase_one_is_met(models, agrees, made_up):
    printed = models["double"]["made_up"]
    units = printed["units"]
    got = stratified_mean(printed["first"], made_up, units=units)

    assert agrees(units * got.mean, printed["total"])
    assert agrees(units**2 * got.first_part, printed["first_part"])
    assert agrees(units**2 * got.first_part, printed["first_part_printed"])
    assert agrees(units**2 * got.second_part, printed["second_part"])
    assert agrees(units * math.sqrt(got.variance), printed["total_se"])
    assert agrees(got.mean, printed["mean"])
    assert agrees(math.sqrt(got.variance), printed["mean_se"])


def test_the_approximate_first_phase_is_another_and_not_ours(models, agrees, made_up):
    printed = models["double"]["made_up"]
    units, first = printed["units"], printed["first"]
    got = stratified_mean(first, made_up, units=units)
    approx = math.sqrt(
        (1 / sum(first) - 1 / units) * weighted_spread(first, made_up) + got.second_part)

    assert agrees(units * approx, printed["total_se_approx"])
    assert agrees(approx, printed["mean_se_approx"])
    assert not agrees(math.sqrt(got.variance), printed["mean_se_approx"])


def test_a_soil_map_s_double_sample_has_its_published_error(models, agrees, rows, voorst):
    printed = models["double"]["voorst"]
    table = rows("voorst_twophase.csv")
    first = [sum(row["stratum"] == name for row in table) for name in printed["strata"]]
    got = stratified_mean(first, voorst, units=printed["units"])

    assert first == printed["first"]
    assert [len(values) for values in voorst] == printed["second"]
    assert agrees(got.mean, printed["mean"])
    assert agrees(got.first_part, printed["first_part"])
    assert agrees(got.second_part, printed["second_part"])
    assert agrees(math.sqrt(got.variance), printed["se"])


def test_the_large_ground_form_of_the_book_is_near(models, agrees, voorst):
    printed = models["double"]["voorst"]
    first = np.array(printed["first"])
    share, means = first / first.sum(), np.array([np.mean(values) for values in voorst])
    of_mean = np.array([np.var(values, ddof=1) / len(values) for values in voorst])
    large = math.sqrt(share**2 @ of_mean + share @ (means - share @ means) ** 2 / first.sum())
    ours = math.sqrt(stratified_mean(printed["first"], voorst).variance)

    assert agrees(large, printed["se_large"])
    assert ours == pytest.approx(large, rel=0.02)


def test_the_variance_estimate_is_unbiased_over_every_sample():
    """All samples of both phases from five places: the mean of the estimates is the truth."""
    ground = [(0, 3.0), (0, 8.0), (0, 1.0), (1, 20.0), (1, 26.0)]
    means, estimates, weights = [], [], []
    for first in combinations(ground, 4):
        strata = [[y for h, y in first if h == name] for name in (0, 1)]
        seconds = [
            list(combinations(values, 2 if len(values) > 1 else 1)) for values in strata]
        for second in product(*seconds):
            got = stratified_mean([len(values) for values in strata], second, units=5)
            means.append(got.mean)
            estimates.append(got.variance)
            weights.append(1.0 / math.prod(len(ways) for ways in seconds))
    truth = np.mean([y for _, y in ground])

    assert np.average(means, weights=weights) == pytest.approx(truth, rel=1e-12)
    assert np.average(estimates, weights=weights) == pytest.approx(
        np.average((np.array(means) - truth) ** 2, weights=weights), rel=1e-12)


@given(STRATA)
def test_measuring_all_of_the_first_phase_is_plain_random_sampling(strata):
    second = [values for values, _ in strata]
    every = np.concatenate(second)
    got = stratified_mean([len(values) for values in second], second, units=1000)

    assert got.second_part == 0.0
    assert got.mean == pytest.approx(every.mean(), abs=1e-9)
    assert got.first_part == pytest.approx(
        (1 / len(every) - 1 / 1000) * every.var(ddof=1), rel=1e-9, abs=1e-9)


@given(STRATA)
def test_no_part_of_the_variance_is_negative(strata):
    got = stratified_mean(
        [len(values) + more for values, more in strata], [values for values, _ in strata])

    assert got.first_part >= 0.0
    assert got.second_part >= 0.0


@given(STRATA)
def test_knowing_all_of_the_ground_leaves_the_second_phase_alone(strata):
    first = [len(values) + more for values, more in strata]
    second = [values for values, _ in strata]

    assert stratified_mean(first, second, units=sum(first)).first_part == 0.0


def test_a_stratum_of_one_place_that_was_measured_is_known():
    got = stratified_mean([1, 4], [[9.0], [3.0, 5.0]])

    assert got.mean == pytest.approx((9.0 + 4 * 4.0) / 5)
    assert got.second_part == pytest.approx(0.8**2 * (1 / 2 - 1 / 4) * 2.0)


def test_an_empty_stratum_takes_no_part():
    assert stratified_mean([3, 0], [[1.0, 2.0], []]) == stratified_mean([3], [[1.0, 2.0]])


@pytest.mark.parametrize(
    ("first", "second", "units"),
    [
        ([5, 5], [[1.0, 2.0], [1.0]], 100),
        ([5, 5], [[1.0, 2.0], []], 100),
        ([5, 0], [[1.0, 2.0], [1.0, 2.0]], 100),
        ([1], [[1.0]], 100),
        ([], [], 100),
        ([2], [[1.0, 2.0, 3.0]], 100),
        ([5], [[1.0, 2.0]], 4),
        ([5], [[1.0, 2.0]], math.nan),
    ],
)
def test_phases_that_cannot_carry_a_variance_are_refused(first, second, units):
    with pytest.raises(SurveyError):
        stratified_mean(first, second, units=units)
