import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.settings import Tunables
from sync.survey.cells import CellSample, class_unsurveyed, own_index, predict_class

TUNABLES = Tunables()
INDEX = st.floats(0.0, 400.0)
SAMPLES = st.lists(
    st.tuples(st.lists(INDEX, max_size=4), st.lists(INDEX, max_size=2)), min_size=1, max_size=8
).map(lambda cells: [
    CellSample(f"c{row}", tuple(drawn), tuple(eye)) for row, (drawn, eye) in enumerate(cells)])


def predict(quadrats, **changes):
    samples = [CellSample(f"c{row}", tuple(map(float, one)))
               for row, one in enumerate(quadrats, start=1)]
    return predict_class(samples, tunables=dataclasses.replace(TUNABLES, **changes))


@pytest.fixture
def balanced(published):
    return predict(published["cells"]["quadrats"])


def test_balanced_cells_agree_with_the_reference_run(published, agrees, balanced):
    printed = published["cells"]["balanced"]

    assert balanced.cells == tuple(published["cells"]["names"])
    assert agrees(balanced.within_variance, printed["within"])
    assert agrees(balanced.within_variance / 2, printed["psi"])
    assert agrees(balanced.reml_variance, printed["reml"])
    assert agrees(balanced.between_variance, printed["between"])
    assert all(agrees(weight, printed["weight"]) for weight in balanced.weight[:4])
    assert not balanced.weight[4:].any()
    assert agrees(balanced.mean_l_m2, printed["mean"])
    assert agrees(balanced.mean_variance, printed["mean_variance"])
    assert all(map(agrees, balanced.index_l_m2, printed["index"]))
    assert (balanced.surveyed, balanced.df) == (4, 7.0)


def test_errors_of_balanced_cells_agree_with_the_reference_run(published, agrees, balanced):
    printed = published["cells"]["balanced"]
    error, lent = balanced.error, 1.0 - balanced.weight[0]

    two_g3 = error[0, 0] - balanced.between_variance * lent - balanced.mean_variance * lent**2
    assert agrees(two_g3, printed["two_g3"])
    assert agrees(error[0, 0], printed["m11"])
    assert agrees(error[0, 1], printed["m12"])
    assert agrees(error[0, 4], printed["m15"])
    assert agrees(error[4, 4], printed["m55"])
    assert agrees(error[4, 5], printed["m56"])
    assert agrees(math.sqrt(error[0, 0]), printed["sd_surveyed"])
    assert agrees(math.sqrt(error[4, 4]), printed["sd_unsurveyed"])
    assert agrees(math.sqrt(balanced.mean_variance), printed["se_class_mean_alone"])


def test_cells_with_fewer_quadrats_agree_with_the_reference_run(published, agrees):
    printed = published["cells"]["unbalanced"]
    quadrats = list(published["cells"]["quadrats"])
    quadrats[3] = printed["c4"]
    got = predict(quadrats)

    assert agrees(got.within_variance, printed["within"])
    assert agrees(got.within_variance / 2, printed["psi_two"])
    assert agrees(got.within_variance, printed["psi_one"])
    assert agrees(got.reml_variance, printed["reml"])
    assert agrees(got.between_variance, printed["between"])
    assert agrees(got.mean_l_m2, printed["mean"])
    assert all(map(agrees, got.index_l_m2, printed["index"]))


def test_cells_all_alike_still_keep_a_variance_between_them(published, agrees):
    printed = published["cells"]["boundary"]
    got = predict(printed["quadrats"])

    assert agrees(got.reml_variance, printed["reml"])
    assert agrees(got.between_variance, printed["between"])
    assert agrees(math.sqrt(got.error[4, 4]), printed["sd_unsurveyed"])


def test_one_surveyed_cell_leaves_the_prior_and_four_degrees_of_freedom():
    got = predict([[80, 40], []])

    assert got.between_variance == pytest.approx((0.6 * 60) ** 2)
    assert got.within_variance == pytest.approx((4 * (0.6 * 60) ** 2 + 800) / 5)
    assert got.mean_variance == pytest.approx(got.between_variance + got.within_variance / 2)
    assert (got.surveyed, got.df) == (1, 4.0)


def test_a_class_without_a_drawn_quadrat_has_no_figure():
    assert predict([[], []]) is None
    assert predict_class([CellSample("c1", (), (50.0, 60.0))], tunables=TUNABLES) is None
    assert predict_class([], tunables=TUNABLES) is None


def test_no_moss_anywhere_is_an_index_of_zero_not_a_missing_one():
    got = predict([[0, 0], [0], []])

    assert got.index_l_m2.tolist() == [0.0, 0.0, 0.0]
    # One second quadrat: two thirds of the way from 4/5 of the prior to the prior itself.
    assert got.between_variance == pytest.approx(0.36 * (4 / 5 / 3 + 2 / 3))
    assert np.all(np.diag(got.error) > 0.0)


# While hardly a cell has a second quadrat


def test_single_quadrats_part_what_they_show_as_the_priors_do():
    values = [[5.0], [20.0], [90.0], [160.0]]
    got = predict(values)

    level = np.mean(values)
    seen = np.var(values, ddof=1)
    together = (4 * 0.72 * level**2 + 3 * seen) / 7
    assert together > 0.72 * level**2
    assert got.within_variance == pytest.approx(together / 2)
    assert got.between_variance == pytest.approx(together / 2)


def test_single_quadrats_alike_are_not_believed_to_differ_less_than_is_assumed():
    got = predict([[50.0], [51.0], [49.0], [50.0]])
    assert got.within_variance == pytest.approx((0.6 * 50.0) ** 2)
    assert got.between_variance == pytest.approx((0.6 * 50.0) ** 2)


def test_with_three_second_quadrats_a_class_tells_its_own_spread():
    by_itself = predict([[50.0, 90.0], [20.0, 30.0], [70.0, 60.0], [40.0]])
    level = np.mean([70.0, 25.0, 65.0, 40.0])
    squares = 800.0 + 50.0 + 50.0
    assert by_itself.within_variance == pytest.approx((4 * 0.36 * level**2 + squares) / 7)


# Quadrats laid by eye


def with_eye(drawn, by_eye):
    cells = [CellSample(f"d{row}", tuple(one)) for row, one in enumerate(drawn)]
    return predict_class([*cells, CellSample("eye", (), by_eye)], tunables=TUNABLES)


def test_a_cell_seen_by_eye_leans_harder_on_its_class_and_changes_nothing_else():
    drawn = [(82.0, 118.0), (22.0, 52.0), (128.0, 84.0)]
    plain = with_eye(drawn, ())
    got = with_eye(drawn, (100.0, 140.0))

    psi = got.within_variance / 2 + (0.25 * 120.0) ** 2
    weight = got.between_variance / (got.between_variance + psi)
    assert got.weight[3] == pytest.approx(weight)
    assert got.weight[3] < got.weight[0]
    assert got.index_l_m2[3] == pytest.approx(weight * 120.0 + (1 - weight) * got.mean_l_m2)
    assert got.surveyed == plain.surveyed == 3
    assert np.array_equal(got.index_l_m2[:3], plain.index_l_m2[:3])
    assert np.array_equal(got.error[:3, :3], plain.error[:3, :3])


def test_no_number_of_by_eye_quadrats_takes_away_their_bias():
    drawn = [(82.0, 118.0), (22.0, 52.0), (128.0, 84.0)]
    got = with_eye(drawn, (100.0,) * 10_000)

    bound = got.between_variance / (got.between_variance + (0.25 * 100.0) ** 2)
    assert got.weight[3] == pytest.approx(bound, abs=1e-3)


def test_drawn_quadrats_silence_the_by_eye_ones_of_their_cell():
    drawn = CellSample("c1", (82.0, 118.0))
    both = CellSample("c1", (82.0, 118.0), (300.0,))

    one = predict_class([drawn, CellSample("c2")], tunables=TUNABLES)
    other = predict_class([both, CellSample("c2")], tunables=TUNABLES)

    assert np.array_equal(one.index_l_m2, other.index_l_m2)


def test_five_cells_with_both_kinds_mend_the_by_eye_mean_first():
    both = [CellSample(f"c{row}", (40.0 + row,), (80.0 + 2 * row,)) for row in range(5)]
    got = predict_class([*both, CellSample("eye", (), (90.0,))], tunables=TUNABLES)

    assert (got.by_eye.ratio, got.by_eye.cv) == (pytest.approx(0.5), 0.10)
    psi = got.within_variance + (0.10 * 45.0) ** 2
    weight = got.between_variance / (got.between_variance + psi)
    assert got.index_l_m2[5] == pytest.approx(weight * 45.0 + (1 - weight) * got.mean_l_m2)
    assert own_index(got, 90.0, 1, by_eye=True).index_l_m2 == pytest.approx(got.index_l_m2[5])


# A cell from some of its quadrats


def test_a_cells_own_index_from_all_its_quadrats_is_its_prediction(balanced):
    own = own_index(balanced, 100.0, 2)

    assert own.index_l_m2 == pytest.approx(balanced.index_l_m2[0], rel=1e-12)
    assert own.error == pytest.approx(balanced.error[0, 0], rel=1e-12)
    assert own.weight == pytest.approx(balanced.weight[0], rel=1e-12)


def test_a_cells_own_index_from_no_quadrat_is_the_unsurveyed_cell(balanced):
    assert own_index(balanced, 0.0, 0) == class_unsurveyed(balanced)
    assert dataclasses.astuple(class_unsurveyed(balanced)) == pytest.approx(
        (balanced.index_l_m2[4], balanced.error[4, 4], 0.0))


def test_fewer_quadrats_lean_more_on_the_class_and_are_known_worse(balanced):
    one, two = own_index(balanced, 100.0, 1), own_index(balanced, 100.0, 2)

    assert balanced.mean_l_m2 < one.index_l_m2 < two.index_l_m2 < 100.0
    assert two.error < one.error


# What always holds


@given(SAMPLES)
def test_a_cell_lies_between_its_own_mean_and_that_of_its_class(samples):
    got = predict_class(samples, tunables=TUNABLES)
    if got is None:
        return

    for sample, index in zip(samples, got.index_l_m2, strict=True):
        if sample.drawn_l_m2:
            own = float(np.mean(sample.drawn_l_m2))
        elif sample.by_eye_l_m2:
            own = got.by_eye.ratio * float(np.mean(sample.by_eye_l_m2))
        else:
            own = got.mean_l_m2
        assert min(own, got.mean_l_m2) - 1e-9 <= index <= max(own, got.mean_l_m2) + 1e-9


@given(SAMPLES)
def test_errors_are_a_covariance_and_no_variance_is_zero(samples):
    got = predict_class(samples, tunables=TUNABLES)
    if got is None:
        return

    assert np.array_equal(got.error, got.error.T)
    assert np.linalg.eigvalsh(got.error).min() >= -1e-9 * got.error.max()
    assert np.diag(got.error).min() > 0.0
    assert min(got.between_variance, got.within_variance) > 0.0
    assert np.all((got.weight >= 0.0) & (got.weight < 1.0))


@given(SAMPLES, st.randoms(use_true_random=False))
def test_the_order_of_cells_does_not_matter(samples, random):
    order = list(range(len(samples)))
    random.shuffle(order)
    one = predict_class(samples, tunables=TUNABLES)
    other = predict_class([samples[row] for row in order], tunables=TUNABLES)
    if one is None:
        assert other is None
        return

    assert other.cells == tuple(one.cells[row] for row in order)
    assert other.index_l_m2 == pytest.approx(one.index_l_m2[order], rel=1e-6, abs=1e-9)
    assert other.error == pytest.approx(one.error[np.ix_(order, order)], rel=1e-6, abs=1e-9)


@given(SAMPLES, st.floats(1.0, 10.0))
def test_deeper_moss_scales_the_index_and_its_errors(samples, factor):
    deeper = [
        CellSample(one.cell, tuple(factor * x for x in one.drawn_l_m2),
                   tuple(factor * x for x in one.by_eye_l_m2)) for one in samples]
    one = predict_class(samples, tunables=dataclasses.replace(TUNABLES, index_floor_l_m2=1.0))
    other = predict_class(
        deeper, tunables=dataclasses.replace(TUNABLES, index_floor_l_m2=factor))
    if one is None:
        return

    assert other.index_l_m2 == pytest.approx(factor * one.index_l_m2, rel=1e-6, abs=1e-9)
    assert other.error == pytest.approx(factor**2 * one.error, rel=1e-6, abs=1e-9)


@given(SAMPLES)
def test_the_prediction_of_one_cell_is_that_of_the_class(samples):
    got = predict_class(samples, tunables=TUNABLES)
    if got is None:
        return

    for row, sample in enumerate(samples):
        values = sample.drawn_l_m2 or sample.by_eye_l_m2
        own = own_index(
            got, float(np.mean(values)) if values else 0.0, len(values),
            by_eye=not sample.drawn_l_m2)
        assert own.index_l_m2 == pytest.approx(got.index_l_m2[row], rel=1e-9, abs=1e-12)
        assert own.error == pytest.approx(got.error[row, row], rel=1e-9)
