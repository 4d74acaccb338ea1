"""Estimates by the design against published figures and reference runs."""

import math

import numpy as np
import pytest

from sync.errors import SurveyError
from sync.survey.design import allocation, ratio, regression, sample_size
from sync.survey.design.df import stratified_df
from sync.survey.design.domains import domain_mean, domain_total
from sync.survey.design.estimate import Estimate
from sync.survey.design.stratified import (
    Stratum,
    design_effect,
    stratified_mean,
    stratified_total,
    stratum_mean,
)
from sync.survey.design.two_stage import two_stage_mean, two_stage_total
from sync.survey.double.regression import fit_line


@pytest.fixture
def meets(close):
    """An estimate and its SE against the two printed figures."""
    def check(found, printed):
        assert close(found.value, printed[0]), (found.value, printed)
        assert close(found.se, printed[1]), (found.se, printed)
    return check


def test_strata_of_schools(design, schools, meets, close):
    printed = design["strata"]
    mean = stratified_mean(schools("api00"))
    meets(mean, printed["mean"])
    meets(stratified_mean(schools("api00", exact=True)), printed["mean_exact_weights"])
    meets(stratified_mean(schools("api00", corrected=False)), printed["mean_without_fpc"])
    total = stratified_total(schools("enroll"))
    meets(total, printed["total_enroll"])
    meets(stratified_total(schools("enroll", corrected=False)),
          printed["total_enroll_without_fpc"])
    assert mean.df == printed["df"]
    for found, ends in ((mean, "mean_interval_95"), (total, "total_interval_95")):
        assert all(close(a, b) for a, b in zip(found.interval(0.95), printed[ends], strict=True))
    by_z = Estimate(mean.value, mean.variance).interval(0.95)
    assert all(close(a, b) for a, b in zip(
        by_z, printed["mean_interval_95_by_z"], strict=True))
    assert [f"{mean.value:.2f}", f"{mean.se:.4f}"] == printed["known_print"]


def test_each_stratum_of_schools(design, schools, meets, close):
    for one, (name, *figures) in zip(schools("api00"), design["strata"]["means"], strict=True):
        assert one.name == name
        meets(stratum_mean(one), figures)
    for one, (_, value, se) in zip(schools("enroll"), design["strata"]["totals"], strict=True):
        found = stratum_mean(one)
        assert close(one.units * found.value, value)
        assert close(one.units * found.se, se)
    assert close(design_effect(schools("api00")), design["strata"]["design_effect"])


def test_two_small_strata(design, units, meets, close):
    printed = design["fpc"]
    meets(stratified_mean(units()), printed["mean"])
    meets(stratified_mean(units(corrected=False)), printed["mean_without_fpc"])
    meets(stratified_total(units()), printed["total"])
    assert stratified_mean(units()).df == printed["df"]
    assert all(close(a, b) for a, b in zip(
        stratified_mean(units()).interval(0.95), printed["interval_95"], strict=True))


def test_soil_strata_of_a_known_truth(design, soil, meets, close):
    printed = design["soil"]
    plain = stratified_mean(soil(corrected=False))
    meets(plain, printed["mean"])
    assert plain.df == printed["df"]
    assert close(stratified_mean(soil()).se, printed["with_fpc_se"])
    assert all(close(a, b) for a, b in zip(
        plain.interval(0.95), printed["interval_95"], strict=True))
    assert all(close(a, b) for a, b in zip(
        stratified_mean(soil()).interval(0.95), printed["interval_95_fpc"], strict=True))
    assert close(design_effect(soil(corrected=False)), printed["design_effect"])
    everything = np.concatenate([one.values for one in soil()])
    assert close(float(everything.mean()), printed["unweighted_trap"])
    low, high = plain.interval(0.95)
    assert low < float(printed["true_mean"]) < high


def pairs(schools, x, y):
    return [(a.name, a.units, a.values, b.values)
            for a, b in zip(schools(x), schools(y), strict=True)]


def test_ratios(design, schools, meets):
    printed = design["ratio"]
    strata = pairs(schools, "enroll", "api.stu")
    meets(ratio.combined_ratio(strata), printed["combined"])
    meets(ratio.combined_ratio_total(strata, printed["x_total"]), printed["combined_total"])
    for one, figures in zip(strata, printed["separate"], strict=True):
        meets(ratio.combined_ratio([one]), figures)
    separate = ratio.separate_ratio_total(strata, printed["x_totals"])
    meets(separate, printed["separate_total"])
    assert separate.df == design["strata"]["df"]
    by_api99 = ratio.combined_ratio_total(pairs(schools, "api99", "api00"), printed["api99_total"])
    meets(ratio.mean_over(by_api99, 6194), printed["mean_by_api99"])


def helpers(schools, *, types=False, separate=False):
    found = []
    for i, one in enumerate(schools("api99")):
        ones = np.ones(one.count)
        of_type = [ones * (i == j) for j in (1, 2)] if types or separate else []
        slopes = [one.values] + ([one.values * (i == j) for j in (1, 2)] if separate else [])
        found.append(np.column_stack([ones, *of_type, *slopes]))
    return found


def test_regression_by_calibration(design, schools, meets, close):
    printed, strata = design["regression"], schools("api00")
    known = np.array([6194, 3914069])
    total = regression.calibrated_total(strata, helpers(schools), known)
    meets(total, printed["on_api99_total"])
    meets(ratio.mean_over(total, 6194), printed["on_api99"])
    plain = regression.calibrated_total(strata, helpers(schools), known, weighted=False)
    assert close(plain.se / 6194, printed["on_api99_plain_se"])
    typed = regression.calibrated_total(
        strata, helpers(schools, types=True), np.array([6194, 755, 1018, 3914069]))
    meets(ratio.mean_over(typed, 6194), printed["on_stype_and_api99"])
    x = [n * m for n, m in zip((4421, 755, 1018), printed["x_means"], strict=True)]
    apart = regression.calibrated_total(
        strata, helpers(schools, separate=True),
        np.array([6194, 755, 1018, sum(x), x[1], x[2]]))
    meets(ratio.mean_over(apart, 6194), printed["separate"])


def test_a_line_in_each_stratum(design, schools, close):
    printed = design["regression"]
    strata = [(a.name, a.units, a.values, b.values) for a, b in zip(
        schools("api99", exact=True), schools("api00", exact=True), strict=True)]
    found = regression.separate_regression_mean(strata, printed["x_means"], taken_off=2)
    assert close(found.value, printed["separate_textbook"][0])
    assert close(found.se, printed["separate_textbook"][1])
    for (name, n, x, y), mean, (key, slope, value) in zip(
            strata, printed["x_means"], printed["strata"], strict=True):
        assert name == key
        assert close(fit_line(x, y).slope, slope)
        assert close(regression.regression_mean(x, y, mean, n, taken_off=2).value, value)


def test_dead_trees_by_three_conventions(design, rows, meets, close):
    printed = design["dead_trees"]
    table = rows("deadtrees.csv")
    x, y = (np.array([float(r[name]) for r in table]) for name in ("photo", "field"))
    plain = stratum_mean(Stratum("all", 100, y))
    meets(plain, printed["mean"])
    assert all(close(a, b) for a, b in zip(
        plain.interval(0.95), printed["interval_95"], strict=True))
    line = fit_line(x, y)
    assert close(line.slope, printed["slope"])
    assert close(line.intercept, printed["intercept"])
    # These two say nothing of the program, but that the table is the printed one.
    assert close(float(x.mean()), printed["mean_on_photo"])
    assert close(float(np.corrcoef(x, y)[0, 1]), printed["correlation"])
    for taken_off, se in ((1, "se_by_n_1"), (2, "se_by_n_2")):
        found = regression.regression_mean(x, y, 11.3, 100, taken_off=taken_off)
        meets(found, [printed["regression"], printed[se]])
    weighted = regression.calibrated_total(
        [Stratum("all", 100, y)], [np.column_stack([np.ones(25), x])], np.array([100, 1130]))
    assert close(weighted.se / 100, printed["se_g_weighted"])
    meets(ratio.simple_ratio(x, y, 100), printed["ratio"])
    by_ratio = ratio.combined_ratio_total([("all", 100, x, y)], 1130)
    meets(ratio.mean_over(by_ratio, 100), printed["ratio_mean"])


def test_domains(design, schools, units, meets, close):
    printed = design["domain"]
    inside = [np.array([r["comp.imp"] == "Yes" for r in mine]) for mine in schools.rows.values()]
    mean = domain_mean(schools("api00"), inside)
    meets(mean, printed["mean"])
    assert mean.df == printed["df"]
    assert all(close(a, b) for a, b in zip(
        mean.interval(0.95), printed["interval_95"], strict=True))
    whole = Estimate(mean.value, mean.variance, 197)
    assert all(close(a, b) for a, b in zip(
        whole.interval(0.95), printed["interval_95_whole_design"], strict=True))
    meets(domain_total(schools("enroll"), inside), printed["total_enroll"])
    for corrected, key in ((True, "domain_mean"), (False, "domain_mean_without_fpc")):
        strata = units(corrected=corrected)
        over = [one.values > 4 for one in strata]
        meets(domain_mean(strata, over), design["fpc"][key])
    over = [one.values > 4 for one in units()]
    meets(domain_total(units(), over), design["fpc"]["domain_total"])


def test_schools_within_districts(design, districts, meets, close):
    printed = design["two_stage"]
    mean = two_stage_mean(districts, 757)
    meets(mean, printed["mean"])
    assert mean.df == printed["df"]
    replaced = two_stage_mean(districts, 757, replaced=True)
    assert close(replaced.se, printed["with_replacement_se"])
    meets(two_stage_total(districts, 757), printed["total"])


@pytest.mark.parametrize("policy", ["grand_mean", "average", "nothing"])
def test_a_stratum_of_one_unit_by_policy(design, units, close, policy):
    first, second = units()
    cut = [first, Stratum(second.name, second.units, second.values[:1])]
    found = stratified_mean(cut, single=policy)
    assert close(found.value, design["single_unit"]["mean"])
    assert close(found.se, design["single_unit"]["se"][policy])


def test_a_stratum_of_one_unit_is_refused_by_name(units):
    first, second = units()
    cut = [first, Stratum("pool", second.units, second.values[:1])]
    with pytest.raises(SurveyError, match=r"\['pool'\] have one unit"):
        stratified_mean(cut)


def test_satterthwaites_degrees_of_freedom(design, schools, soil, meets, close):
    printed = design["satterthwaite"]
    for name, key in (("api00", "api00_df"), ("enroll", "enroll_df")):
        assert close(stratified_df(schools(name, exact=True)), printed[key])
    assert close(stratified_df(soil()), printed["soil_df"])
    meets(stratified_mean(schools("enroll", exact=True)), printed["enroll_mean"])
    df = stratified_df(schools("api00", exact=True))
    assert close(Estimate(0.0, 1.0, df).interval(0.95)[1], printed["api00_t"])
    for strata, ends in ((schools("api00", exact=True), "api00_interval_95"),
                         (soil(), "soil_interval_95")):
        mean = stratified_mean(strata)
        found = Estimate(mean.value, mean.variance, stratified_df(strata)).interval(0.95)
        assert all(close(a, b) for a, b in zip(found, printed[ends], strict=True))


def test_allocations(design, close):
    printed = design["allocation"]
    n, total = printed["units"], printed["total"]

    def v(sds, counts):
        return allocation.variance_of_mean(n, printed[sds], counts)

    shared = allocation.proportional(n, total)
    assert all(close(a, b) for a, b in zip(shared, printed["proportional"], strict=True))
    for sds, exact, whole, v_exact, v_shared in (
            ("sds_api00", "neyman", "whole", "v_neyman", "v_proportional"),
            ("sds_enroll", "neyman_enroll", "whole_enroll", "v_neyman_enroll",
             "v_proportional_enroll")):
        best = allocation.neyman(n, printed[sds], total)
        assert all(close(a, b) for a, b in zip(best, printed[exact], strict=True))
        assert allocation.neyman_whole(n, printed[sds], total) == printed[whole]
        assert close(v(sds, best), printed[v_exact])
        assert close(v(sds, shared), printed[v_shared])
    assert close(v("sds_api00", printed["whole"]), printed["v_whole"])


def test_allocations_over_soil_strata_and_what_an_error_costs(design, close):
    printed = design["allocation_soil"]
    n, sds, total = printed["units"], printed["sds"], printed["total"]
    best = allocation.neyman(n, sds, total)
    assert all(close(a, b) for a, b in zip(best, printed["neyman"], strict=True))
    assert allocation.neyman_whole(n, sds, total) == printed["whole"]
    assert close(allocation.variance_of_mean(n, sds, best), printed["v_neyman"])
    shared = allocation.proportional(n, total)
    assert close(allocation.variance_of_mean(n, sds, shared), printed["v_proportional"])
    for part, key in ((0.10, "units_for_10_pct"), (0.05, "units_for_5_pct")):
        for how, wanted in zip((True, False), printed[key], strict=True):
            found = sample_size.stratified_units_for_error(
                n, sds, part * printed["mean"], level=0.95, neyman=how)
            assert close(found, wanted)


def test_sample_sizes(design, close):
    for cv, error, level, n, by_z, whole_z, whole_t in design["sample_size"]["cases"]:
        n = n or math.inf
        found = sample_size.units_for_error(cv, error, level=level, units=n)
        assert close(found, by_z)
        assert math.ceil(found) == whole_z
        assert sample_size.whole_units_for_error(cv, error, level=level, units=n) == whole_t
