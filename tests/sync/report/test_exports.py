"""The register as CSV and as GeoJSON."""

import csv
import io
import json

import pytest
from shapely.geometry import Polygon, shape

from sync.report.csv_rows import flat, flat_columns, register_csv
from sync.report.geojson import register_geojson


@pytest.fixture(scope="module")
def rows(document):
    return {row["cell"]: row for row in csv.DictReader(io.StringIO(register_csv(document)))}


@pytest.fixture(scope="module")
def collection(document, register):
    return json.loads(register_geojson(document, register))


def test_a_line_a_cell_under_one_header_with_cr_lf(document):
    text = register_csv(document)
    lines = text.split("\r\n")
    assert lines[0].split(",") == flat_columns()
    assert len(lines) == 11
    assert lines[-1] == ""
    assert "\n" not in text.replace("\r\n", "")


def test_the_columns_are_the_keys_of_a_cell_in_their_order(document):
    keys = list(dict.fromkeys(
        next(key for key in document["cells"][0] if column.startswith(key)
             and column[len(key):len(key) + 1] in {"", "_"})
        for column in flat_columns()))
    assert keys == list(document["cells"][0])
    assert len(set(flat_columns())) == len(flat_columns())


def test_ranges_lie_side_by_side_and_null_is_empty(rows, document, made):
    crop = made.cell(document, "A01")["standing_crop_kg"]
    assert rows["A01"]["standing_crop_kg_value"] == str(crop["value"])
    assert rows["A01"]["standing_crop_kg_low"] == str(crop["low"])
    assert rows["A01"]["last_picked_kg_value"] == ""
    assert rows["B02"]["last_picked_kg_value"] == "420"
    assert rows["B02"]["depth_mm_low"] == ""
    assert rows["B02"]["crop_forecast"] == "true"
    assert rows["A02"]["complete"] == "false"


def test_every_value_of_a_cell_is_in_its_line(document):
    def leaves(value):
        if isinstance(value, dict):
            return [leaf for one in value.values() for leaf in leaves(one)]
        return [] if value is None else [value]

    for row in document["cells"]:
        laid = [value for value in flat(row).values() if value is not None]
        assert laid == leaves(row)


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@sum", "\tx"])
def test_a_text_that_a_spreadsheet_would_run_is_made_harmless(document, text):
    cell = {**document["cells"][0], "why": text, "water_table_mm": -120}
    read = next(csv.DictReader(io.StringIO(register_csv({"cells": [cell]}), newline="")))
    assert read["why"] == "'" + text
    assert read["water_table_mm"] == "-120", "a number is no text"


def test_quotes_commas_and_line_ends_come_back_whole(document):
    why = 'closed: "the Pan", all of it\r\nuntil spring'
    cell = {**document["cells"][0], "why": why}
    read = next(csv.DictReader(io.StringIO(register_csv({"cells": [cell]}), newline="")))
    assert read["why"] == why


def test_no_cell_still_has_a_header():
    assert register_csv({"cells": []}) == ",".join(flat_columns()) + "\r\n"


def test_a_feature_a_cell_with_its_row_as_properties(collection, document):
    assert collection["type"] == "FeatureCollection"
    assert collection["on"] == "2026-02-20"
    assert [one["id"] for one in collection["features"]] == [
        row["cell"] for row in document["cells"]]
    for one, row in zip(collection["features"], document["cells"], strict=True):
        assert one["type"] == "Feature"
        assert one["properties"] == flat(row)


def test_outer_rings_run_counter_clockwise_and_the_pool_clockwise(collection):
    for one in collection["features"]:
        assert one["geometry"]["type"] == "Polygon"
        outer, *holes = one["geometry"]["coordinates"]
        assert outer[0] == outer[-1]
        assert Polygon(outer).exterior.is_ccw
        assert len(holes) == (one["id"] == "B02")
        for hole in holes:
            assert not Polygon(hole).exterior.is_ccw
        assert shape(one["geometry"]).is_valid


def test_places_are_longitude_first_with_seven_decimals_within_the_box(collection):
    west, south, east, north = collection["bbox"]
    assert 169 < west < east < 170
    assert -43 < south < north < -42
    corner = [round(v, 7) for v in (169.6899, -42.8620)]
    found = [place for one in collection["features"]
             for ring in one["geometry"]["coordinates"] for place in ring]
    assert min(abs(lon - corner[0]) for lon, _ in found) < 0.01
    for lon, lat in found:
        assert (round(lon, 7), round(lat, 7)) == (lon, lat)
        assert west <= lon <= east
        assert south <= lat <= north
    assert {lon for lon, _ in found} >= {west, east}


def test_a_cell_in_two_pieces_is_a_multipolygon(made):
    north = made.Feature(made.polygon(made.box(0, 60, 100, 100)), {})
    south = made.Feature(made.polygon(made.box(0, 0, 100, 40)), {})
    register = made.small_register(known=(), outline=(north, south), classes=())
    (one,) = json.loads(register_geojson(made.document_of(register), register))["features"]
    assert one["geometry"]["type"] == "MultiPolygon"
    assert len(one["geometry"]["coordinates"]) == 2
    assert one["properties"]["area_ha"] == 0.8


def test_a_day_before_the_block_gives_an_empty_map(made):
    later = made.Feature(made.polygon(made.box(0, 0, 100, 100)), {},
                         since=made.date(2030, 1, 1))
    register = made.small_register(known=(), outline=(later,), classes=())
    found = json.loads(register_geojson(made.document_of(register), register))
    assert found["features"] == []
    assert "bbox" not in found
