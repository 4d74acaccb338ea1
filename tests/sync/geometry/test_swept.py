import dataclasses
import hashlib
import json
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.errors import IntakeError
from sync.geometry.bags import Trodden, tread
from sync.geometry.fresh import Piece
from sync.geometry.ground import ground_on
from sync.geometry.picking import DRIFTS, ground_track, passes_of
from sync.geometry.placed import Drift
from sync.geometry.swath import swath_of
from sync.geometry.swept import swept_of
from sync.geometry.traces import Told, Trace, read, read_gone, told_of_parts, written
from sync.intake.fixes import ms_of
from sync.intake.memo import NoMemo
from sync.intake.seen import OutingSeen, TrackSeen
from sync.settings import Tunables

DAY = date(2026, 1, 22)
START = datetime(2026, 1, 22, 20, tzinfo=UTC)


@pytest.fixture(scope="module")
def ground(nztm, block_of, feature, box):
    return ground_on(block_of([feature(box(0, 0, 1000, 1000))]), nztm, DAY)


class Remembers:
    """A memo in memory that counts what was asked and known."""

    def __init__(self):
        self.kept, self.known = {}, 0

    def read(self, key, reader):
        found = self.kept.get(key)
        self.known += found is not None
        return None if found is None else reader(found)

    def put(self, key, value):
        self.kept[key] = value

    def keep(self):
        pass


#: The ground of each piece made here, by its sum.
GROUND = {}


def piece(day, box, walk=(0.0, "p1-aaaa"), cell="C07"):
    wkb = shapely.to_wkb(shapely.box(*box))
    total = hashlib.sha256(wkb).digest()
    GROUND[total] = wkb
    return Piece(cell, day, walk, total)


def ground_of(piece):
    return GROUND[piece.total]


def at_home(nztm, box):
    e, n = nztm.to_m(-42.86, 169.69)
    west, south, east, north = box
    return float(e) + west, float(n) + south, float(e) + east, float(n) + north


def test_ground_passed_again_in_its_season_counts_on_the_day_it_was_passed_first(nztm):
    boxes = [at_home(nztm, box) for box in ((0, 0, 40, 10), (20, 0, 60, 10))]
    days = [DAY, DAY + timedelta(days=1)]
    found = swept_of(
        [piece(day, box) for day, box in zip(days[::-1], boxes[::-1], strict=True)], nztm,
        (7, 1), NoMemo(), ground_of)

    scale = nztm.point_scale(-42.86, 169.69) ** 2
    assert [one.m2 * scale for one in found.by_cell["C07"]] == pytest.approx([400, 200], rel=1e-6)
    assert found.m2("C07", *days) * scale == pytest.approx(600, rel=1e-6)
    assert found.m2("C07", days[1], days[1]) * scale == pytest.approx(200, rel=1e-6)
    assert found.m2("C07", date(2020, 1, 1), date(2020, 1, 2)) is None
    assert found.twice_m2(nztm, "C07", (days[0], days[0]), (days[1], days[1])) * scale == (
        pytest.approx(200, rel=1e-6))
    assert found.twice_m2(nztm, "C07", tuple(days), tuple(days)) * scale == pytest.approx(
        600, rel=1e-6)


def test_another_season_begins_anew(nztm):
    box = at_home(nztm, (0, 0, 10, 10))
    found = swept_of([piece(date(2026, 6, 30), box), piece(date(2026, 7, 1), box)], nztm, (7, 1),
                     NoMemo(), ground_of)

    old, new = found.by_cell["C07"]
    assert old.m2 == new.m2 > 99


def test_what_is_written_down_stands_where_the_points_are_gone(nztm):
    gone = Piece("C07", DAY, (0.0, "p1-aaaa"), None, 123.4)
    live = piece(DAY, at_home(nztm, (0, 0, 10, 10)), walk=(1.0, "p2-aaaa"))
    found = swept_of([live, gone], nztm, (7, 1), NoMemo(), ground_of)

    assert next(one.m2 for one in found.by_cell["C07"]) == 123.4
    assert found.twice_m2(nztm, "C07", (DAY, DAY), (DAY, DAY)) is None
    assert found.is_gone("C07", DAY, DAY)


@pytest.fixture
def walked(nztm, grid):
    """A walk of some lanes, a fix every 5 s; the pace is that of picking unless said."""
    def make(*places, pace=0.1, start=START):
        e0, n0 = grid.origin_e, grid.origin_n
        line = shapely.LineString([(e0 + x, n0 + y) for x, y in places])
        count = int(line.length / pace / 5)
        points = shapely.line_interpolate_point(line, np.arange(count + 1) * 5 * pace)
        lat, lon = nztm.to_deg(shapely.get_x(points), shapely.get_y(points))
        at_ms = np.array([round(ms_of(start)) + 5000 * i for i in range(count + 1)])
        return TrackSeen(at_ms, np.asarray(lat), np.asarray(lon), np.full(count + 1, 4.0))

    return make


def outing(role="picker", person="MT", device="p1-aaaa", at=START):
    return OutingSeen(f"{device}:1", at, DAY, device, 1, person, "start", role)


def test_three_passes_of_a_picker_sweep_the_golden_420_m2_and_a_surveyor_none(
        walked, ground, nztm, grid):
    # Golden G10: three straight passes of 60 m, 2 m apart, reach 1.5 m, flat ends: 60 × 7 m.
    # Walking from lane to lane is no picking: the steps between lanes are quick.
    lanes = []
    at = START
    parts = []
    for i in range(3):
        part = walked((10 + 2 * i, 20), (10 + 2 * i, 80), start=at)
        parts.append(part)
        at += timedelta(seconds=5 * len(part) + 120)
    lanes = TrackSeen(*(np.concatenate([getattr(p, name) for p in parts])
                        for name in ("at_ms", "lat", "lon", "acc_m")))
    for role, expected in (("picker", 420.0), ("surveyor", None)):
        found = tread(Trodden([], [outing(role)], {"p1-aaaa": lanes}), lambda _: ground, nztm,
                      Tunables()).swept
        every = found.by_cell
        if expected is None:
            assert every == {}
        else:
            (cell,) = every
            (fresh,) = every[cell]
            assert fresh.m2 * nztm.point_scale(-42.86, 169.69) ** 2 == pytest.approx(
                expected, rel=1e-5)


def test_walking_sweeps_nothing(walked, ground, nztm):
    track = walked((10, 20), (10, 80), pace=1.0)
    found = tread(Trodden([], [outing()], {"p1-aaaa": track}), lambda _: ground, nztm, Tunables())

    assert found.swept.by_cell == {}


def test_a_long_track_has_the_swath_of_its_steps_one_by_one():
    # Within 1 % of an exact union on 20 made-up tracks (a real one: tests/sync/cli).
    rng = np.random.default_rng(20)
    for number in range(20):
        steps = rng.normal(0.0, 0.2 + 0.1 * number, (400, 2)) + np.array([0.05, 0.0])
        places = np.cumsum(steps, axis=0) + np.array([1_329_400.0, 5_249_300.0])
        lines = shapely.linestrings(np.stack((places[:-1], places[1:]), axis=1))
        bends = shapely.buffer(shapely.points(places[1:-1]), 1.5, quad_segs=64)
        exact = shapely.union_all([*shapely.buffer(lines, 1.5, cap_style="flat"), *bends])
        assert swath_of([places], reach_m=1.5).area == pytest.approx(exact.area, rel=0.01)


def test_a_swath_changes_no_figure_by_being_remembered(walked, ground, nztm):
    trodden = Trodden([], [outing()], {"p1-aaaa": walked((60, 20), (140, 80), (60, 80))})
    summed = dataclasses.replace(ground, maps="sum")
    memo = Remembers()
    alone, first, second = (
        tread(trodden, lambda _: summed, nztm, Tunables(), memo=one) for one in (None, memo, memo))

    assert memo.known >= 2
    assert alone.swept == first.swept == second.swept
    assert len(alone.swept.by_cell) == 2


def told(seconds, **shares):
    drift = Drift({c: np.linspace(0.0, part, DRIFTS) for c, part in shares.items()}, {},
                  np.zeros(DRIFTS))
    return Told(seconds, (1.5, 2.5, 3.25), shares, {c: (p, p, p, p) for c, p in shares.items()},
                drift)


@settings(max_examples=50)
@given(st.dictionaries(
    st.tuples(st.floats(0, 1e12), st.floats(0, 1e12)),
    st.dictionaries(st.sampled_from(["A01", "B12", "AA03"]), st.floats(1e-300, 1.0), max_size=3),
    max_size=4))
def test_a_trace_written_and_read_is_the_same_to_the_last_bit(spells):
    trace = Trace({span: told(7.0, **shares) for span, shares in spells.items()},
                  {12.5: (0.1, 0.2, 0.3)})
    again = read(json.loads(json.dumps(written(trace))))

    assert again.fixes == trace.fixes
    assert set(again.spells) == set(trace.spells)
    for span, one in trace.spells.items():
        other = again.spells[span]
        assert (other.seconds, other.last, other.moved) == (one.seconds, one.last, one.moved)
        assert dict(other.shares) == dict(one.shares)
        for cell, parts in one.drift.cells.items():
            assert (other.drift.cells[cell] == parts).all()


def test_a_spell_nobody_asked_for_is_told_by_those_it_overlaps():
    spells = {(0.0, 100.0): told(60.0, A01=1.0), (100.0, 200.0): told(30.0, B01=1.0)}

    assert told_of_parts(spells, (0.0, 100.0)) is spells[0.0, 100.0]
    both = told_of_parts(spells, (0.0, 200.0))
    assert both.shares == pytest.approx({"A01": 60 / 90, "B01": 30 / 90})
    half = told_of_parts(spells, (50.0, 200.0))
    assert half.shares == pytest.approx({"A01": 0.5, "B01": 0.5})
    assert half.drift.cells["A01"][-1] == pytest.approx(0.5)
    assert told_of_parts(spells, (500.0, 600.0)) is None


@pytest.mark.parametrize("said", [
    {}, {"spans": [], "swept_m2": {}, "walk": {}},
    {"spans": [{}], "swept_m2": {}, "walk": {"since_ms": 0, "fixes": []}},
    {"spans": [], "swept_m2": {"2026-13-01": {"C07": 1}}, "walk": {"since_ms": 0, "fixes": []}},
    {"spans": [], "swept_m2": {"2026-01-01": {"nowhere": 1}},
     "walk": {"since_ms": 0, "fixes": []}},
    {"spans": [], "swept_m2": {"2026-01-01": {"C07": -1}}, "walk": {"since_ms": 0, "fixes": []}},
    {"spans": [], "swept_m2": [], "walk": {"since_ms": 0, "fixes": [[1]]}},
])
def test_what_is_damaged_is_refused(said):
    with pytest.raises(IntakeError):
        read_gone(said)


def test_a_gap_or_a_walk_parts_two_passes(walked, nztm):
    track = walked((0, 0), (0, 20))
    late = TrackSeen(np.where(np.arange(len(track)) < 10, track.at_ms, track.at_ms + 600_000),
                     track.lat, track.lon, track.acc_m)
    on_ground = ground_track(nztm, late, worst_m=25.0, fastest_m_s=0.5)
    passes = passes_of(on_ground, since_ms=0, until_ms=1e15, longest_s=60.0)

    assert [len(one) for one in passes] == [10, len(track) - 10]


def test_2026_11_28_a_clock_that_jumped_through_the_ages_costs_no_time(ground, nztm, grid):
    # Every day between the first fix of a walk and its last was looked at: millions of them.
    lat, lon = nztm.to_deg(grid.origin_e + np.array([10.0, 10.5, 20.0]),
                           grid.origin_n + np.array([50.0, 50.0, 50.0]))
    at_ms = np.array([round(ms_of(START)), round(ms_of(START)) + 5000, 250_000_000_000_000])
    track = TrackSeen(at_ms, np.asarray(lat), np.asarray(lon), np.full(3, 4.0))
    asked = []

    def ground_of(day):
        asked.append(day)
        return dataclasses.replace(ground, maps="sum")

    found = tread(Trodden([], [outing()], {"p1-aaaa": track}), ground_of, nztm, Tunables(),
                  memo=Remembers())

    assert {fresh.piece.day for each in found.swept.by_cell.values() for fresh in each} == {DAY}
    assert len(set(asked)) <= 6
