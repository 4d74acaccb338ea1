from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.geometry.ground import ground_on
from sync.geometry.picking import ground_track, moved_shares, spell_of, time_by_cell
from sync.geometry.track import Fix
from sync.intake.fixes import ms_of

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
def ground(nztm, block_of, feature, box):
    """A block of ten by ten squares."""
    return ground_on(block_of([feature(box(0, 0, 1000, 1000))]), nztm, date(2026, 1, 22))


@pytest.fixture(scope="module")
def spell(nztm, seen_track):
    """The picking fixes of a list of fixes until an instant."""
    def make(fixes, until, **limits):
        limits = {**LIMITS, **limits}
        track = ground_track(nztm, seen_track(fixes), worst_m=limits["worst_m"],
                             fastest_m_s=limits["fastest_m_s"])
        return spell_of(track, since_ms=float("-inf"), until_ms=ms_of(until),
                        longest_s=limits["longest_s"])

    return make


@pytest.fixture(scope="module")
def seconds(spell, ground):
    """Picking seconds by cell, and all of them."""
    def make(fixes, until, **limits):
        found = spell(fixes, until, **limits)
        whole = float(found.seconds.sum())
        by_cell = {cell: pytest.approx(share * whole)
                   for cell, share in time_by_cell(ground, found).items()}
        return by_cell, whole

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


def test_a_bag_is_shared_by_the_picking_time_since_the_bag_before(published, ground, spell, walk):
    case = published["picking"]
    found = spell(*walk)
    shares = time_by_cell(ground, found)

    assert found.seconds.sum() == 60.0 * (case["minutes"]["C07"] + case["minutes"]["D07"])
    for cell, printed in case["share"].items():
        assert shares[cell] == pytest.approx(float(printed), abs=0.5e-6)
        assert case["kg_per_bag"] * shares[cell] == pytest.approx(
            float(case["kg"][cell]), abs=0.5e-6)


def test_walking_that_counted_would_give_other_shares(seconds, walk):
    assert seconds(*walk, fastest_m_s=10.0) == ({"C07": 1800.0, "D07": 600.0}, 2400.0)


def test_a_gap_is_nobodys_time(seconds, track):
    fixes = track((0, C + 10, ROW, 5.0), (600, C + 12, ROW, 5.0), (620, D + 2, ROW, 5.0))

    assert seconds(fixes[:2], at(2000)) == ({"C07": 120.0}, 120.0)
    # From 600 s to 620 s the fix goes 90 m: walking, though it began in C07.
    assert seconds(fixes, at(650)) == ({"C07": 60.0, "D07": 30.0}, 90.0)


def test_a_bad_fix_is_left_out_and_one_that_states_nothing_is_not(seconds, track):
    fixes = track((0, C + 10, ROW, None), (20, D + 10, ROW, 40.0), (40, C + 11, ROW, 25.0))

    assert seconds(fixes, at(50)) == ({"C07": 50.0}, 50.0)


def test_fixes_of_after_the_press_say_nothing_of_it(seconds, track):
    fixes = track((0, C + 10, ROW, 5.0), (50, D + 10, ROW, 5.0))

    assert seconds(fixes, at(50)) == ({"C07": 50.0}, 50.0)


def test_time_off_the_block_counts_against_the_cells(seconds, track):
    fixes = track((0, C + 10, ROW, 5.0), (45, C + 11, ROW, 5.0), (60, -40.0, ROW, 5.0))

    assert seconds(fixes, at(105)) == ({"C07": 45.0}, 90.0)


def test_a_cells_square_beyond_the_outline_is_no_cells_ground(
        nztm, block_of, feature, box, spell, track):
    cut = ground_on(block_of([feature(box(0, 0, 250, 1000))]), nztm, date(2026, 1, 22))
    found = spell(track((0, C + 10, ROW, 5.0), (30, C + 11, ROW, 5.0), (60, C + 60, ROW, 5.0),
                        (90, C + 61, ROW, 5.0)), at(120))

    # Over the line it walks, from 30 s to 60 s; beyond it 60 s are nobody's.
    assert found.seconds.sum() == 90.0
    assert time_by_cell(cut, found) == {"C07": pytest.approx(1 / 3)}


def test_without_a_good_fix_there_is_no_track(spell, ground, track):
    bad = track((0, C + 10, ROW, 80.0))

    for fixes in ([], bad):
        found = spell(fixes, at(50))
        assert len(found) == 0
        assert time_by_cell(ground, found) == {}


def test_a_track_moved_by_its_error_loses_and_gains_cells(spell, ground, track):
    found = spell(track((0, D - 3, ROW, 5.0), (30, D - 2, ROW, 5.0)), at(60))

    assert time_by_cell(ground, found) == {"C07": 1.0}
    assert moved_shares(ground, found, 4.0) == {
        "C07": (0.0, 1.0, 1.0, 1.0), "D07": (1.0, 0.0, 0.0, 0.0)}


@given(st.lists(st.tuples(st.integers(1, 90), st.floats(150.0, 400.0)), max_size=12))
def test_no_more_time_is_shared_out_than_went_by(spell, ground, track, steps):
    places, second = [], 0
    for lasts, x in steps:
        places.append((second, x, ROW, 5.0))
        second += lasts
    found = spell(track(*places), at(second))

    assert found.seconds.sum() <= second
    assert sum(time_by_cell(ground, found).values()) == pytest.approx(1.0 if len(found) else 0.0)
