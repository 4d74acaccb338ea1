"""The map: what it shows of ground, own place, plots, marks and way, with a sheet and without."""

import math
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Geod
from shapely import Polygon

from fieldapp.capture.notes import Notes
from fieldapp.capture.outing import Outing
from fieldapp.capture.places import flat_m
from fieldapp.capture.track import Track
from fieldapp.capture.walk import Walk
from fieldapp.device.journal import Journal
from fieldapp.ground import sheet_of
from fieldapp.phone.ground_map import PhoneMap, bar_of
from fieldapp.phone.track_line import PIECE_POINTS
from fieldapp.record import Where

AT = (-42.86, 169.69)
M_PER_DEG = (111_100.0, 81_600.0)
ZONE = ZoneInfo("Pacific/Auckland")
#: 07:40 of 21 January 2026 at the block.
START = datetime(2026, 1, 20, 18, 40, tzinfo=UTC)


def box(west, south, east, north):
    return [[[[west, south], [east, south], [east, north], [west, north], [west, south]]]]


def cell(name, column, state="ready", **more):
    return {"cell": name, "shape": box(100 * column, 0, 100 * column + 100, 100),
            "ground_class": "lawn", "state": state, "why": "by the shed", "rest_ends": None,
            "then": None, "left_kg": 900, "left_bags": 130, **more}


def plot(name, x, y, **more):
    return {"plot": name, "cell": "A01", "at": [x, y], "when": "survey", "spare": False,
            "again": False, "ground_class": "lawn", **more}


def sheet(**changes):
    return sheet_of({
        "sheet": 1, "id": "0a1b2c3d", "block": {"id": "km7q2x4a", "name": "Kettle Mire"},
        "for": "p3", "made_at": "2026-01-20T05:00:00.000Z",
        "good_until": "2026-01-27T05:00:00.000Z", "zone": "Pacific/Auckland",
        "season_start": "07-01",
        "map": {"at": list(AT),
                "to_m": [[0, 0, M_PER_DEG[1], 0, 0, 0], [0, M_PER_DEG[0], 0, 0, 0, 0]],
                "to_deg": [[0, 0, 1 / M_PER_DEG[0], 0, 0, 0], [0, 1 / M_PER_DEG[1], 0, 0, 0, 0]]},
        "cell_m": 100, "outline": box(0, 0, 300, 100),
        "cells": [cell("A01", 0), cell("B01", 1, "resting", rest_ends="2026-01-22", then="ready"),
                  cell("C01", 2, "unsurveyed")],
        "closures": [], "pegs": [{"name": "peg 1", "at": [1, 2]}],
        "marks": [{"what": "pile", "name": "P3-006", "at": [50, 50], "bags": 5.5}],
        "permits": [], "people": [], "plots": [
            plot("030", 20, 20), plot("031", 40, 60), plot("032", 60, 60),
            plot("033", 80, 60, spare=True)],
        "probes": 3, "frame_m": 0.5, "check_in_min": 60, "declination_deg": 23.6, "gate": None,
        "bag_types": [{"type": "sack", "wet_kg": 88, "dry_kg": 6.8}], "label_from": 14,
        "held": [], **changes})


def at_m(x, y, *, acc_m=4.0, age_s=1.0):
    return Where(AT[0] + y / M_PER_DEG[0], AT[1] + x / M_PER_DEG[1], age_s, acc_m)


class Field:
    """A phone in the field on a real journal, with the map it shows."""

    def __init__(self, folder, *, ground):
        self.journal = Journal.open(folder / "journal.sqlite", device="p3-k7f2")
        self.outing = Outing(self.journal, sheet=ground)
        self.walk = None if ground is None else Walk(self.outing, ground)
        self.map = PhoneMap(self.outing, zone=ZONE, walk=self.walk)
        self.track = Track(self.outing)
        self.now = START
        self.where = at_m(150, 50)
        self.outing.start("MT", "surveyor", now=self.now, where=self.where, sheet=ground)

    def stand(self, x, y, **fix):
        self.where = at_m(x, y, **fix)

    def go(self, points, seconds=10):
        for x, y in points:
            self.now += timedelta(seconds=seconds)
            self.stand(x, y)
            self.track.add_fix(self.now, self.where)
        self.track.flush(self.now)

    def shown(self, step=1, **changes):
        return self.map.show(**{"now": self.now, "where": self.where, "step": step, **changes})


@pytest.fixture
def make_field(tmp_path):
    made = []

    def make(ground):
        made.append(Field(tmp_path, ground=ground))
        return made[-1]
    yield make
    for one in made:
        one.journal.close()


@pytest.fixture
def field(make_field):
    return make_field(sheet())


@pytest.fixture
def lost(make_field):
    """A phone that never got a sheet."""
    return make_field(None)


def test_cells_show_their_state_of_today_however_old_the_sheet(field):
    before = {one.name: one.band for one in field.shown().cells}
    field.now += timedelta(days=1)
    after = {one.name: one.band for one in field.shown().cells}

    assert before == {"A01": "ready", "B01": "resting", "C01": "unsurveyed"}
    assert after == {"A01": "ready", "B01": "ready", "C01": "unsurveyed"}


def test_cells_are_worked_out_once_a_day(field):
    first = field.shown()
    field.stand(30, 30)
    field.now += timedelta(hours=2)

    assert field.shown(step=2).cells is first.cells
    field.now += timedelta(days=1)
    assert field.shown().cells is not first.cells


def test_a_cell_is_cut_into_pieces_that_are_all_of_it(field):
    for one in field.shown().cells:
        assert sum(Polygon(piece).area for piece in one.pieces) == pytest.approx(100 * 100)


def test_a_name_stands_on_its_cell_though_the_middle_of_it_lies_outside(make_field):
    hook = [[[[0, 0], [90, 0], [90, 20], [20, 20], [20, 90], [0, 90], [0, 0]]]]
    made = make_field(sheet(cells=[cell("A01", 0, shape=hook)]))

    x, y = made.shown().cells[0].at
    assert (0 < x < 90 and 0 < y < 20) or (0 < x < 20 and 0 < y < 90)


def test_ground_closed_today_is_shown_though_its_cell_is_open(make_field):
    closures = [{"shape": box(10, 10, 40, 40), "from": "2026-01-01", "until": "2026-01-21",
                 "why": "nests"}]
    made = make_field(sheet(closures=closures))

    assert [one.box for one in made.shown().closed] == [(10, 10, 40, 40)]
    assert made.shown().cells[0].band == "ready"
    made.now += timedelta(days=1)
    assert made.shown().closed == ()


@pytest.mark.parametrize(("acc_m", "age_s", "how"), [
    (4, 1, "fresh"), (15, 30, "fresh"), (15.1, 1, "weak"), (4, 30.1, "stale"),
    (40, 60, "stale"), (None, 1, "fresh")])
def test_my_place_says_whether_it_can_be_believed(field, acc_m, age_s, how):
    field.stand(120, 40, acc_m=acc_m, age_s=age_s)
    me = field.shown().me

    assert (me.x, me.y) == (pytest.approx(120), pytest.approx(40))
    assert me.how == how
    assert me.acc_m == (15 if acc_m is None else acc_m)


def test_without_a_fix_the_last_place_stays_and_is_lost(field):
    assert field.shown(where=None).me is None
    field.stand(120, 40)
    before = field.shown()
    after = field.shown(where=None)

    assert after.me.how == "lost"
    assert (after.me.x, after.me.y) == (before.me.x, before.me.y)
    assert after.centre == before.centre


def test_the_first_two_steps_are_centred_on_me_and_the_third_shows_the_whole_block(field):
    field.stand(20, 90)
    near, wide, whole = (field.shown(step) for step in (0, 1, 2))

    assert near.centre == wide.centre == (near.me.x, near.me.y)
    assert (near.span_m[0], wide.span_m[0]) == (60, 200)
    assert whole.centre == (150, 50)
    assert whole.span_m[0] >= 300
    assert whole.span_m[1] >= 100
    assert (near.bar_m, wide.bar_m, whole.bar_m) == (10, 50, 50)


def test_without_a_fix_ever_the_map_is_centred_on_the_block(field):
    assert field.shown(step=0, where=None).centre == (150, 50)


def test_plots_are_left_done_or_skipped_and_spares_appear_when_called_for(field):
    def standings():
        return {one.name: one.standing for one in field.shown().plots}

    assert standings() == {"030": "left", "031": "left", "032": "left"}
    field.outing.note("quadrat", now=field.now, where=field.where, plot="030", when="survey",
                      side_m=0.5, cover_pct=60, depth_mm=[80, 90, 70])
    field.walk.skip(field.walk.left(field.now)[0], "unsafe", now=field.now, where=field.where)
    assert standings() == {"030": "done", "031": "skipped", "032": "left", "033": "left"}


def test_marks_of_the_sheet_and_my_own_are_shown_each_once(field):
    notes = Notes(field.outing, zone=ZONE)
    notes.mark("hazard", now=field.now, where=at_m(10, 20))
    notes.mark("pile", now=field.now, where=at_m(52, 51), name="P3-006")
    gone = notes.mark("weed", now=field.now, where=at_m(9, 9))
    field.outing.note("void", now=field.now, where=None, of=f"p3-k7f2:{gone['seq']}")
    notes.mark("drain", now=field.now, where=None)
    marks = {(one.what, one.name): (round(one.x), round(one.y)) for one in field.shown().marks}

    assert marks == {("pile", "P3-006"): (52, 51), ("peg", "peg 1"): (1, 2),
                     ("hazard", "hazard 1"): (10, 20)}


def test_my_way_grows_with_the_records_and_breaks_where_i_paused(field):
    field.go([(10 + 5 * k, 20) for k in range(8)])
    assert [len(piece) for piece in field.shown().track] == [8]
    first = field.shown().track[0]
    assert first[0] == (pytest.approx(10, abs=0.02), pytest.approx(20, abs=0.02))

    field.outing.pause(now=field.now, where=field.where)
    field.outing.resume(now=field.now, where=field.where)
    field.go([(60, 20 + 5 * k) for k in range(4)])
    field.now += timedelta(minutes=10)
    field.go([(60, 60 + 5 * k) for k in range(3)])
    assert [len(piece) for piece in field.shown().track] == [8, 4, 3]


def test_standing_still_adds_nothing_to_my_way(field):
    field.go([(10, 20), *[(10.2, 20.1)] * 50, (15, 20)])

    assert [len(piece) for piece in field.shown().track] == [2]


def test_a_long_way_comes_in_pieces_that_meet_and_stay_as_they_are(field):
    count = 2 * PIECE_POINTS + 300
    field.go([(150 + 40 * math.cos(k / 20), 50 + 40 * math.sin(k / 20)) for k in range(count)], 2)
    before = field.shown().track
    field.go([(10, 10), (20, 10)], 2)
    after = field.shown().track

    assert max(map(len, after)) == PIECE_POINTS
    assert sum(map(len, after)) - (len(after) - 1) == count + 2
    assert all(a[-1] == b[0] for a, b in pairwise(after))
    assert after[0] is before[0]
    assert after[1] is before[1]


def test_nobody_sees_the_way_of_who_carried_the_phone_before(field):
    field.go([(10 + 5 * k, 20) for k in range(8)])
    assert field.shown().track != ()
    field.outing.start("KB", "picker", now=field.now, where=field.where, sheet=sheet())

    assert field.shown().track == ()
    field.go([(50, 50 + 5 * k) for k in range(3)])
    assert [len(piece) for piece in field.shown().track] == [3]


def test_outside_the_block_the_map_points_back(field):
    assert field.shown().back_deg is None
    field.stand(150, 140)
    assert field.shown().back_deg == pytest.approx(180)
    field.stand(-50, 50)
    assert field.shown().back_deg == pytest.approx(90)


def test_true_north_is_given_on_a_plane_that_is_turned_from_it(make_field):
    turn = math.radians(2)
    cos, sin = math.cos(turn), math.sin(turn)
    north, east = M_PER_DEG
    turned = {"at": list(AT),
              "to_m": [[0, sin * north, cos * east, 0, 0, 0],
                       [0, cos * north, -sin * east, 0, 0, 0]],
              "to_deg": [[0, sin / north, cos / north, 0, 0, 0],
                         [0, cos / east, -sin / east, 0, 0, 0]]}
    made = make_field(sheet(map=turned))

    assert made.shown().north_deg == pytest.approx(2, abs=1e-6)


def test_the_sheet_is_dated_by_the_block_s_day(field):
    assert field.shown().sheet_day == date(2026, 1, 20)


def test_without_a_sheet_way_and_marks_are_shown_on_plain_ground(lost):
    Notes(lost.outing, zone=ZONE).mark("hazard", now=lost.now, where=at_m(190, 50))
    lost.go([(150 + 5 * k, 50) for k in range(9)])
    shown = lost.shown()

    assert (shown.cells, shown.closed, shown.outline, shown.plots) == ((), (), (), ())
    assert shown.sheet_day is None
    assert shown.back_deg is None
    assert shown.north_deg == 0
    (hazard,) = shown.marks
    assert math.dist((hazard.x, hazard.y), (shown.me.x, shown.me.y)) == pytest.approx(0, abs=0.1)
    assert math.dist(shown.track[0][0], shown.track[0][-1]) == pytest.approx(40, rel=0.01)


def test_without_a_sheet_the_widest_step_holds_all_there_is_and_the_others_me(lost):
    lost.go([(150 + 100 * k, 50 + 20 * k) for k in range(9)])
    whole, near = lost.shown(step=2), lost.shown(step=0)

    for x, y in whole.track[0]:
        assert abs(x - whole.centre[0]) <= whole.span_m[0] / 2
        assert abs(y - whole.centre[1]) <= whole.span_m[1] / 2
    assert near.centre == (near.me.x, near.me.y)


def test_with_nothing_known_at_all_there_is_an_empty_map(tmp_path):
    with Journal.open(tmp_path / "journal.sqlite", device="p3-k7f2") as journal:
        shown = PhoneMap(Outing(journal), zone=ZONE).show(now=START, where=None, step=2)

    assert (shown.me, shown.track, shown.marks) == (None, (), ())
    assert min(shown.span_m) >= 0
    assert shown.bar_m == 50


def test_a_sheet_that_arrives_moves_the_way_onto_its_plane(lost):
    lost.go([(150 + 5 * k, 50) for k in range(9)])
    assert lost.shown().me is not None
    lost.outing.sheet = sheet()

    assert lost.shown().track[0][0] == (pytest.approx(150, abs=0.02), pytest.approx(50, abs=0.02))
    assert (lost.shown().me.x, lost.shown().me.y) == (pytest.approx(190), pytest.approx(50))


@given(st.floats(-60, 60), st.floats(-180, 180), st.floats(-2000, 2000), st.floats(-2000, 2000))
def test_the_flat_plane_agrees_with_the_ellipsoid_within_a_metre_over_two_kilometres(
        lat, lon, x, y):
    geod = Geod(ellps="WGS84")
    away = math.hypot(x, y)
    there_lon, there_lat, _ = geod.fwd(lon, lat, math.degrees(math.atan2(x, y)), away)

    got = flat_m((lat, lon), there_lat, there_lon)
    assert math.dist(got, (x, y)) < max(1.2, 0.001 * away)


@given(st.floats(1, 1e5))
def test_a_scale_bar_is_a_round_length_of_a_tenth_to_a_quarter_of_the_map(span_m):
    bar = bar_of(span_m)

    assert 0.0999 * span_m <= bar <= 0.2501 * span_m
    assert f"{bar:.0e}"[0] in "125"
