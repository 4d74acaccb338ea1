"""Patterns of the ground: ink inside its shape, all of it, and in step from shape to shape."""

import math
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box, unary_union
from shapely.affinity import translate

from fieldapp.ground import Band, State
from fieldapp.ground.patterns import (
    CROSS_DP,
    INK_DP,
    LOOKS,
    PITCH_DP,
    Pattern,
    dots,
    inked,
    period_dp,
    strokes,
    tile,
)
from fieldapp.ground.slices import whole

REPEATING = ("bars", "uprights", "diagonals")
#: A cell cut by a slanted outline, with a pool in it, away from the origin.
CELL = Polygon([(-37.5, 12.25), (61.0, 12.25), (61.0, 70.0), (20.0, 101.0), (-37.5, 101.0)],
               [[(0.0, 40.0), (25.0, 44.0), (12.0, 66.0)]])
#: A shape that bends back on itself.
HOOK = Polygon([(0, 0), (60, 0), (60, 50), (40, 50), (40, 17), (21, 17), (21, 55), (0, 55)])


def shape_of(polygon):
    return (tuple(tuple(ring.coords) for ring in (polygon.exterior, *polygon.interiors)),)


def ink_of(pattern, polygon, dp=1.0):
    drawn = [Polygon(quad) for quad in strokes(pattern, shape_of(polygon), dp=dp)]
    round_ones = [Point(at).buffer(INK_DP * dp / 2)
                  for at in dots(pattern, shape_of(polygon), dp=dp)]
    return unary_union(drawn + round_ones)


def endless(pattern, polygon):
    """The whole pattern over a box well beyond a polygon, by its definition."""
    west, south, east, north = (round(side / PITCH_DP) for side in polygon.buffer(400).bounds)
    if pattern == "bars":
        return unary_union([box(-999, k * PITCH_DP, 999, k * PITCH_DP + INK_DP)
                            for k in range(south, north)])
    if pattern == "uprights":
        return unary_union([box(k * PITCH_DP, -999, k * PITCH_DP + INK_DP, 999)
                            for k in range(west, east)])
    up, width = math.sqrt(2) * PITCH_DP, math.sqrt(2) * INK_DP
    one = Polygon([(-999, -999), (999, 999), (999, 999 + width), (-999, -999 + width)])
    return unary_union([translate(one, 0, k * up) for k in range(-90, 90)])


@pytest.mark.parametrize("polygon", [CELL, HOOK], ids=["cell", "hook"])
@pytest.mark.parametrize("pattern", REPEATING)
def test_strokes_are_the_endless_pattern_cut_at_the_border(pattern, polygon):
    want = polygon.intersection(endless(pattern, polygon))
    got = ink_of(pattern, polygon)

    assert got.symmetric_difference(want).area < 1e-6 * want.area


@pytest.mark.parametrize("polygon", [CELL, HOOK], ids=["cell", "hook"])
def test_a_cross_runs_from_corner_to_corner_of_the_box(polygon):
    west, south, east, north = polygon.bounds
    want = unary_union([
        Polygon([(west + dx * s, y0 + dy * s) for s in (-1, 1)]
                + [(east + dx * s, y1 + dy * s) for s in (1, -1)]).intersection(polygon)
        for y0, y1 in ((south, north), (north, south))
        for dx, dy in [_across(east - west, y1 - y0)]])
    got = ink_of("cross", polygon)

    # The stroke of the drawing runs on beyond the box's corner; these end square there.
    assert got.symmetric_difference(want).area <= 2 * CROSS_DP**2
    assert got.difference(polygon).area < 1e-6


def _across(dx, dy):
    half = CROSS_DP / 2 / math.hypot(dx, dy)
    return -dy * half, dx * half


@pytest.mark.parametrize("polygon", [CELL, HOOK], ids=["cell", "hook"])
def test_every_dot_lies_whole_in_its_shape_and_none_is_missing(polygon):
    got = set(dots("dots", shape_of(polygon)))
    near = range(-8, 16)
    centres = {((k + off) * PITCH_DP, (m + off) * PITCH_DP)
               for k in near for m in near for off in (0.25, 0.75)}

    want = {at for at in centres
            if polygon.contains(Point(at)) and polygon.boundary.distance(Point(at)) >= INK_DP / 2}
    assert got == want


@pytest.mark.parametrize("pattern", ["bars", "uprights", "diagonals", "dots"])
def test_neighbours_patterns_line_up(pattern):
    left, right = box(3.3, 1.0, 40.7, 50.0), box(40.7, 1.0, 77.0, 50.0)
    apart = ink_of(pattern, left).union(ink_of(pattern, right))
    together = ink_of(pattern, box(3.3, 1.0, 77.0, 50.0))

    # Of dots those that the border between them would cut are left out.
    strip = box(40.7 - INK_DP, 0, 40.7 + INK_DP, 51) if pattern == "dots" else Polygon()
    assert apart.symmetric_difference(together).difference(strip).area < 1e-6


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.integers(-40, 40), st.integers(-40, 40)), min_size=3, max_size=9),
       st.sampled_from([*get_args(Pattern)]), st.sampled_from([0.5, 1.0, 2.625]))
def test_ink_never_leaves_its_shape(points, pattern, dp):
    polygon = Polygon(points).convex_hull if len(points) < 4 else Polygon(points)
    if not polygon.is_valid or polygon.area == 0:
        polygon = polygon.convex_hull
    if polygon.geom_type != "Polygon":
        return

    assert ink_of(pattern, polygon, dp).difference(polygon.buffer(1e-9)).area < 1e-6


@settings(max_examples=60, deadline=None)
@given(st.floats(-200, 200), st.floats(-200, 200), st.sampled_from([*REPEATING, "dots"]))
def test_a_point_is_inked_where_a_stroke_or_dot_lies_over_it(x, y, pattern):
    ink = ink_of(pattern, box(x - 20, y - 20, x + 20, y + 20))
    if ink.boundary.distance(Point(x, y)) < 0.05:
        return

    assert inked(pattern, x, y) == ink.contains(Point(x, y))


@pytest.mark.parametrize("pattern", [*REPEATING, "dots"])
def test_a_tile_holds_the_pattern_s_share_of_ink_and_repeats(pattern):
    rows = tile(pattern, 16)
    share = sum(map(sum, rows)) / 16**2
    want = math.pi * (INK_DP / 2)**2 * 2 / PITCH_DP**2 if pattern == "dots" else INK_DP / PITCH_DP

    assert share == pytest.approx(want, abs=0.01)
    side = period_dp(pattern)
    assert all(inked(pattern, x, y) == inked(pattern, x + side, y + side)
               == inked(pattern, x - 3 * side, y)
               for x, y in ((0.7, 0.9), (2.1, 1.7), (5.4, 3.3), (6.1, 6.2), (7.7, 0.1)))


@pytest.mark.parametrize("polygon", [CELL, HOOK], ids=["cell", "hook"])
def test_a_shape_is_filled_whole_and_once(polygon):
    pieces = [Polygon(quad) for quad in whole(shape_of(polygon))]

    assert sum(piece.area for piece in pieces) == pytest.approx(polygon.area, rel=1e-12)
    assert unary_union(pieces).symmetric_difference(polygon).area < 1e-9


def test_a_shape_without_extent_has_no_ink():
    flat = ((((5.0, 5.0), (9.0, 5.0), (5.0, 5.0), (5.0, 5.0)),),)

    for pattern in get_args(Pattern):
        assert sum(Polygon(quad).area for quad in strokes(pattern, flat)) == 0
        assert not [*strokes(pattern, ()), *dots(pattern, flat), *dots(pattern, ())]


def test_each_band_has_a_look_and_no_two_states_share_fill_lightness_and_pattern():
    assert set(LOOKS) == set(get_args(Band))
    assert len({LOOKS[state].pattern for state in get_args(State)}) == len(get_args(State))
    assert LOOKS["taken"].fill == LOOKS["resting"].fill
    assert LOOKS["ready"].pattern == "none"
