"""The spread sample: each unit by its own chance, and spread over the ground."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.errors import SurveyError
from sync.survey.draw.pivotal import spread_sample

GRID = [(float(x), float(y)) for x in range(6) for y in range(6)]


def stream(seed=3):
    return np.random.default_rng(seed).random


def test_each_unit_is_drawn_with_its_own_chance():
    chances = [0.1 + 0.8 * i / 35 for i in range(36)]
    chances[0] += 18.0 - sum(chances)
    uniform, often, draws = stream(), np.zeros(36), 6000
    for _ in range(draws):
        often[spread_sample(chances, GRID, uniform)] += 1
    error = np.sqrt(np.array(chances) * (1 - np.array(chances)) / draws)

    assert np.all(np.abs(often / draws - chances) < 4.0 * error)


def test_neighbours_are_seldom_drawn_together():
    uniform, both, draws = stream(), 0, 2000
    for _ in range(draws):
        drawn = set(spread_sample([0.25] * 36, GRID, uniform))
        both += sum(a + 6 in drawn for a in drawn)
    # 30 pairs side by side, each both drawn with (9 · 8)/(36 · 35) if places played no part.
    assert both / draws < 0.5 * 30 * 72 / 1260


@given(st.lists(st.floats(0.0, 1.0), max_size=20), st.integers(0, 99))
@settings(max_examples=200)
def test_the_sample_has_as_many_units_as_the_chances_add_up_to(chances, seed):
    drawn = spread_sample(chances, GRID[:len(chances)], stream(seed))
    assert abs(len(drawn) - sum(chances)) < 1.0 + 1e-6
    assert {i for i, one in enumerate(chances) if one == 1.0} <= set(drawn)
    assert not {i for i, one in enumerate(chances) if one == 0.0} & set(drawn)


def test_units_in_one_place_are_drawn_all_the_same():
    assert len(spread_sample([0.5] * 8, [(1.0, 1.0)] * 8, stream())) == 4


def test_a_chance_that_is_none_is_refused():
    with pytest.raises(SurveyError, match=r"1\.5"):
        spread_sample([1.5], [(0.0, 0.0)], stream())
    with pytest.raises(SurveyError, match="for each place"):
        spread_sample([0.5], [], stream())


def test_the_mean_of_a_slope_is_surer_than_by_plain_chance():
    heights = np.array([3.0 * x + 2.0 * y for x, y in GRID])
    uniform, rng = stream(), np.random.default_rng(4)
    spread = [heights[spread_sample([0.25] * 36, GRID, uniform)].mean() for _ in range(800)]
    plain = [heights[rng.choice(36, 9, replace=False)].mean() for _ in range(800)]
    assert abs(np.mean(spread) - heights.mean()) < 4.0 * np.std(spread) / np.sqrt(800)
    assert np.var(plain) > 1.3 * np.var(spread)
