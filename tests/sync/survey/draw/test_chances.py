"""Chances by size add up to what is drawn, and nobody gets more than one."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import SurveyError
from sync.survey.draw.chances import chances_by_size


def test_chances_are_in_proportion_to_size():
    assert chances_by_size([1.0, 2.0, 3.0, 4.0], 2) == pytest.approx([0.2, 0.4, 0.6, 0.8])


def test_who_would_get_more_than_one_is_sure_and_the_others_share_the_rest():
    # 3 × 10/16 > 1: sure; then 2 × 3/6 = 1: sure too; the last comes from 1, 1, 1.
    assert chances_by_size([10.0, 3.0, 1.0, 1.0, 1.0], 3) == pytest.approx(
        [1.0, 1.0, 1 / 3, 1 / 3, 1 / 3])


@given(st.lists(st.floats(1e-3, 1e3), min_size=1, max_size=30), st.data())
def test_they_add_up_to_the_count_and_keep_the_order_of_sizes(sizes, data):
    count = data.draw(st.integers(0, len(sizes)))
    chances = chances_by_size(sizes, count)
    assert sum(chances) == pytest.approx(count, abs=1e-9)
    assert all(0.0 <= one <= 1.0 for one in chances)
    ordered = [chance for _, chance in sorted(zip(sizes, chances, strict=True))]
    assert all(a <= b + 1e-12 for a, b in itertools.pairwise(ordered))
    assert count == 0 or min(chances) > 0.0


@pytest.mark.parametrize(("sizes", "count"), [([1.0, 0.0], 1), ([1.0], 2), ([1.0], -1),
                                              ([float("nan")], 1), ([float("inf")], 1)])
def test_what_cannot_be_drawn_is_refused(sizes, count):
    with pytest.raises(SurveyError, match="sizes"):
        chances_by_size(sizes, count)
