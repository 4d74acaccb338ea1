import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtr

from sync.errors import GeometryError
from sync.geometry.chance import chance_in_box, chance_in_polygon, chance_in_square, sigma_of
from sync.geometry.shapes import NOTHING
from sync.settings import R68_PER_SIGMA

FIX = st.floats(-60.0, 60.0)
SIGMA = st.floats(0.05, 60.0)


def half_digit(printed):
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


def test_the_radius_of_a_circular_normal_is_as_published(published):
    case = published["rayleigh"]
    for chance, printed in case["radius"].items():
        radius = math.sqrt(-2.0 * math.log(1.0 - float(chance)))

        assert radius == pytest.approx(float(printed), abs=half_digit(printed))
    assert sigma_of(1.0) == pytest.approx(float(case["sigma_per_r68"]), abs=0.5e-10)
    assert pytest.approx(float(case["radius"]["0.68"]), abs=0.5e-10) == R68_PER_SIGMA


def test_a_radius_of_sigma_holds_what_the_rayleigh_distribution_says():
    # a disc of many corners stands for the circle; reference run: P(r < σ), P(r < √2 σ)
    for radius, chance in ((1.0, 0.39346934), (math.sqrt(2.0), 0.63212056)):
        disc = shapely.Point(0, 0).buffer(radius, quad_segs=4000)

        assert chance_in_polygon(0.0, 0.0, 1.0, disc) == pytest.approx(chance, abs=2e-8)


def test_the_chance_of_a_rectangle_is_as_published(published):
    for case in published["box"]:
        x, y, r68, *sides = case["at"]
        expected = pytest.approx(float(case["chance"]), abs=0.5e-12)

        assert float(chance_in_box(x, y, sigma_of(r68), *sides)) == expected
        assert chance_in_polygon(x, y, sigma_of(r68), shapely.box(*sides)) == expected


def test_the_chances_of_a_grid_of_cells_are_as_published(published):
    case = published["chance_grid"]
    x, y, r68 = case["at"]
    low = np.arange(3) * case["cell_m"]
    found = chance_in_box(x, y, sigma_of(r68), low[None, :], low[:, None],
                          low[None, :] + 10.0, low[:, None] + 10.0)

    assert found == pytest.approx(np.array(case["chances"], dtype=float), abs=0.5e-8)
    assert found.sum() == pytest.approx(float(case["sum"]), abs=0.5e-10)


def test_the_chance_of_any_shape_is_as_published(published):
    for case in published["shape"]:
        x, y, r68 = case["at"]
        for corners in (case["corners"], case["corners"][::-1]):
            found = chance_in_polygon(x, y, sigma_of(r68), shapely.Polygon(corners))

            assert found == pytest.approx(float(case["chance"]), abs=0.5e-12)


def test_the_chance_of_a_half_plane_is_as_published(published):
    case = published["half_plane"]
    sigma = sigma_of(case["r68"])
    half = shapely.box(-1e4, -1e4, case["distance_m"], 1e4)

    assert chance_in_polygon(0.0, 0.0, sigma, half) == pytest.approx(
        float(case["chance"]), abs=0.5e-12)


def test_the_chance_of_a_circle_is_as_published(published):
    case = published["circle"]
    # a polygon of the circle's area: what its corners add, its sides take off
    turn = 2.0 * math.pi / 2000
    radius = case["radius_m"] * math.sqrt(turn / math.sin(turn))
    disc = shapely.Point(0, 0).buffer(radius, quad_segs=500)
    found = chance_in_polygon(case["distance_m"], 0.0, sigma_of(case["r68"]), disc)

    assert found == pytest.approx(float(case["chance"]), abs=2e-11)


def test_a_bag_near_a_border_is_shared_as_published(published):
    case = published["border"]
    sigma = sigma_of(case["r68"])
    west = chance_in_box(case["east_m"], 0.0, sigma, -1e4, -1e4, 0.0, 1e4)

    assert sigma == pytest.approx(float(case["sigma"]), abs=0.5e-6)
    assert float(west) == pytest.approx(float(case["west_chance"]), abs=0.5e-6)
    assert float(west) == pytest.approx(float(ndtr(-case["east_m"] / sigma)), abs=1e-14)


@given(FIX, FIX, SIGMA, st.floats(-50, 50), st.floats(-50, 50), st.floats(0.5, 80),
       st.floats(0.5, 80))
def test_the_two_ways_agree_on_every_rectangle(x, y, sigma, x0, y0, wide, high):
    by_normals = float(chance_in_box(x, y, sigma, x0, y0, x0 + wide, y0 + high))
    by_edges = chance_in_polygon(x, y, sigma, shapely.box(x0, y0, x0 + wide, y0 + high))

    assert by_edges == pytest.approx(by_normals, abs=1e-12)


@given(FIX, FIX, SIGMA, st.floats(0, math.pi))
def test_turning_ground_and_fix_together_changes_nothing(x, y, sigma, turn):
    square = shapely.box(-10, -20, 30, 25)
    turned = shapely.affinity.rotate(square, turn, origin=(0, 0), use_radians=True)
    turned_x = x * math.cos(turn) - y * math.sin(turn)
    turned_y = x * math.sin(turn) + y * math.cos(turn)

    assert chance_in_polygon(turned_x, turned_y, sigma, turned) == pytest.approx(
        chance_in_polygon(x, y, sigma, square), abs=1e-11)


@given(FIX, FIX, SIGMA)
def test_a_hole_takes_off_its_own_chance_and_parts_add_up(x, y, sigma):
    outer, inner, apart = (
        shapely.box(-40, -40, 40, 40), shapely.box(-5, -10, 15, 20), shapely.box(50, 0, 60, 9))
    holed = shapely.union(outer.difference(inner), apart)
    one_by_one = [chance_in_polygon(x, y, sigma, shape) for shape in (outer, inner, apart)]

    assert chance_in_polygon(x, y, sigma, holed) == pytest.approx(
        one_by_one[0] - one_by_one[1] + one_by_one[2], abs=1e-12)


@pytest.mark.parametrize(("x", "y", "share"), [
    (5.0, 5.0, 1.0), (15.0, 5.0, 0.0), (0.0, 5.0, 0.5), (10.0, 10.0, 0.25), (15.0, 10.0, 0.0)])
def test_a_fix_without_error_counts_by_the_turn_it_has_inside(x, y, share):
    square = shapely.box(0, 0, 10, 10)

    assert chance_in_polygon(x, y, 0.0, square) == pytest.approx(share, abs=1e-15)
    assert float(chance_in_box(x, y, 0.0, 0, 0, 10, 10)) == share
    assert chance_in_polygon(x, y, 1e-300, square) == pytest.approx(share, abs=1e-15)


@pytest.mark.parametrize(("x", "y"), [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (5.0, 0.0)])
def test_a_fix_on_a_corner_or_an_edge_is_no_special_case(x, y):
    triangle = shapely.Polygon([(0, 0), (10, 0), (10, 10)])
    beside = chance_in_polygon(x + 1e-7, y - 1e-7, 2.0, triangle)

    assert chance_in_polygon(x, y, 2.0, triangle) == pytest.approx(beside, abs=1e-7)


def test_a_doubled_corner_and_empty_ground_count_nothing():
    doubled = shapely.Polygon([(0, 0), (10, 0), (10, 0), (10, 10), (0, 10)])

    assert chance_in_polygon(5.0, 5.0, 3.0, doubled) == pytest.approx(
        float(chance_in_box(5.0, 5.0, 3.0, 0, 0, 10, 10)), abs=1e-14)
    assert chance_in_polygon(5.0, 5.0, 3.0, NOTHING) == 0.0


@pytest.mark.parametrize("sigma", [-1.0, math.nan, math.inf])
def test_an_impossible_error_is_refused(sigma):
    with pytest.raises(GeometryError, match=f"sigma={sigma!r}"):
        chance_in_polygon(0.0, 0.0, sigma, shapely.box(0, 0, 1, 1))
    with pytest.raises(GeometryError, match="sigma"):
        chance_in_box(0.0, 0.0, sigma, 0, 0, 1, 1)


def test_a_fix_that_is_nowhere_is_refused():
    with pytest.raises(GeometryError, match="finite"):
        chance_in_polygon(math.nan, 0.0, 1.0, shapely.box(0, 0, 1, 1))


@given(st.floats(-1e7, 1e7), st.floats(-1e7, 1e7), st.floats(1e-9, 1e6), st.floats(-1e7, 1e7),
       st.floats(-1e7, 1e7), st.floats(1.0, 1e3))
def test_one_square_has_the_very_chance_that_it_has_among_many(x, y, sigma, x0, y0, side):
    square = x0, y0, x0 + side, y0 + side
    assert chance_in_square(x, y, sigma, square) == float(chance_in_box(x, y, sigma, *square))
