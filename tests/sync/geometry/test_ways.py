"""Ways on foot: straight where open, around closed ground, outside only where they must."""

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.geometry.ways import straight_between, ways_between

GROUND = shapely.box(0, 0, 300, 300)
POOL = shapely.box(100, 50, 200, 250)
NONE = shapely.MultiPolygon()


def test_open_ground_is_crossed_straight():
    ways = ways_between(GROUND, NONE, [(10, 10), (40, 50)])
    assert ways.length_m[0, 1] == pytest.approx(50.0)
    assert ways.bends(0, 1) == ()


def test_a_pool_is_walked_around_by_the_shorter_side():
    # From (50, 60) to (250, 60): by the pool's south corners (100, 50) and (200, 50).
    ways = ways_between(GROUND, POOL, [(50, 60), (250, 60)])
    least = 2 * math.hypot(50, 10) + 100
    assert least < ways.length_m[0, 1] < least + 2.5
    assert [round(n) for _, n in ways.bends(0, 1)] in ([50, 50], [49, 49])
    assert ways.bends(1, 0) == tuple(reversed(ways.bends(0, 1)))


def test_a_corner_of_the_outline_is_not_cut():
    bay = shapely.Polygon([(0, 0), (300, 0), (300, 300), (200, 300), (200, 100), (100, 100),
                           (100, 300), (0, 300)])
    ways = ways_between(bay, NONE, [(50, 290), (250, 290)])
    assert ways.length_m[0, 1] > 2 * math.hypot(50, 190) + 100 - 1e-6


def test_where_closed_ground_parts_the_block_the_way_leaves_it():
    wall = shapely.box(140, 0, 160, 300)
    ways = ways_between(GROUND, wall, [(100, 20), (200, 20)])
    line = shapely.LineString([(100, 20), *ways.bends(0, 1), (200, 20)])
    assert line.intersection(wall).length < 1e-6
    assert ways.length_m[0, 1] == pytest.approx(line.length)
    assert 100 < line.length < 130


def test_a_gate_outside_the_block_is_reached():
    ways = ways_between(GROUND, POOL, [(-30, 150), (50, 150)])
    assert ways.length_m[0, 1] == pytest.approx(80.0)


def test_nobody_gets_into_ground_that_is_shut_in():
    moat = shapely.box(100, 100, 200, 200).difference(shapely.box(120, 120, 180, 180))
    assert np.isinf(ways_between(GROUND, moat, [(150, 150), (10, 10)]).length_m[0, 1])


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.floats(1, 299), st.floats(1, 299)), min_size=2, max_size=6))
def test_no_way_crosses_closed_ground_or_is_shorter_than_straight(places):
    places = [p for p in places if not POOL.buffer(0.01).intersects(shapely.Point(p))]
    if len(places) < 2:
        return
    ways = ways_between(GROUND, POOL, places)
    straight = straight_between(places)
    inner = POOL.buffer(-1e-6)
    for a in range(len(places)):
        for b in range(len(places)):
            line = [places[a], *ways.bends(a, b), places[b]]
            assert not shapely.LineString(line).intersects(inner)
            assert ways.length_m[a, b] >= straight[a, b] - 1e-9
            assert ways.length_m[a, b] == pytest.approx(
                sum(math.dist(*leg) for leg in itertools.pairwise(line)), abs=1e-6)
