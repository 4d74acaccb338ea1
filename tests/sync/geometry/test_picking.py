from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.geometry.picking import picking_seconds, shares_of_time
from sync.geometry.track import Fix

START = datetime(2026, 1, 22, 1, 0, tzinfo=UTC)
LIMITS = {"worst_m": 25.0, "fastest_m_s": 0.5, "longest_s": 60.0}
#: The west sides of C07 and D07, and their middle row, in metres from the grid's origin.
C, D, ROW = 200.0, 300.0, 650.0


def at(seconds):
    return START + timedelta(seconds=seconds)


@pytest.fixture(scope="module")
def track(grid, nztm):
    """Fixes from (seconds, metres east, metres north, accuracy)."""
    def make(*places):
        fixes = []
        for seconds, x, y, acc_m in places:
            lat, lon = nztm.to_deg(grid.origin_e + x, grid.origin_n + y)
            fixes.append(Fix(at(seconds), float(lat), float(lon), acc_m))
        return fixes

    return make


@pytest.fixture(scope="module")
def walk(published, track):
    """24 min picking in C07, 6 min walking at 0.6 m/s back and forth in C07, 10 min in D07."""
    minutes = published["picking"]["minutes"]
    places, second = [], 0
    for i in range(minutes["C07"] * 2):
        places.append((second, C + 20.0 + 0.5 * i, ROW, 5.0))
        second += 30
    for i in range(minutes["walking"] * 2):
        places.append((second, C + 44.0 + 18.0 * (i % 2), ROW, 5.0))
        second += 30
    # The last stretch of the walk goes over to D07, at 0.6 m/s or more.
    for i in range(minutes["D07"] * 2):
        places.append((second, D + 5.0 + 0.5 * i, ROW, 5.0))
        second += 30
    return track(*places), at(second)


def test_a_bag_is_shared_by_the_picking_time_since_the_bag_before(published, grid, nztm, walk):
    case = published["picking"]
    fixes, press = walk
    seconds = picking_seconds(grid, nztm, fixes, until=press, **LIMITS)
    shares = shares_of_time(seconds)

    assert seconds == {"C07": 60.0 * case["minutes"]["C07"], "D07": 60.0 * case["minutes"]["D07"]}
    for cell, printed in case["share"].items():
        assert shares[cell] == pytest.approx(float(printed), abs=0.5e-6)
        assert case["kg_per_bag"] * shares[cell] == pytest.approx(
            float(case["kg"][cell]), abs=0.5e-6)


def test_walking_that_counted_would_give_other_shares(grid, nztm, walk):
    fixes, press = walk
    seconds = picking_seconds(
        grid, nztm, fixes, until=press, **{**LIMITS, "fastest_m_s": 10.0})

    assert seconds == {"C07": 1800.0, "D07": 600.0}


def test_a_gap_is_nobodys_time(grid, nztm, track):
    fixes = track((0, C + 10, ROW, 5.0), (600, C + 12, ROW, 5.0), (620, D + 2, ROW, 5.0))

    seconds = picking_seconds(
        grid, nztm, fixes[:2], until=at(2000), **LIMITS)

    assert seconds == {"C07": 120.0}
    # From 600 s to 620 s the fix goes 90 m: walking, though it began in C07.
    assert picking_seconds(grid, nztm, fixes, until=at(650), **LIMITS) == {
        "C07": 60.0, "D07": 30.0}


def test_a_bad_fix_is_left_out_and_one_that_states_nothing_is_not(grid, nztm, track):
    fixes = track((0, C + 10, ROW, None), (20, D + 10, ROW, 40.0), (40, C + 11, ROW, 25.0))

    assert picking_seconds(grid, nztm, fixes, until=at(50), **LIMITS) == {"C07": 50.0}


def test_fixes_of_after_the_press_say_nothing_of_it(grid, nztm, track):
    fixes = track((0, C + 10, ROW, 5.0), (50, D + 10, ROW, 5.0))

    assert picking_seconds(grid, nztm, fixes, until=at(50), **LIMITS) == {"C07": 50.0}


def test_time_off_the_grid_counts_against_the_cells(grid, nztm, track):
    fixes = track((0, C + 10, ROW, 5.0), (45, C + 11, ROW, 5.0), (60, -40.0, ROW, 5.0))
    seconds = picking_seconds(grid, nztm, fixes, until=at(105), **LIMITS)

    assert seconds == {"C07": 45.0, None: 45.0}
    assert shares_of_time(seconds) == {"C07": 0.5}


def test_without_a_good_fix_there_is_no_track(grid, nztm, track):
    bad = track((0, C + 10, ROW, 80.0))

    assert picking_seconds(grid, nztm, [], until=at(50), **LIMITS) == {}
    assert picking_seconds(grid, nztm, bad, until=at(50), **LIMITS) == {}
    assert shares_of_time({}) == {}


@given(st.lists(st.tuples(st.integers(1, 90), st.floats(150.0, 400.0)), max_size=12))
def test_no_more_time_is_shared_out_than_went_by(grid, nztm, track, steps):
    places, second = [], 0
    for lasts, x in steps:
        places.append((second, x, ROW, 5.0))
        second += lasts
    seconds = picking_seconds(grid, nztm, track(*places), until=at(second), **LIMITS)

    assert sum(seconds.values()) <= second
    assert sum(shares_of_time(seconds).values()) == pytest.approx(1.0 if seconds else 0.0)
