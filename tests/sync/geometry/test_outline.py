import json
from datetime import date

import pytest

from sync.errors import GeometryError, IntakeError
from sync.geometry.outline import features_of, outline_from_gpx, outline_of
from sync.geometry.shapes import area_m2, shape_of

RING = [[169.69, -42.86], [169.70, -42.86], [169.70, -42.85], [169.69, -42.85], [169.69, -42.86]]
SQUARE = {"type": "Polygon", "coordinates": [RING]}


def gpx_of(*places):
    points = "".join(f'<trkpt lat="{lat}" lon="{lon}"/>' for lat, lon in places)
    return f'<gpx version="1.1" creator="t"><trk><trkseg>{points}</trkseg></trk></gpx>'


def test_a_collection_a_feature_and_a_geometry_are_read_alike():
    feature = {"type": "Feature", "properties": None, "geometry": SQUARE}
    forms = [SQUARE, feature, {"type": "FeatureCollection", "features": [feature]},
             {"type": "GeometryCollection", "geometries": [SQUARE]}]

    for form in forms:
        (read,) = outline_of(form)

        assert json.loads(json.dumps(read.geometry)) == SQUARE
        assert (read.since, read.until) == (None, None)


def test_a_feature_keeps_its_properties_and_its_days():
    feature = {"type": "Feature", "geometry": SQUARE,
               "properties": {"parcel": "North", "from": "2024-07-01", "until": "2026-06-30"}}
    (read,) = features_of(feature)

    assert read.properties["parcel"] == "North"
    assert (read.since, read.until) == (date(2024, 7, 1), date(2026, 6, 30))


@pytest.mark.parametrize(("found", "why"), [
    ([], "no GeoJSON object"),
    ({}, "only Polygon and MultiPolygon"),
    ({"type": "FeatureCollection", "features": []}, "holds no polygon"),
    ({"type": "FeatureCollection", "features": None}, "features=None is no list"),
    ({"type": "FeatureCollection", "features": [SQUARE]}, "feature 1: no GeoJSON feature"),
    ({"type": "Feature", "properties": {}, "geometry": None}, "no geometry"),
    ({"type": "LineString", "coordinates": RING}, "type='LineString'"),
    ({"type": "Point", "coordinates": [169.69, -42.86]}, "type='Point'"),
    ({"type": "Polygon", "coordinates": []}, "empty polygon"),
    ({"type": "MultiPolygon", "coordinates": []}, "empty"),
    ({"type": "Polygon", "coordinates": [RING[:2]]}, "fewer than 4"),
    ({"type": "Polygon", "coordinates": [RING[:4]]}, "not closed"),
    ({"type": "Polygon", "coordinates": [[[1329400, 5249300]] * 4]}, "metres, not degrees"),
    ({"type": "Polygon", "coordinates": [[[-42.86, 169.69]] * 4]}, "longitude comes first"),
    ({"type": "Polygon", "coordinates": [[["1", 2]] * 4]}, "no position"),
    ({"type": "Polygon", "coordinates": [[[float("nan"), 2.0]] * 4]}, "no position"),
    ({"type": "Polygon", "coordinates": [[[True, 2.0]] * 4]}, "no position"),
    ({"type": "Polygon", "coordinates": [[[0, 0], [1, 1], [1, 0], [0, 1], [0, 0]]]},
     r"Self-intersection\[0.5 0.5\]"),
    ({**SQUARE, "crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::2193"}}},
     "export it again as WGS 84"),
    ({"type": "Feature", "geometry": SQUARE, "properties": {"from": "July"}}, "from='July'"),
    ({"type": "Feature", "geometry": SQUARE,
      "properties": {"from": "2026-01-02", "until": "2026-01-01"}}, "before from"),
])
def test_what_is_no_outline_is_refused_with_the_reason(found, why):
    with pytest.raises(GeometryError, match=why) as refused:
        outline_of(found)

    assert str(refused.value).startswith("outline.geojson")
    assert "\n" not in str(refused.value)


def test_a_walk_whose_ends_meet_is_an_outline(nztm):
    (walked,) = outline_from_gpx(gpx_of(
        (-42.86, 169.69), (-42.86, 169.70), (-42.85, 169.70), (-42.85, 169.69),
        (-42.8597, 169.69)))
    drawn = shape_of(nztm, SQUARE)

    assert area_m2(nztm, shape_of(nztm, walked.geometry)) == pytest.approx(
        area_m2(nztm, drawn), rel=0.001)
    assert features_of(walked.geometry)


def test_a_loop_drawn_at_a_stop_is_cut_off_a_walk(nztm):
    (walked,) = outline_from_gpx(gpx_of(
        (-42.86, 169.69), (-42.86, 169.70), (-42.85, 169.70), (-42.84998, 169.70002),
        (-42.85002, 169.70002), (-42.84999, 169.69998), (-42.85, 169.69), (-42.86, 169.69)))

    assert walked.geometry["type"] == "Polygon"
    assert len(walked.geometry["coordinates"]) == 1
    assert area_m2(nztm, shape_of(nztm, walked.geometry)) == pytest.approx(
        area_m2(nztm, shape_of(nztm, SQUARE)), rel=0.001)


@pytest.mark.parametrize(("places", "why"), [
    ([(-42.86, 169.69), (-42.86, 169.70), (-42.85, 169.70), (-42.85, 169.69)], "m apart; walk on"),
    ([(-42.86, 169.69), (-42.86, 169.70), (-42.86, 169.69)], "3 places"),
    ([(-42.86, 169.69)] * 9, "1 places"),
    ([(-42.86, 169.69), (-42.85, 169.70), (-42.86, 169.70), (-42.85, 169.69), (-42.86, 169.69)],
     "Self-intersection"),
    ([(-42.86, 169.69), (-42.86, 169.70), (-42.86, 169.71), (-42.86, 169.69)], "several pieces"),
])
def test_a_walk_that_is_no_outline_is_refused(places, why):
    with pytest.raises(GeometryError, match=why):
        outline_from_gpx(gpx_of(*places))


def test_a_real_walk_that_comes_home_but_crosses_itself_is_refused(published_file):
    with pytest.raises(GeometryError, match="the walked outline"):
        outline_from_gpx(published_file("cerknicko-jezero.gpx"))


def test_a_file_that_is_no_gpx_is_refused_as_one_from_outside():
    with pytest.raises(IntakeError, match="no <gpx> element"):
        outline_from_gpx("lat,lon\n1,2\n")
