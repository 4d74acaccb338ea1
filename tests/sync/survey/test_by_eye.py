import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.survey.by_eye import ByEye, by_eye_bias

PAIRS = [(50.0, 70.0), (40.0, 45.0), (80.0, 90.0), (20.0, 40.0), (60.0, 65.0)]


def test_five_cells_with_both_kinds_measure_the_bias():
    got = by_eye_bias(PAIRS, assumed_cv=0.25)

    # Ratio 250/310; residuals d − Re by hand.
    ratio = 250.0 / 310.0
    squares = sum((d - ratio * e) ** 2 for d, e in PAIRS)
    assert got.ratio == pytest.approx(ratio)
    assert got.cv == pytest.approx(max(0.10, math.sqrt(squares / 20.0) / 50.0))


def test_a_wildly_scattered_bias_is_known_no_better_than_its_scatter():
    pairs = [(10.0, 90.0), (90.0, 10.0), (50.0, 50.0), (5.0, 80.0), (80.0, 5.0)]
    ratio = 1.0
    squares = sum((d - ratio * e) ** 2 for d, e in pairs)

    assert by_eye_bias(pairs, assumed_cv=0.25) == ByEye(
        1.0, pytest.approx(math.sqrt(squares / 20.0) / 47.0))


def test_agreement_never_makes_it_surer_than_a_tenth():
    assert by_eye_bias([(50.0, 50.0)] * 9, assumed_cv=0.25) == ByEye(1.0, 0.10)


@pytest.mark.parametrize("pairs", [[], PAIRS[:4], [(0.0, 5.0)] * 5, [(5.0, 0.0)] * 5])
def test_without_enough_to_go_by_the_bias_stays_assumed(pairs):
    assert by_eye_bias(pairs, assumed_cv=0.25) == ByEye(1.0, 0.25)


@given(st.lists(st.tuples(st.floats(0.1, 300.0), st.floats(0.1, 300.0)), min_size=5, max_size=12),
       st.floats(0.1, 10.0))
def test_the_unit_does_not_matter(pairs, factor):
    one = by_eye_bias(pairs, assumed_cv=0.25)
    other = by_eye_bias([(factor * d, factor * e) for d, e in pairs], assumed_cv=0.25)

    assert (other.ratio, other.cv) == pytest.approx((one.ratio, one.cv), rel=1e-6)
