import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.survey.clip_cells import intraclass_correlation, share_between_cells


def pairs_of(groups):
    values = [value for group in groups for value in group]
    cells = [f"c{row}" for row, group in enumerate(groups) for _ in group]
    return values, cells


def test_five_cells_with_two_clips_teach_the_share_and_four_do_not():
    groups = [[1.0, 1.2], [5.0, 5.1], [-3.0, -2.0], [0.0, 0.4], [9.0, 8.0]]

    assert share_between_cells(*pairs_of(groups[:4]), assumed=0.5, df=4.0) == 0.5
    learned = intraclass_correlation(groups)
    assert share_between_cells(*pairs_of(groups), assumed=0.5, df=4.0) == pytest.approx(
        (4.0 * 0.5 + 4.0 * learned) / 8.0)


def test_clips_of_no_known_cell_and_lone_clips_say_nothing():
    groups = [[1.0, 1.2], [5.0, 5.1], [-3.0, -2.0], [0.0, 0.4], [9.0, 8.0]]
    values, cells = pairs_of(groups)

    more = share_between_cells(
        [*values, 100.0, 50.0, -70.0], [*cells, "lone", None, None], assumed=0.5, df=4.0)

    assert more == share_between_cells(values, cells, assumed=0.5, df=4.0)


def test_the_correlation_is_that_of_a_worked_one_way_table():
    # Means 1, 4, 7: MSB = 2·9 = 18, MSW = 6/3 = 2, so (18 − 2)/(18 + 2).
    assert intraclass_correlation([[0.0, 2.0], [3.0, 5.0], [6.0, 8.0]]) == pytest.approx(0.8)


def test_unequal_cells_use_the_corrected_size():
    # Means 1, 5: grand 13/5, MSB = 19.2, MSW = 8/3... n0 = 5 − 13/5 = 2.4.
    groups = [[0.0, 1.0, 2.0], [4.0, 6.0]]
    between = 3 * (1 - 2.6) ** 2 + 2 * (5 - 2.6) ** 2
    within = (2.0 + 2.0) / 3

    assert intraclass_correlation(groups) == pytest.approx(
        (between - within) / (between + 1.4 * within))


def test_cells_that_do_not_differ_have_no_share_and_equal_values_teach_nothing():
    assert intraclass_correlation([[0.0, 4.0], [1.0, 3.0]]) == 0.0
    assert intraclass_correlation([[2.0, 2.0], [2.0, 2.0]]) is None
    assert share_between_cells(*pairs_of([[2.0, 2.0]] * 5), assumed=0.5, df=4.0) == 0.5


@pytest.mark.parametrize(("true", "learned"), [(0.0, 0.22), (0.5, 0.47), (1.0, 0.84)])
def test_ten_cells_pull_the_share_towards_the_truth(true, learned):
    """Reference run of 4,000 draws, ten cells; here with two or three clips in turn."""
    rng = np.random.default_rng(7)
    shares = []
    for _ in range(1000):
        groups = [
            (math.sqrt(true) * rng.standard_normal()
             + math.sqrt(1.0 - true) * rng.standard_normal(2 + row % 2)).tolist()
            for row in range(10)]
        shares.append(share_between_cells(*pairs_of(groups), assumed=0.5, df=4.0))

    assert np.mean(shares) == pytest.approx(learned, abs=0.015)


@given(st.lists(st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=4), min_size=2, max_size=8))
def test_the_correlation_is_a_share(groups):
    share = intraclass_correlation(groups)

    assert share is None or 0.0 <= share <= 1.0
