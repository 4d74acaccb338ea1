"""Walking orders: short, one cell one person's day, the work evenly shared."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.geometry.ways import straight_between
from sync.plan.plots.rounds import (
    Pace,
    Round,
    round_length_m,
    share_out,
    short_round,
    to_surveyors,
)

PACE = Pace(a_metre=0.04, a_plot=6.0)


def places(count, seed):
    rng = np.random.default_rng(seed)
    return [(0.0, 0.0), *map(tuple, rng.random((count, 2)) * 1000)]


@pytest.mark.parametrize("seed", range(12))
def test_a_round_of_seven_is_near_the_shortest_there_is(seed):
    length_m = straight_between(places(7, seed))
    best = min(round_length_m(length_m, order)
               for order in itertools.permutations(range(1, 8)))
    assert round_length_m(length_m, short_round(length_m, range(1, 8))) <= 1.06 * best


def test_no_two_legs_of_a_round_cross():
    at = places(40, 2)
    order = [0, *short_round(straight_between(at), range(1, 41)), 0]
    legs = list(itertools.pairwise(order))

    def left(a, b, c):
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) > 0

    for (a, b), (c, d) in itertools.combinations(legs, 2):
        if len({a, b, c, d}) == 4:
            p, q, r, s = at[a], at[b], at[c], at[d]
            assert not (left(p, q, r) != left(p, q, s) and left(r, s, p) != left(r, s, q))


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 14), st.integers(1, 6), st.integers(0, 50))
def test_each_plot_is_walked_once_and_a_cell_by_one_person(cells, rounds, seed):
    of_cells = [[3 * i + 1, 3 * i + 2, 3 * i + 3] for i in range(cells)]
    length_m = straight_between(places(3 * cells, seed))
    walked = share_out(length_m, of_cells, rounds, PACE)
    assert 1 <= len(walked) <= rounds
    assert sorted(s for one in walked for s in one.stops) == list(range(1, 3 * cells + 1))
    for cell in of_cells:
        assert sum(bool(set(cell) & set(one.stops)) for one in walked) == 1
    for one in walked:
        assert one.length_m == pytest.approx(round_length_m(length_m, one.stops))
        assert one.minutes == pytest.approx(0.04 * one.length_m + 6 * len(one.stops))


def test_days_are_about_as_long():
    of_cells = [[2 * i + 1, 2 * i + 2] for i in range(48)]
    walked = share_out(straight_between(places(96, 1)), of_cells, 4, PACE)
    minutes = [one.minutes for one in walked]
    assert len(minutes) == 4
    assert max(minutes) < 1.25 * min(minutes)


def test_surveyors_have_about_the_same_and_no_more_than_their_days():
    rounds = [Round((i,), 0.0, m) for i, m in enumerate((100.0, 90.0, 80.0, 70.0, 60.0))]
    shares = to_surveyors(rounds, 2, 3)
    one, other = (sum(r.minutes for r in share) for share in shares)
    assert one + other == 400.0
    assert abs(one - other) <= 60.0
    assert max(len(share) for share in shares) <= 3
    assert [len(s) for s in to_surveyors(rounds[:2], 3, 1)] == [1, 1, 0]


def test_nothing_to_walk_is_no_round():
    assert share_out(np.zeros((1, 1)), [], 3, PACE) == []
