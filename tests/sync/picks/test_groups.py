from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.picks.groups import (
    GroupShare,
    group_presses,
    group_variance,
    mean_share,
    track_share_variance,
)

NOON = datetime(2026, 2, 20, 12, tzinfo=UTC)
PRESSES = st.lists(
    st.tuples(
        st.integers(0, 3600).map(lambda s: NOON + timedelta(seconds=s)),
        st.floats(-100, 100),
        st.floats(-100, 100),
    ),
    max_size=12,
)


def _press(minutes, east):
    return NOON + timedelta(minutes=minutes), east, 0.0


def _group(presses):
    return group_presses(presses, minutes=10.0, metres=25.0)


def test_presses_near_the_first_are_one_group_to_the_very_edge():
    assert _group([_press(0, 0.0), _press(5, 25.0), _press(10, 0.0)]) == [0, 0, 0]


def test_a_late_press_begins_a_new_group():
    assert _group([_press(0, 0.0), _press(10.01, 0.0)]) == [0, 1]


def test_a_far_press_begins_a_new_group():
    assert _group([_press(0, 0.0), _press(1, 25.1)]) == [0, 1]


def test_a_chain_of_presses_is_measured_from_its_first():
    assert _group([_press(0, 0.0), _press(8, 20.0), _press(11, 20.0)]) == [0, 0, 1]


def test_coming_back_within_the_time_is_the_first_group_again():
    assert _group([_press(0, 0.0), _press(2, 30.0), _press(4, 1.0)]) == [0, 1, 0]


def test_no_press_is_no_group():
    assert _group([]) == []


@given(PRESSES, st.randoms(use_true_random=False))
def test_the_order_in_which_presses_are_known_plays_no_part(presses, random):
    order = list(range(len(presses)))
    random.shuffle(order)
    shuffled = _group([presses[i] for i in order])
    by_press = {(presses[i], g) for i, g in zip(order, shuffled, strict=True)}

    assert by_press == set(zip(presses, _group(presses), strict=True))


@given(PRESSES)
def test_every_press_is_near_the_first_of_its_group(presses):
    groups = _group(presses)
    for group in set(groups):
        members = sorted(p for p, g in zip(presses, groups, strict=True) if g == group)
        first = members[0]
        for at, e, n in members:
            assert at - first[0] <= timedelta(minutes=10)
            assert ((e - first[1]) ** 2 + (n - first[2]) ** 2) ** 0.5 <= 25.0 + 1e-9


def test_the_share_of_a_group_is_weighted_by_its_bags():
    assert mean_share([(3.0, 0.9), (1.0, 0.1)]) == pytest.approx(0.7)
    assert mean_share([]) == 0.0


def test_a_track_that_may_lie_to_either_side_is_unsure_by_the_difference():
    assert track_share_variance(east=0.5, west=0.9, north=0.7, south=0.7) == pytest.approx(0.04)


def test_a_group_surely_inside_has_no_error_of_place():
    assert group_variance(GroupShare(3.0, 1.0), 6.0) == 0.0
    assert group_variance(GroupShare(3.0, 1.0 + 1e-12), 6.0) == 0.0


def test_a_tracks_own_variance_is_used_where_it_is_known():
    assert group_variance(GroupShare(2.0, 0.5, 0.01), 6.0) == pytest.approx(144.0 * 0.01)
