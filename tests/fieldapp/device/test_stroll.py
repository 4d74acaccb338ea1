import math
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from fieldapp.device.location import NoLocation, ReplayedGpx
from fieldapp.device.stroll import stroll
from fieldapp.ground import cell_at, sheet_of, state_at

START = datetime(2026, 1, 20, 20, tzinfo=UTC)
M_PER_DEG = (111_100.0, 81_600.0)


def box(west, south, east, north):
    return [[[[west, south], [east, south], [east, north], [west, north], [west, south]]]]


def sheet(*, states=("ready", "taken", "closed", "unsurveyed", "taken", "closed", "resting"),
          gate=(-40, 50), shapes=None, plots=()):
    shapes = shapes or [box(100 * k, 0, 100 * k + 100, 100) for k in range(len(states))]
    return sheet_of({
        "sheet": 1, "id": "0a1b2c3d", "block": {"id": "km7q2x4a", "name": "Kettle Mire"},
        "for": "p3", "made_at": "2026-01-20T05:00:00.000Z",
        "good_until": "2026-01-27T05:00:00.000Z", "zone": "Pacific/Auckland",
        "season_start": "07-01", "cell_m": 100, "outline": [part for s in shapes for part in s],
        "map": {"at": [-42.86, 169.69],
                "to_m": [[0, 0, M_PER_DEG[1], 0, 0, 0], [0, M_PER_DEG[0], 0, 0, 0, 0]],
                "to_deg": [[0, 0, 1 / M_PER_DEG[0], 0, 0, 0], [0, 1 / M_PER_DEG[1], 0, 0, 0, 0]]},
        "cells": [{"cell": f"{chr(65 + k)}01", "shape": shapes[k], "ground_class": "lawn",
                   "state": state, "why": "", "then": None, "left_kg": None, "left_bags": None,
                   "rest_ends": "2029-01-01" if state == "resting" else None}
                  for k, state in enumerate(states)],
        "closures": [], "pegs": [], "marks": [], "permits": [], "people": [],
        "plots": [{"plot": name, "cell": cell, "at": list(at), "when": "survey", "spare": spare,
                   "again": False, "ground_class": "lawn"} for name, cell, at, spare in plots],
        "probes": 3, "frame_m": 0.5, "check_in_min": 60, "declination_deg": 23.6,
        "gate": None if gate is None else list(gate), "label_from": 14, "held": [],
        "bag_types": [{"type": "sack", "wet_kg": 88, "dry_kg": 6.8}]})


def walked(ground, **pace):
    fixes = stroll(ground, start=START, **pace).between(
        START - timedelta(seconds=1), START + timedelta(days=1))
    return fixes, [ground.map.to_m(lat, lon) for _, lat, lon, _ in fixes]


def test_a_stroll_begins_at_the_gate_and_lasts_two_hours_with_a_fix_a_second():
    ground = sheet()
    fixes, points = walked(ground)

    assert fixes[0][0] == START
    assert math.dist(points[0], (-40, 50)) < 0.02
    assert fixes[-1][0] >= START + timedelta(hours=2)
    assert {after[0] - before[0] for before, after in pairwise(fixes)} == {timedelta(seconds=1)}
    assert {fix[3] for fix in fixes} == {4.0}


def test_a_stroll_keeps_its_pace_and_rests_at_its_stops():
    steps = [math.dist(a, b) for a, b in pairwise(walked(sheet(), pace_m_s=1.2)[1])]

    assert max(steps) < 1.2 + 0.03
    assert sorted(steps)[len(steps) // 2] == pytest.approx(1.2, rel=0.05)
    assert sum(step < 0.001 for step in steps) > 100


def test_a_stroll_passes_ready_and_resting_ground_and_goes_round_again():
    ground = sheet()
    _, points = walked(ground)
    day = START.date()

    states = [state_at(ground, x, y, day) for x, y in points]
    cells = [cell.name for x, y in points if (cell := cell_at(ground, x, y)) is not None]

    assert {"ready", "resting"} <= set(states)
    assert sum(a != "G01" and b == "G01" for a, b in pairwise(cells)) >= 2
    # The gate, then through A01's middle, the nearest.
    assert min(math.dist(point, (50, 50)) for point in points) < 0.02


def test_a_stroll_reaches_the_plots_of_its_cells_but_no_spares():
    ground = sheet(plots=[("001", "A01", (20, 80), False), ("002", "A01", (80, 15), True)])
    _, points = walked(ground)

    assert min(math.dist(point, (20, 80)) for point in points) < 0.02
    assert min(math.dist(point, (80, 15)) for point in points) > 3.0


def test_the_same_sheet_and_start_give_the_same_stroll():
    assert walked(sheet()) == walked(sheet())


@pytest.mark.parametrize("ground", [
    sheet(states=("closed",), gate=None),
    sheet(states=("ready",), gate=(50, 50)),
    # An L: the middle of its box is not in it.
    sheet(states=("ready",), gate=None, shapes=[[[[
        [0, 0], [100, 0], [100, 10], [10, 10], [10, 100], [0, 100], [0, 0]]]]])])
def test_small_and_odd_blocks_have_their_stroll_too(ground):
    fixes, points = walked(ground)

    assert len(fixes) > 7200
    assert any(cell_at(ground, x, y) is not None for x, y in points)


@pytest.mark.parametrize("pace", [0.0, -1.0, math.nan])
def test_a_stroll_must_get_on(pace):
    with pytest.raises(ValueError, match="pace_m_s"):
        stroll(sheet(), start=START, pace_m_s=pace)


def test_an_old_walk_is_moved_to_today_whole():
    walk = ReplayedGpx([(START + timedelta(seconds=k * k), -42.8, 169.7 + k, None)
                        for k in range(3)])
    moment = START + timedelta(days=400, seconds=0.25)

    moved = walk.shifted_to(moment).between(START, moment + timedelta(hours=1))

    assert [fix[0] - moment for fix in moved] == [timedelta(seconds=k * k) for k in range(3)]
    assert [fix[1:] for fix in moved] == [(-42.8, 169.7 + k, None) for k in range(3)]
    assert walk.at(START).lon == 169.7
    assert ReplayedGpx([]).shifted_to(moment).at(moment) is None


@pytest.mark.parametrize("trouble", ["refused", "stopped"])
def test_a_phone_that_may_not_know_where_it_is_says_so_and_gives_nothing(trouble):
    nowhere = NoLocation(trouble)

    assert nowhere.trouble == trouble
    assert nowhere.at(START) is None
    assert nowhere.between(START, START + timedelta(hours=1)) == []
    assert ReplayedGpx([]).trouble == ""
