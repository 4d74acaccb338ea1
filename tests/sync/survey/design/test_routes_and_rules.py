"""A second independent route, what always holds, and what is refused."""

import math
import warnings

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import stdtrit

from sync.errors import SurveyError
from sync.survey.design import allocation, ratio, regression, sample_size
from sync.survey.design.df import satterthwaite, stratified_df
from sync.survey.design.domains import domain_mean
from sync.survey.design.estimate import Estimate
from sync.survey.design.stratified import (
    Stratum,
    design_effect,
    stratified_mean,
    stratified_total,
    stratum_mean,
)
from sync.survey.design.two_stage import Cluster, two_stage_mean, two_stage_total

VALUES = st.lists(st.floats(0, 1000), min_size=2, max_size=8)
STRATA = st.lists(st.tuples(st.integers(1, 60), st.floats(0.1, 100.0)), min_size=1, max_size=6)


def strata_of(each):
    return [Stratum(f"h{i}", 40.0, np.array(values)) for i, values in enumerate(each)]


# Second routes


def sample_of(schools):
    """Give the schools as the survey library takes them: exact weights, strata, populations."""
    pl = pytest.importorskip("polars")
    rows = [(key, float(r["api00"]), float(r["enroll"]), float(r["api.stu"]), float(r["fpc"]),
             float(r["fpc"]) / len(mine)) for key, mine in schools.rows.items() for r in mine]
    return pl.DataFrame(
        rows, schema=["stype", "api00", "enroll", "stu", "fpc", "weight"], orient="row")


def test_means_totals_and_ratios_are_those_of_a_survey_library(schools):
    svy = pytest.importorskip("svy")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        sample = svy.Sample(
            sample_of(schools), svy.Design(stratum="stype", wgt="weight", pop_size="fpc"))
        mean = sample.estimation.mean("api00").estimates[0]
        total = sample.estimation.total("enroll").estimates[0]
        part = sample.estimation.ratio("stu", "enroll").estimates[0]
    own = (stratified_mean(schools("api00", exact=True)),
           stratified_total(schools("enroll", exact=True)),
           ratio.combined_ratio([
               (a.name, a.units, a.values, b.values) for a, b in zip(
                   schools("enroll", exact=True), schools("api.stu", exact=True), strict=True)]))
    for mine, other in zip(own, (mean, total, part), strict=True):
        assert mine.value == pytest.approx(other.est, rel=1e-6)
        assert mine.se == pytest.approx(other.se, rel=1e-6)


def test_a_calibrated_total_is_the_weighted_line_at_the_known_totals(schools):
    strata, x = schools("api00"), schools("api99")
    weight = np.concatenate([np.full(s.count, s.units / s.count) for s in strata])
    columns = sm.add_constant(np.concatenate([one.values for one in x]))
    fit = sm.WLS(np.concatenate([s.values for s in strata]), columns, weights=weight).fit()
    known = np.array([6194, 3914069])

    helpers = [np.column_stack([np.ones(one.count), one.values]) for one in x]
    found = regression.calibrated_total(strata, helpers, known)

    # Residuals of a weighted line with an intercept add up to nothing.
    assert found.value == pytest.approx(float(known @ fit.params), rel=1e-9)
    ends = np.cumsum([0, *(s.count for s in strata)])
    left = stratified_total([Stratum(s.name, s.units, fit.resid[a:b]) for s, a, b in zip(
        strata, ends[:-1], ends[1:], strict=True)])
    plain = regression.calibrated_total(strata, helpers, known, weighted=False)
    assert plain.variance == pytest.approx(left.variance, rel=1e-9)


# What always holds


@given(st.lists(VALUES, min_size=1, max_size=4))
def test_a_census_is_known_for_certain(each):
    strata = [Stratum(f"h{i}", float(len(v)), np.array(v)) for i, v in enumerate(each)]
    assert stratified_mean(strata).variance == pytest.approx(0.0, abs=1e-9)


@given(st.lists(VALUES, min_size=1, max_size=4), st.floats(0.1, 10.0))
def test_a_ratio_follows_its_unit_and_not_its_size(each, factor):
    pairs = [(s.name, s.units, s.values + 1.0, 2.0 * s.values + 1.0) for s in strata_of(each)]
    scaled = [(n, u, x, factor * y) for n, u, x, y in pairs]
    one, other = ratio.combined_ratio(pairs), ratio.combined_ratio(scaled)
    assert other.value == pytest.approx(factor * one.value)
    assert other.variance == pytest.approx(factor**2 * one.variance, abs=1e-12)


@given(st.lists(VALUES, min_size=2, max_size=5))
def test_cells_wholly_read_are_one_stage_of_cell_totals(each):
    clusters = [Cluster(f"c{i}", float(len(v)), np.array(v)) for i, v in enumerate(each)]
    means = two_stage_mean(clusters, 12.0)
    sums = [("all", 12.0, np.array([len(v) for v in each], float),
             np.array([sum(v) for v in each]))]
    plain = ratio.combined_ratio(sums)
    assert means.value == pytest.approx(plain.value)
    assert means.variance == pytest.approx(plain.variance, rel=1e-9, abs=1e-9)


@given(st.lists(VALUES, min_size=2, max_size=5))
def test_cells_wholly_read_have_the_total_of_a_simple_sample_of_cells(each):
    clusters = [Cluster(f"c{i}", float(len(v)), np.array(v)) for i, v in enumerate(each)]
    found = two_stage_total(clusters, 12.0)
    plain = stratified_total([Stratum("all", 12.0, np.array([sum(v) for v in each]))])
    assert found.value == pytest.approx(plain.value)
    assert found.variance == pytest.approx(plain.variance, rel=1e-9, abs=1e-6)


@given(st.lists(VALUES, min_size=2, max_size=5))
def test_cells_without_number_are_the_limit_of_many(each):
    clusters = [Cluster(f"c{i}", 40.5, np.array(v)) for i, v in enumerate(each)]
    many, endless = two_stage_mean(clusters, 1e12), two_stage_mean(clusters, math.inf)
    assert endless.value == pytest.approx(many.value)
    # The second stage of the many still counts n/N, at most some 1e-7 of these values' squares.
    assert endless.variance == pytest.approx(many.variance, rel=1e-9, abs=1e-6)


def test_a_single_quadrat_set_against_the_mean_does_not_feel_where_zero_lies():
    def clusters(zero):
        return [Cluster("C01", 40.0, np.array([1.0, 2.0, 3.0]) + zero),
                Cluster("C02", 40.0, np.array([4.0]) + zero)]
    near, far = (two_stage_total(clusters(zero), 9.0, single="grand_mean")
                 for zero in (0.0, 1000.0))
    # Cells of one size: moving zero moves the total by 9·40 for each step, and no error.
    assert far.value == pytest.approx(near.value + 9 * 40 * 1000.0)
    assert far.se == pytest.approx(near.se)
    # By hand: cells of 80 and 160, s² 3200, and 3 the mean of all.
    first = 9 * (9 - 2) / 2 * 3200.0
    within = 9 / 2 * (40 * (40 - 3) / 3 * 1.0 + 40 * (40 - 1) / 1 * (4.0 - 3.0) ** 2)
    assert near.variance == pytest.approx(first + within)


@given(STRATA, st.data())
def test_no_exchange_of_one_unit_betters_whole_neyman(strata, data):
    units, sds = zip(*strata, strict=True)
    least = sum(min(2, n) for n in units)
    total = data.draw(st.integers(least, min(sum(units), least + 60)))
    counts = allocation.neyman_whole(units, sds, total)
    assert sum(counts) == total
    assert all(min(2, n) <= one <= n for n, one in zip(units, counts, strict=True))
    best = allocation.variance_of_mean(units, sds, counts)
    for a in range(len(units)):
        for b in range(len(units)):
            other = list(counts)
            other[a] -= 1
            other[b] += 1
            if a != b and other[a] >= min(2, units[a]) and other[b] <= units[b]:
                assert allocation.variance_of_mean(units, sds, other) >= best * (1 - 1e-12)


@given(st.floats(0.05, 2.0), st.floats(0.05, 0.5), st.integers(2, 400))
def test_the_number_by_t_is_the_first_that_asks_for_no_more(cv, error, all_units):
    def asks(n):
        plain = (stdtrit(n - 1, 0.95) * cv / error) ** 2
        return plain / (1.0 + plain / all_units)
    first = next(n for n in range(2, all_units + 1) if asks(n) <= n)
    assert sample_size.whole_units_for_error(cv, error, units=all_units) == first


def test_draws_with_replacement_may_outnumber_the_units():
    mean = stratum_mean(Stratum("h", 3.0, np.array([1.0, 2.0, 3.0, 2.0]), corrected=False))
    assert mean.variance == pytest.approx(2.0 / 3.0 / 4.0)
    assert mean.df == 3


def test_a_domain_taken_for_a_sample_of_its_own_has_the_mean_and_another_error(schools):
    inside = [np.array([r["comp.imp"] == "Yes" for r in mine]) for mine in schools.rows.values()]
    strata = schools("api00")
    right = domain_mean(strata, inside)
    alone = stratified_mean([
        Stratum(s.name, s.units * float(np.mean(m)), s.values[m])
        for s, m in zip(strata, inside, strict=True)])
    assert alone.value == pytest.approx(right.value)
    assert abs(alone.se - right.se) > 0.002 * right.se


def test_a_known_part_adds_no_doubt_to_the_degrees_of_freedom():
    assert satterthwaite([(4.0, math.inf)]) == math.inf
    assert satterthwaite([(4.0, 10.0)]) == 10.0
    assert satterthwaite([(4.0, 10.0), (4.0, math.inf)]) == 40.0
    assert satterthwaite([(4.0, 10.0), (0.0, 0.0)]) == 10.0


# What is refused


@pytest.mark.parametrize(("call", "said"), [
    (lambda: stratified_mean([Stratum("h", 10.0, np.array([]))]), "'h'"),
    (lambda: stratified_mean([Stratum("h", math.inf, np.array([1.0, 2.0]))]), "inf"),
    (lambda: stratified_mean([Stratum("h", 2.0, np.array([1.0, 2.0, 3.0]))]), "3 units seen of 2"),
    (lambda: stratified_mean([Stratum("h", 9.0, np.array([1.0]))], single="average"), "no other"),
    (lambda: two_stage_mean([Cluster("C01", 9.0, np.array([1.0]))], 5.0), "1 cells of 5"),
    (lambda: two_stage_mean([Cluster("C01", 9.0, np.array([])),
                             Cluster("C02", 9.0, np.array([1.0]))], 5.0), "'C01'"),
    (lambda: two_stage_mean([Cluster("C01", math.inf, np.array([1.0])),
                             Cluster("C02", 9.0, np.array([1.0]))], 5.0), "1 quadrats of inf"),
    (lambda: two_stage_mean([Cluster("C01", 9.0, np.array([1.0])),
                             Cluster("C02", 9.0, np.array([1.0, 2.0]))], 5.0), r"\['C01'\] have"),
    (lambda: two_stage_total([Cluster("C01", 9.0, np.array([1.0, 3.0])),
                              Cluster("C02", 9.0, np.array([1.0, 2.0]))], math.inf), "cells=inf"),
    (lambda: ratio.simple_ratio(np.zeros(3), np.ones(3), 9.0), "more than 0"),
    (lambda: regression.regression_mean(np.ones(4), np.ones(4), 1.0, 9.0, taken_off=2), "differ"),
    (lambda: regression.calibrated_total(
        [Stratum("h", 9.0, np.arange(4.0))], [np.ones((4, 2))], np.array([9.0, 9.0])), "together"),
    (lambda: allocation.neyman([10, 10], [0.0, 0.0], 5), "no stratum varies"),
    (lambda: allocation.neyman_whole([3, 3], [1.0, 1.0], 9), "between 4 and 6"),
    (lambda: allocation.neyman_whole([math.inf], [1.0], 9), "finite"),
    (lambda: allocation.neyman_whole([9, 9], [1.0, 1.0], 9, least=0), "least=0"),
    (lambda: allocation.variance_of_mean([9, 9], [1.0, 1.0], [0, 9]), "each above 0"),
    (lambda: sample_size.units_for_error(0.5, 0.0), "error=0.0"),
    (lambda: sample_size.units_for_error(math.nan, 0.1), "cv=nan"),
    (lambda: sample_size.units_for_error(0.5, 0.1, level=1.0), "level=1.0"),
    (lambda: sample_size.whole_units_for_error(0.5, 0.1, units=1), "units=1"),
    (lambda: sample_size.stratified_units_for_error([5], [1.0], 0.0), "half=0.0"),
    (lambda: sample_size.stratified_units_for_error([math.inf], [1.0], 1.0), "finite"),
    (lambda: Estimate(1.0, 1.0, 0.0).interval(), "df=0.0"),
    (lambda: Estimate(1.0, 1.0, 9.0).interval(90.0), "level=90.0"),
    (lambda: satterthwaite([(1.0, 0.0)]), "df=0.0"),
    (lambda: stratified_df([Stratum("h", 9.0, np.array([1.0]))]), "'h': 1 units seen of 9"),
    (lambda: stratified_mean([]), "strata="),
    (lambda: stratified_mean([Stratum("h", 0.5, np.array([1.0]))], single="nothing"), "of 0.5"),
    (lambda: design_effect([Stratum("h", 2.0, np.array([1.0, 2.0]))]), "no effect"),
    (lambda: regression.regression_mean(
        np.arange(5.0), np.ones(5), 1.0, 3.0, taken_off=1), "units=3.0"),
    (lambda: regression.calibrated_total(
        [Stratum("h", math.inf, np.arange(4.0))], [np.ones((4, 1))], np.array([9.0])), "'h'"),
    (lambda: domain_mean(strata_of([[1.0, 2.0]]), [np.array([False, False])]), "no unit"),
])
def test_what_cannot_be_estimated_is_refused_with_its_value(call, said):
    with pytest.raises(SurveyError, match=said):
        call()
