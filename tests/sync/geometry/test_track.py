import itertools
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.block import Grid
from sync.geometry.crs import projection
from sync.geometry.gpx import read_gpx
from sync.geometry.grid import cell_name
from sync.geometry.track import Fix, fixes_by_cell, length_m, position_at
from sync.intake.fixes import ms_of

START = datetime(2026, 1, 22, 1, 0, tzinfo=UTC)


def at(seconds):
    return START + timedelta(seconds=seconds)


TRACK = (Fix(at(0), -42.0, 170.0, 5.0), Fix(at(60), -42.1, 170.2, 8.0),
         Fix(at(400), -42.2, 170.2, None), Fix(at(460), -42.3, 170.2, 4.0))


@pytest.fixture(scope="module")
def walk(published_file):
    return [s for track in read_gpx(published_file("cerknicko-jezero.gpx")).tracks for s in track]


def test_the_length_of_a_real_walk_is_as_published(published, walk):
    printed = published["cerknicko"]["length_m"]

    assert sum(map(length_m, walk)) == pytest.approx(float(printed), abs=0.5e-4)


def test_a_real_walk_visits_the_cells_published(published, walk):
    case = published["cerknicko"]
    grid = Grid(440000.0, 5060000.0, 100.0)
    counts = fixes_by_cell(grid, projection(32633), [fix for segment in walk for fix in segment])

    assert len(counts) == case["occupied"]
    assert sum(counts.values()) == case["points"]
    for i, j, fixes in case["fullest"]:
        assert counts[cell_name(i - 4400, j - 50600)] == fixes
    assert sorted(counts.values(), reverse=True)[:5] == [25, 21, 21, 16, 14]


def test_its_largest_gap_is_not_bridged(published, walk, seen_track):
    fixes = [fix for segment in walk for fix in segment]
    gap_s, after = max(((b.at - a.at).total_seconds(), i)
                       for i, (a, b) in enumerate(itertools.pairwise(fixes)))
    middle = fixes[after].at + timedelta(seconds=gap_s / 2)

    assert gap_s == published["cerknicko"]["largest_gap_s"]
    assert position_at(seen_track(fixes), ms_of(middle), worst_gap_s=120.0) is None
    assert position_at(seen_track(fixes), ms_of(middle), worst_gap_s=gap_s) is not None


def test_fixes_off_the_grid_are_in_no_cell(nztm):
    grid = Grid(1329400.0, 5249300.0, 100.0)

    assert fixes_by_cell(grid, nztm, [Fix(START, 60.0, 5.0), Fix(START, -89.0, 0.0)]) == {}
    assert fixes_by_cell(grid, nztm, []) == {}


def test_a_person_is_on_the_line_between_the_fixes_about_the_instant(seen_track):
    lat, lon, acc_m = position_at(seen_track(TRACK), ms_of(at(15)), worst_gap_s=120.0)

    assert (lat, lon) == pytest.approx((-42.025, 170.05))
    assert acc_m == 8.0


def test_the_instant_of_a_fix_gives_the_fix_even_at_the_end_of_a_track(seen_track):
    assert position_at(seen_track(TRACK), ms_of(at(460)), worst_gap_s=1.0) == (-42.3, 170.2, 4.0)
    assert position_at(seen_track(TRACK), ms_of(at(60)), worst_gap_s=1.0) == (-42.1, 170.2, 8.0)


@pytest.mark.parametrize("seconds", [-1, 461, 61, 230, 399])
def test_nothing_is_guessed_outside_a_track_or_over_a_long_gap(seconds, seen_track):
    assert position_at(seen_track(TRACK), ms_of(at(seconds)), worst_gap_s=120.0) is None


def test_an_accuracy_that_one_fix_does_not_state_is_not_made_up(seen_track):
    assert position_at(seen_track(TRACK), ms_of(at(430)), worst_gap_s=120.0)[2] is None


def test_no_fix_is_no_place_and_no_length(seen_track):
    assert position_at(seen_track(()), ms_of(START), worst_gap_s=120.0) is None
    assert length_m(()) == 0.0
    assert length_m(TRACK[:1]) == 0.0


def test_a_walk_over_the_date_line_does_not_go_round_the_world(seen_track):
    over = (Fix(at(0), 0.0, 179.9), Fix(at(60), 0.0, -179.9))

    lon = position_at(seen_track(over), ms_of(at(30)), worst_gap_s=120.0)[1]

    assert abs(lon) == pytest.approx(180.0)
    assert length_m(over) < 23000.0


@given(st.floats(0, 60))
def test_the_place_moves_evenly_between_two_fixes(seen_track, seconds):
    lat, lon, _ = position_at(seen_track(TRACK), ms_of(at(seconds)), worst_gap_s=120.0)

    assert lat == pytest.approx(-42.0 - 0.1 * seconds / 60, abs=1e-8)
    assert lon == pytest.approx(170.0 + 0.2 * seconds / 60, abs=1e-8)
