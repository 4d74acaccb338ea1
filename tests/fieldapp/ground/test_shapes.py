"""Plane geometry: inside, how far, which way, how likely."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.ground.shapes import bearing_deg, box_of, chance_in, holds, nearest_on, wind_of


def ring(*points):
    return (((*points, points[0]),),)


def square(low, high):
    return ring((low, low), (high, low), (high, high), (low, high))


WITH_HOLE = ((
    ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0), (0.0, 0.0)),
    ((4.0, 4.0), (6.0, 4.0), (6.0, 6.0), (4.0, 6.0), (4.0, 4.0)),
),)


@pytest.mark.parametrize(("shape", "x", "y", "acc_m", "chance"), [
    # Reference run: product of two normal differences, sigma = acc68 / 1.5095921855.
    (square(0.0, 20.0), 10.0, 10.0, 5.0, 0.994937299287),
    (square(0.0, 20.0), 20.0, 10.0, 5.0, 0.498732718044),
    (square(0.0, 20.0), 20.0, 20.0, 5.0, 0.249999999222),
    (square(0.0, 20.0), 19.0, 10.0, 5.0, 0.617074885984),
    (square(0.0, 20.0), 23.0, 10.0, 5.0, 0.182070049171),
    (square(0.0, 10.0), 4.0, 7.0, 3.0, 0.912411928922),
    (square(0.0, 10.0), 5.0, 5.0, 12.0, 0.221510304343),
    # Reference run: edge integral, checked by four million draws.
    (ring((0.0, 0.0), (20.0, 0.0), (0.0, 20.0)), 5.0, 5.0, 5.0, 0.856767345054),
    (ring((0.0, 0.0), (30.0, 0.0), (30.0, 10.0), (10.0, 10.0), (10.0, 30.0), (0.0, 30.0)),
     12.0, 12.0, 8.0, 0.557667567756),
    (ring((-1e4, -1e4), (2.0, -1e4), (2.0, 1e4), (-1e4, 1e4)), 0.0, 0.0, 5.0, 0.727023949442),
])
def test_the_chance_of_a_place_is_that_of_the_reference_run(shape, x, y, acc_m, chance):
    assert chance_in(shape, x, y, acc_m) == pytest.approx(chance, abs=5e-12)


def test_the_chance_in_a_circle_is_that_of_the_non_central_chi_square():
    round_ring = [(8 * math.cos(k / 500 * math.pi), 8 * math.sin(k / 500 * math.pi))
                  for k in range(1000)]
    assert chance_in(ring(*round_ring), 6.0, 0.0, 5.0) == pytest.approx(0.638872698041, abs=1e-5)


def test_a_hole_is_neither_inside_nor_likely():
    assert holds(WITH_HOLE, 2.0, 5.0)
    assert not holds(WITH_HOLE, 5.0, 5.0)
    whole, hole = chance_in(square(0.0, 10.0), 5.0, 5.0, 4.0), chance_in(square(4.0, 6.0), 5, 5, 4)
    assert chance_in(WITH_HOLE, 5.0, 5.0, 4.0) == pytest.approx(whole - hole, abs=1e-12)


def test_a_fix_without_error_is_inside_or_not():
    assert chance_in(square(0.0, 10.0), 5.0, 5.0, 0.0) == 1.0
    assert chance_in(square(0.0, 10.0), 15.0, 5.0, 0.0) == 0.0


@given(st.floats(-30, 60), st.floats(-30, 60), st.floats(0.5, 30), st.floats(1, 39),
       st.booleans())
def test_two_parts_of_a_shape_share_its_chance(x, y, acc_m, cut, turned):
    left = ring((0.0, 0.0), (cut, 0.0), (cut, 40.0), (0.0, 40.0))
    right = ring((cut, 0.0), (40.0, 0.0), (40.0, 40.0), (cut, 40.0))
    if turned:
        right = ((right[0][0][::-1],),)
    both = chance_in(left, x, y, acc_m) + chance_in(right, x, y, acc_m)
    assert both == pytest.approx(chance_in(square(0.0, 40.0), x, y, acc_m), abs=1e-10)


@given(st.integers(-3, 23), st.integers(-3, 23))
def test_a_point_on_a_shared_border_is_in_one_shape_only(x, y):
    quarters = [ring((a, b), (a + 10.0, b), (a + 10.0, b + 10.0), (a, b + 10.0))
                for a in (0.0, 10.0) for b in (0.0, 10.0)]
    assert sum(holds(quarter, x, y) for quarter in quarters) == holds(square(0.0, 20.0), x, y)


@given(st.floats(-30, 30), st.floats(-30, 30))
def test_the_nearest_point_lies_on_the_border_at_its_distance(x, y):
    distance, at = nearest_on(WITH_HOLE, x, y)
    assert math.hypot(at[0] - x, at[1] - y) == pytest.approx(distance)
    assert nearest_on(WITH_HOLE, *at)[0] == pytest.approx(0.0, abs=1e-9)


def test_a_ring_that_stands_on_one_point_has_a_distance():
    assert nearest_on(((((3.0, 4.0),) * 4,),), 0.0, 0.0) == (5.0, (3.0, 4.0))


@pytest.mark.parametrize(("end", "wind"), [
    ((0, 9), "N"), ((9, 9), "NE"), ((9, 0), "E"), ((9, -9), "SE"), ((0, -9), "S"),
    ((-9, -9), "SW"), ((-9, 0), "W"), ((-9, 9), "NW"), ((-1, 9), "N"), ((-5, 9), "NW")])
def test_eight_winds_share_the_horizon(end, wind):
    assert wind_of(bearing_deg((0, 0), end)) == wind


def test_a_box_is_drawn_about_the_outer_rings():
    assert box_of(WITH_HOLE) == (0.0, 0.0, 10.0, 10.0)
