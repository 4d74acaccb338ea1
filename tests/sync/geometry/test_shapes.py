import numpy as np
import pyproj
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import GeometryError
from sync.geometry.coords import geojson_of, rings_m
from sync.geometry.crs import projection
from sync.geometry.shapes import (
    NOTHING,
    area_m2,
    areas_m2,
    bounds_of,
    covers,
    distance_m,
    label_point,
    shape_of,
    sound,
    union_of,
)


def test_the_geodesics_measure_antarctica_as_published(published):
    case = published["antarctica"]
    lat, lon = zip(*case["lat_lon"], strict=True)
    polygon = shapely.normalize(shapely.Polygon(list(zip(lon, lat, strict=True))))
    area, _ = pyproj.Geod(ellps="WGS84").geometry_area_perimeter(polygon)

    assert abs(area) == pytest.approx(float(case["area_m2"]), rel=1e-13)


def test_a_square_degree_measures_as_published(published):
    square = shapely.normalize(shapely.box(0, 0, 1, 1))
    area, _ = projection(32631).geod.geometry_area_perimeter(square)

    assert abs(area) == pytest.approx(float(published["degree_square"]["area_m2"]), abs=1e-4)


def test_a_hundred_metre_cell_is_not_a_hectare_of_ground(published, nztm):
    for case in published["cell_area"]:
        e, n = case["e"], case["n"]
        square = shapely.box(e, n, e + 100, n + 100)
        scale = nztm.point_scale(*nztm.to_deg(e, n))
        middle = nztm.point_scale(*nztm.to_deg(e + 50, n + 50))

        assert area_m2(nztm, square) == pytest.approx(float(case["area_m2"]), abs=5e-5)
        assert scale == pytest.approx(float(case["scale"]), abs=1e-6)
        assert 10000.0 / middle**2 == pytest.approx(area_m2(nztm, square), rel=1e-8)


def test_areas_take_holes_off_and_do_not_mind_the_direction_of_rings(nztm):
    e, n = 1430000.0, 5260000.0
    hole = shapely.box(e + 20, n + 20, e + 40, n + 40)
    ring = shapely.box(e, n, e + 100, n + 100)
    for outer in (ring.exterior.coords, ring.exterior.coords[::-1]):
        for inner in (hole.exterior.coords, hole.exterior.coords[::-1]):
            holed = shapely.Polygon(outer, [inner])

            assert area_m2(nztm, holed) == pytest.approx(
                area_m2(nztm, ring) - area_m2(nztm, hole), rel=1e-9)


def test_nothing_has_no_area_no_label_and_is_nowhere(nztm):
    assert areas_m2(nztm, np.array([], dtype=object)).size == 0
    assert area_m2(nztm, NOTHING) == 0.0
    assert label_point(NOTHING) is None
    assert distance_m(NOTHING, 0.0, 0.0) == float("inf")
    assert not covers(NOTHING, np.array([0.0]), np.array([0.0])).any()
    assert union_of([]).is_empty
    assert rings_m(NOTHING) == []


def test_a_spike_is_mended_and_a_bow_tie_refused_with_its_place():
    spike = shapely.Polygon([(0, 0), (10, 0), (10, 10), (5, 10), (5, 12), (5, 10), (0, 10)])
    bow_tie = shapely.Polygon([(0, 0), (10, 10), (10, 0), (0, 10)])

    assert sound(spike, "outline").area == pytest.approx(100.0)
    assert sound(spike, "outline").is_valid
    with pytest.raises(GeometryError, match=r"outline: Self-intersection\[5 5\]"):
        sound(bow_tie, "outline")


def test_ground_beyond_the_systems_reach_is_refused():
    far = {"type": "Polygon", "coordinates": [[[105, 0], [106, 0], [106, 1], [105, 0]]]}

    with pytest.raises(GeometryError, match="does not reach"):
        shape_of(projection(32633), far, "outline.geojson")


def test_a_shape_as_numbers_counts_from_the_origin_and_closes_its_rings():
    square = shapely.Polygon([(110, 220), (150, 220), (150, 260), (110, 260)],
                             [[(120, 230), (120, 240), (130, 240), (130, 230)]])

    assert rings_m(square, origin=(100.0, 200.0)) == [[
        [[10, 20], [50, 20], [50, 60], [10, 60], [10, 20]],
        [[20, 30], [20, 40], [30, 40], [30, 30], [20, 30]],
    ]]


def test_geojson_goes_out_as_it_came_in(nztm, feature, box):
    made = feature(box(0, 0, 250, 100), box(20, 20, 40, 40))
    shape = shape_of(nztm, made.geometry)
    out = geojson_of(nztm, shape, decimals=9)

    assert out["type"] == "MultiPolygon"
    assert shapely.is_ccw(shapely.LinearRing(out["coordinates"][0][0]))
    again = shape_of(nztm, out)
    assert shapely.hausdorff_distance(shape, again) < 1e-3
    assert bounds_of(again) == pytest.approx(bounds_of(shape), abs=1e-3)


@given(st.floats(-150, 350, width=16), st.floats(-150, 250, width=16))
def test_a_place_is_covered_exactly_when_it_is_no_distance_off(x, y):
    shape = shapely.box(0, 0, 200, 100)
    inside = bool(covers(shape, np.array([x]), np.array([y]))[0])

    assert inside == (distance_m(shape, x, y) == 0.0)
