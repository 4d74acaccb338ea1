"""Places by chance in a shape: all ground alike, none at the border, none out of reach."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import GeometryError
from sync.geometry.scatter import equal_parts, inside_of, place_by_chance, reached_from_outside

L_SHAPE = shapely.Polygon([(0, 0), (100, 0), (100, 30), (40, 30), (40, 100), (0, 100)])


def test_all_ground_of_a_shape_has_the_same_chance():
    uniform = np.random.default_rng(5).random
    places = np.array([place_by_chance(L_SHAPE, uniform) for _ in range(4000)])
    assert shapely.intersects_xy(L_SHAPE, places[:, 0], places[:, 1]).all()
    # 60 × 30 of 5,800 m² lie east of 40.
    share = 1800 / 5800
    east = (places[:, 0] > 40).mean()
    assert abs(east - share) < 4 * np.sqrt(share * (1 - share) / 4000)


@given(st.integers(1, 9))
def test_parts_have_one_area_and_make_up_the_whole(count):
    parts = equal_parts(L_SHAPE, count)
    assert [p.area for p in parts] == pytest.approx([5800 / count] * count, rel=1e-6)
    assert shapely.union_all(parts).symmetric_difference(L_SHAPE).area < 1e-6


def test_a_square_in_four_is_four_squares():
    parts = equal_parts(shapely.box(0, 0, 100, 100), 4)
    assert sorted(p.bounds for p in parts) == [
        pytest.approx(b, abs=1e-6) for b in
        ((0, 0, 50, 50), (0, 50, 50, 100), (50, 0, 100, 50), (50, 50, 100, 100))]


def test_no_place_is_nearer_to_a_border_than_wanted_holes_too():
    ring = shapely.box(0, 0, 100, 100).difference(shapely.box(40, 40, 60, 60))
    inner = inside_of(ring, 1.0)
    assert inner.distance(ring.boundary) == pytest.approx(1.0)
    assert inside_of(shapely.box(0, 0, 100, 1.9), 1.0).is_empty


def test_ground_that_closed_ground_shuts_in_is_out_of_reach():
    ground = shapely.box(0, 0, 100, 100)
    moat = shapely.box(20, 20, 80, 80).difference(shapely.box(30, 30, 70, 70))
    reached = reached_from_outside(ground.difference(moat), moat)
    assert reached.area == pytest.approx(100 * 100 - 60 * 60)
    assert reached_from_outside(ground, shapely.MultiPolygon()).equals(ground)


def test_an_empty_shape_is_refused():
    with pytest.raises(GeometryError, match="empty"):
        place_by_chance(shapely.MultiPolygon(), np.random.default_rng(1).random)
    with pytest.raises(GeometryError, match="too thin"):
        place_by_chance(shapely.Polygon([(0, 0), (1e3, 1e3), (1e3, 1e3 + 1e-9)]),
                        np.random.default_rng(1).random)
