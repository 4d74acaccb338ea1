"""The ground sheet: its format, and what it says of the ground under a fix."""

import contextlib
import copy
import dataclasses
import io
import json
import zipfile
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Transformer

from fieldapp.ground import (
    GroundError,
    answer,
    cell_at,
    chance_in_cell,
    edge,
    pack_sheet,
    sheet_json,
    sheet_of,
    state_on,
    unpack_sheet,
)
from fieldapp.record import Where

KEY = b"k" * 32
AT = (-42.86, 169.69)
M_PER_DEG = (111_100.0, 81_600.0)
ZONE = ZoneInfo("Pacific/Auckland")
#: Midday of 10 January 2026 at the block: 9 January 23:00 UTC.
NOW = datetime(2026, 1, 9, 23, 0, tzinfo=UTC)
TODAY = date(2026, 1, 10)


def box(west, south, east, north):
    return [[[[west, south], [east, south], [east, north], [west, north], [west, south]]]]


def cell(name, column, state="ready", **more):
    west = 100 * column
    return {"cell": name, "shape": box(west, 0, west + 100, 100), "ground_class": "lawn",
            "state": state, "why": f"{state} by the shed", "rest_ends": None, "then": None,
            "left_kg": 900, "left_bags": 130, **more}


def sheet_obj(**changes):
    """Five cells in a row, A01 to E01, in a block of 500 by 100 m."""
    obj = {
        "sheet": 1, "id": "0a1b2c3d", "block": {"id": "km7q2x4a", "name": "Kettle Mire"},
        "for": "p3", "made_at": "2026-01-09T05:00:00.000Z",
        "good_until": "2026-01-16T05:00:00.000Z", "zone": "Pacific/Auckland",
        "season_start": "07-01",
        "map": {"at": list(AT),
                "to_m": [[0, 0, M_PER_DEG[1], 0, 0, 0], [0, M_PER_DEG[0], 0, 0, 0, 0]],
                "to_deg": [[0, 0, 1 / M_PER_DEG[0], 0, 0, 0], [0, 1 / M_PER_DEG[1], 0, 0, 0, 0]]},
        "cell_m": 100, "outline": box(0, 0, 500, 100),
        "cells": [cell("A01", 0), cell("B01", 1),
                  cell("C01", 2, "resting", rest_ends="2026-01-15", then="ready", left_kg=0,
                       left_bags=0),
                  cell("D01", 3, "unsurveyed", left_kg=None, left_bags=None),
                  cell("E01", 4, "closed", left_kg=0, left_bags=0)],
        "closures": [], "pegs": [{"name": "peg 1", "at": [1, 2]}],
        "marks": [{"what": "pile", "name": "P3-6", "at": [50, 50], "bags": 5.5}],
        "permits": [{"permit": "KM-0417", "left": None}],
        "people": [{"code": "MT", "call": "M.T."}],
        "plots": [{"plot": "031", "cell": "A01", "at": [40, 60], "when": "survey",
                   "spare": False, "again": True, "ground_class": "lawn"}],
        "probes": 3, "frame_m": 0.5, "check_in_min": 60, "declination_deg": 23.6,
        "gate": None, "bag_types": [{"type": "sack", "wet_kg": 88, "dry_kg": 6.8}],
        "label_from": 15, "held": [[1, 8]], "held_of": "p3-k7f2",
    }
    obj.update(changes)
    return obj


def sheet_with(**changes):
    return sheet_of(sheet_obj(**changes))


def at_m(x, y, *, acc_m=4.0, age_s=1.0):
    return Where(AT[0] + y / M_PER_DEG[0], AT[1] + x / M_PER_DEG[1], age_s, acc_m)


def ask(sheet, x, y, *, now=NOW, **fix):
    return answer(sheet, at_m(x, y, **fix), now=now, zone=ZONE)


def closure(west, south, east, north, *, since=None, until=None):
    return {"shape": box(west, south, east, north), "from": since, "until": until,
            "why": "nesting"}


# What the band says


def test_ready_ground_far_from_any_edge_is_ready_and_sure():
    said = ask(sheet_with(), 150, 50)
    assert (said.cell, said.state, said.band, said.sure) == ("B01", "ready", "ready", True)
    assert (said.left_bags, said.left_kg, said.why) == (130, 900.0, "ready by the shed")
    assert said.edge_m == pytest.approx(50.0)
    assert [said.near_edge, said.cannot_tell, said.outside, said.sheet_old] == [False] * 4


@pytest.mark.parametrize(("x", "state"), [
    (50, "ready"), (250, "resting"), (350, "unsurveyed"), (450, "closed")])
def test_each_state_is_said_in_the_middle_of_its_cell(x, state):
    assert ask(sheet_with(), x, 50).band == state


def test_used_up_ground_is_taken_and_not_ready():
    said = ask(sheet_with(cells=[cell("A01", 0, "taken", left_bags=0, left_kg=0)]), 50, 50)
    assert (said.band, said.left_bags) == ("taken", 0)


def test_the_line_between_two_ready_cells_is_no_edge():
    said = ask(sheet_with(outline=box(0, -900, 500, 900)), 100.5, 50)
    assert (said.cell, said.sure, said.edge_to, said.edge_dir) == ("B01", True, "C01", "E")
    assert said.edge_m == pytest.approx(99.5)
    assert said.edge_state == "resting"


def test_near_an_edge_both_cells_are_named():
    said = ask(sheet_with(), 196, 50)
    assert (said.band, said.sure) == ("near_edge", False)
    assert (said.cell, said.state, said.edge_to, said.edge_state, said.edge_dir) == (
        "B01", "ready", "C01", "resting", "E")


def test_a_fix_is_near_an_edge_within_one_point_one_of_its_radius():
    assert ask(sheet_with(), 195.7, 50, acc_m=4.0).near_edge
    assert not ask(sheet_with(), 195.5, 50, acc_m=4.0).near_edge


def test_a_weak_fix_needs_more_room():
    assert ask(sheet_with(), 150, 50, acc_m=28.0).band == "ready"
    assert ask(sheet_with(), 150, 50, acc_m=48.0).band == "near_edge"


def test_a_fix_without_a_radius_is_taken_as_fifteen_metres():
    assert ask(sheet_with(), 184, 50, acc_m=None).near_edge
    assert not ask(sheet_with(), 183, 50, acc_m=None).near_edge


def test_a_stale_fix_cannot_tell_though_it_says_where_it_was():
    said = ask(sheet_with(), 150, 50, age_s=31.0)
    assert (said.band, said.sure, said.cell, said.age_s) == ("cannot_tell", False, "B01", 31.0)
    assert ask(sheet_with(), 150, 50, age_s=30.0).band == "ready"


def test_without_a_fix_nothing_is_said_of_the_ground():
    said = answer(sheet_with(), None, now=NOW, zone=ZONE)
    assert (said.band, said.cell, said.state, said.edge_m) == ("cannot_tell", None, None, None)


def test_outside_the_block_the_way_back_is_told():
    said = ask(sheet_with(), 540, 50)
    assert (said.band, said.cell, said.state, said.edge_to, said.edge_dir) == (
        "outside", None, None, "E01", "W")
    assert said.outside_m == pytest.approx(40.0, abs=1e-6)
    assert said.sure
    assert not ask(sheet_with(), 502, 50).sure


def test_a_fix_on_another_continent_is_outside():
    sheet = sheet_with()
    for lat, lon in ((52.0, 13.0), (-42.86, -10.3), (90.0, 0.0), (-42.86, 349.0)):
        said = answer(sheet, Where(lat, lon, 1.0, 4.0), now=NOW, zone=ZONE)
        assert said.outside
        assert said.outside_m > 1e6


def test_a_hole_in_the_outline_is_outside():
    holed = box(0, 0, 100, 100)
    holed[0].append([[40, 40], [60, 40], [60, 60], [40, 60], [40, 40]])
    sheet = sheet_with(outline=holed, cells=[cell("A01", 0, shape=holed)])
    assert ask(sheet, 50, 50).band == "outside"
    near = ask(sheet, 30, 50)
    assert (near.edge_to, near.edge_dir, near.band) == (None, "E", "ready")
    assert near.edge_m == pytest.approx(10.0)


def test_a_sliver_in_no_cell_counts_to_the_nearest():
    sheet = sheet_with(outline=box(-0.5, 0, 500, 100))
    assert cell_at(sheet, -0.2, 50).name == "A01"
    assert cell_at(sheet, -0.7, 50) is None


# However old the sheet


def test_a_twelve_days_old_sheet_knows_that_a_rest_has_ended():
    late = datetime(2026, 1, 21, 5, 0, tzinfo=UTC)
    said = ask(sheet_with(), 250, 50, now=late)
    assert (said.state, said.sheet_old, said.sheet_days) == ("ready", True, 12)
    assert (said.left_bags, said.left_kg, said.why, said.rest_ends) == (None, None, "", None)


def test_picking_is_allowed_on_the_day_the_rest_ends_by_the_block_s_own_midnight():
    midnight = datetime(2026, 1, 14, 11, 0, tzinfo=UTC)
    assert ask(sheet_with(), 250, 50, now=midnight - timedelta(seconds=1)).state == "resting"
    assert ask(sheet_with(), 250, 50, now=midnight).state == "ready"
    assert ask(sheet_with(), 250, 50).rest_ends == date(2026, 1, 15)


def test_a_rest_without_a_then_or_an_end_is_never_guessed_ready():
    cells = [cell("A01", 0, "resting", rest_ends="2026-01-09"), cell("B01", 1, "resting")]
    sheet = sheet_with(cells=cells, outline=box(0, 0, 200, 100))
    assert ask(sheet, 50, 50).state == "unsurveyed"
    assert ask(sheet, 150, 50).state == "resting"


def test_a_closure_may_begin_after_the_sheet_was_made_and_keeps_its_last_day():
    sheet = sheet_with(closures=[closure(100, 0, 200, 100, since="2026-01-18",
                                         until="2026-01-20")])
    days = [date(2026, 1, day) for day in (17, 18, 20, 21)]
    assert [state_on(sheet, sheet.cells[1], day) for day in days] == [
        "ready", "closed", "closed", "ready"]
    said = ask(sheet, 150, 50, now=datetime(2026, 1, 18, 0, 0, tzinfo=UTC))
    assert (said.band, said.why, said.left_bags) == ("closed", "nesting", None)


def test_a_closure_over_part_of_a_cell_closes_that_part_and_makes_an_edge():
    sheet = sheet_with(closures=[closure(150, -10, 180, 110)])
    assert state_on(sheet, sheet.cells[1], TODAY) == "ready"
    assert ask(sheet, 160, 50).state == "closed"
    west = ask(sheet, 120, 50)
    assert (west.state, west.edge_to, west.edge_state, west.edge_dir) == (
        "ready", "B01", "closed", "E")
    assert west.edge_m == pytest.approx(30.0)
    inside = ask(sheet, 160, 50)
    assert (inside.edge_to, inside.edge_state, inside.edge_dir) == ("B01", "ready", "W")
    assert inside.edge_m == pytest.approx(10.0)


def test_two_closures_that_together_cover_a_cell_close_it():
    halves = [closure(100, 0, 150, 100), closure(150, 0, 200, 100)]
    sheet = sheet_with(closures=halves)
    assert state_on(sheet, sheet.cells[1], TODAY) == "closed"
    assert state_on(sheet, sheet.cells[0], TODAY) == "ready"


def test_where_closures_overlap_one_leaves_past_the_farther_border():
    sheet = sheet_with(closures=[closure(100, 0, 150, 100), closure(110, 0, 190, 100)])
    out = edge(sheet, 125, 50, TODAY)
    assert (out.edge_m, out.cell, out.state, out.direction) == (25.0, "B01", "closed", "E")


def test_ground_closed_on_the_sheet_opens_only_to_what_the_shed_named():
    cells = [cell("A01", 0, "closed"), cell("B01", 1, "closed", then="ready"),
             cell("C01", 2, "closed", then="unsurveyed", rest_ends="2026-02-01")]
    sheet = sheet_with(cells=cells, outline=box(0, 0, 300, 100),
                       closures=[closure(0, 0, 300, 100, until="2026-01-09")])
    assert [state_on(sheet, one, TODAY) for one in sheet.cells] == ["closed", "ready", "resting"]
    assert [state_on(sheet, one, date(2026, 1, 9)) for one in sheet.cells] == ["closed"] * 3


def test_a_point_on_an_edge_has_no_direction():
    on = edge(sheet_with(), 200.0, 50.0, TODAY)
    assert (on.edge_m, on.direction, on.cell) == (0.0, None, "B01")


@given(st.floats(1, 499), st.floats(1, 99), st.floats(0, 6.3), st.floats(0.0, 0.999))
def test_within_the_edge_s_distance_the_state_stays_the_same(x, y, turn, share):
    sheet = sheet_with(closures=[closure(30, 20, 130, 70), closure(260, 0, 300, 40)])
    reach = edge(sheet, x, y, TODAY).edge_m * share
    here, there = ask(sheet, x, y), ask(sheet, x + reach * np.sin(turn), y + reach * np.cos(turn))
    assert here.state == there.state


def test_the_chance_of_a_cell_is_half_on_its_border():
    sheet = sheet_with()
    assert chance_in_cell(sheet, sheet.cells[1], at_m(200, 50)) == pytest.approx(0.5, abs=1e-6)
    assert chance_in_cell(sheet, sheet.cells[1], at_m(150, 50)) == pytest.approx(1.0, abs=1e-9)


# The map


def test_a_second_degree_map_is_within_half_a_millimetre_over_four_kilometres():
    """The rows mean what `GroundMap` says: fitted here to a projection in use (NZTM 2000)."""
    to_grid = Transformer.from_crs(4326, 2193, always_xy=True)
    lat, lon = (a.ravel() for a in np.meshgrid(AT[0] + np.linspace(-.018, .018, 9),
                                               AT[1] + np.linspace(-.0245, .0245, 9)))
    east, north = to_grid.transform(lon, lat)
    origin = to_grid.transform(AT[1], AT[0])
    x, y, u, v = east - origin[0], north - origin[1], lat - AT[0], lon - AT[1]

    def rows(a, b, *targets):
        terms = np.stack([np.ones_like(a), a, b, a * a, a * b, b * b], axis=1)
        size = np.abs(terms).max(axis=0)
        return [(np.linalg.lstsq(terms / size, t, rcond=None)[0] / size).tolist() for t in targets]

    fitted = {"at": list(AT), "to_m": rows(u, v, x, y), "to_deg": rows(x, y, u, v)}
    map_ = sheet_with(map=fitted).map
    off = [np.hypot(*np.subtract(map_.to_m(a, b), (c, d)))
           for a, b, c, d in zip(lat, lon, x, y, strict=True)]
    back = [np.hypot(*np.subtract(map_.to_m(*map_.to_deg(c, d)), (c, d)))
            for c, d in zip(x, y, strict=True)]
    assert max(off) < 0.0005
    assert max(back) < 0.001


def test_a_block_across_the_date_line_is_one_ground():
    fiji = sheet_obj()
    fiji["map"]["at"] = [-16.5, 179.999]
    sheet = sheet_of(fiji)
    x, _ = sheet.map.to_m(-16.5, -179.999)
    assert x == pytest.approx(0.002 * M_PER_DEG[1])
    assert sheet.map.to_deg(x, 0.0)[1] == pytest.approx(-179.999)


def test_a_map_whose_halves_disagree_is_refused():
    odd = sheet_obj()
    odd["map"]["to_deg"] = odd["map"]["to_deg"][::-1]
    with pytest.raises(GroundError, match=r"^map="):
        sheet_of(odd)


# The format


def test_a_sheet_is_the_same_after_writing_and_reading():
    obj = sheet_obj(closures=[closure(0, 0, 9, 9, since="2026-01-18")], gate=[5, 6.5])
    sheet = sheet_of(obj)
    assert sheet_json(sheet) == obj
    assert sheet_of(json.loads(json.dumps(sheet_json(sheet)))) == sheet
    assert dataclasses.is_dataclass(sheet)
    assert hash(sheet) == hash(sheet_of(copy.deepcopy(obj)))


def test_a_sheet_that_does_not_say_whose_numbers_it_holds_holds_nobodys():
    named = sheet_with(held_of="p3-k7f2")
    unnamed = sheet_obj()
    del unnamed["held_of"]

    assert named.held_by("p3-k7f2") == ((1, 8),)
    assert named.held_by("p3-aaaa") == ()
    for sheet in (sheet_of(unnamed), sheet_with(held_of=None)):
        assert (sheet.held, sheet.held_of) == (((1, 8),), None)
        assert sheet.held_by("p3-k7f2") == ()


def test_unknown_fields_are_passed_over():
    assert sheet_of({**sheet_obj(), "later": {"more": 1}}) == sheet_with()


@pytest.mark.parametrize("key", sorted(sheet_obj().keys() - {"held_of"}))
def test_a_missing_field_is_named(key):
    obj = sheet_obj()
    del obj[key]
    with pytest.raises(GroundError, match=f"^{key} is missing$"):
        sheet_of(obj)


@pytest.mark.parametrize(("path", "value", "said"), [
    ("sheet", 2, "sheet=2: must be 1"),
    ("id", "0A1B2C3D", "id='0A1B2C3D'"),
    ("for", "p3-k7f2", "for='p3-k7f2'"),
    ("made_at", "2026-02-30T05:00:00.000Z", "made_at='2026-02-30"),
    ("zone", "../../etc/passwd", "zone='../"),
    ("zone", "Mars/Olympus", "zone='Mars/Olympus': is no time zone"),
    ("season_start", "02-30", "season_start='02-30'"),
    ("cell_m", 24, "cell_m=24: must lie between"),
    ("cell_m", True, "cell_m=True: must be a number"),
    ("cell_m", float("nan"), "cell_m=nan"),
    ("outline", [], r"outline=\[\]"),
    ("outline", [[[[0, 0], [1, 0], [1, 1], [0, 1]]]], "outline=.*the last on the first"),
    ("cells.0.cell", "a1", r"cells\[0\].cell='a1'"),
    ("cells.1.cell", "A01", "cells='A01': stands twice"),
    ("cells.0.state", "open", r"cells\[0\].state='open': must be one of"),
    ("cells.0.then", "closed", r"cells\[0\].then='closed'"),
    ("cells.0.rest_ends", "2026-1-5", r"cells\[0\].rest_ends='2026-1-5'"),
    ("cells.0.rest_ends", "2026-02-30", r"cells\[0\].rest_ends='2026-02-30'"),
    ("cells.0.left_bags", 1.5, r"cells\[0\].left_bags=1.5: must be a whole number"),
    ("cells.0.left_kg", -1, r"cells\[0\].left_kg=-1"),
    ("map.at", [0], r"map.at=\[0\]"),
    ("map.to_m", [[0] * 6], "map.to_m="),
    ("map.to_m", [[0] * 6, [0] * 5], "map.to_m="),
    ("plots.0.again", 1, r"plots\[0\].again=1: must be true or false"),
    ("marks.0.what", "bomb", r"marks\[0\].what='bomb'"),
    ("marks.0.at", [1e9, 0], r"marks\[0\].at=1000000000.0"),
    ("people.0.code", "mt", r"people\[0\].code='mt'"),
    ("probes", 0, "probes=0"), ("bag_types", [], r"bag_types=\[\]"),
    ("held", [[8, 1]], r"held\[0\]=\[8, 1\]: must run upwards"),
    ("held_of", "p3", "held_of='p3': has another shape"),
    ("held_of", "p3-k7f2 ", "held_of='p3-k7f2 '"), ("held_of", 3, "held_of=3"),
    ("block", "Kettle", "block='Kettle': must be an object"),
    ("label_from", 0, "label_from=0"),
])
def test_a_wrong_field_is_named_with_what_stood_there(path, value, said):
    obj = sheet_obj()
    *way, last = path.split(".")
    inner = obj
    for step in way:
        inner = inner[int(step) if step.isdigit() else step]
    inner[last] = value
    with pytest.raises(GroundError, match="^" + said):
        sheet_of(obj)


@given(st.recursive(st.none() | st.booleans() | st.floats() | st.integers() | st.text(),
                    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner)),
       st.sampled_from(sorted(sheet_obj())))
def test_any_nonsense_in_any_field_is_taken_or_refused_but_never_breaks(value, key):
    try:
        sheet_of({**sheet_obj(), key: value})
    except GroundError as error:
        assert len(str(error)) < 300  # noqa: PT017  # both outcomes are allowed


# The file


def test_a_sealed_sheet_comes_out_as_it_went_in_and_is_the_same_each_time():
    packed = pack_sheet(sheet_obj(), program="0.1.0", key=KEY)
    assert unpack_sheet(packed, key=KEY) == sheet_with()
    assert packed == pack_sheet(dict(reversed(sheet_obj().items())), program="0.1.0", key=KEY)
    manifest = json.loads(zipfile.ZipFile(io.BytesIO(packed)).read("manifest.json"))
    assert list(manifest) == ["block", "for", "id", "made_at", "program", "seal", "sheet",
                              "sheet_sha256"]


def test_a_sheet_for_a_phone_never_paired_is_unsealed():
    packed = pack_sheet(sheet_obj(), program="0.1.0", key=None)
    assert unpack_sheet(packed, key=None) == sheet_with()
    with pytest.raises(GroundError, match="not sealed with this phone's key"):
        unpack_sheet(packed, key=KEY)


def test_a_sheet_of_another_key_is_refused():
    packed = pack_sheet(sheet_obj(), program="0.1.0", key=KEY)
    with pytest.raises(GroundError, match="not sealed with this phone's key"):
        unpack_sheet(packed, key=b"x" * 32)
    with pytest.raises(GroundError, match="pair this one first"):
        unpack_sheet(packed, key=None)


def rezipped(packed, **changes):
    parts = zipfile.ZipFile(io.BytesIO(packed))
    content = {name: parts.read(name) for name in parts.namelist()}
    content.update({name.replace("_", "."): data for name, data in changes.items()})
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        for name, data in content.items():
            made.writestr(name, data)
    return out.getvalue()


def test_a_changed_sheet_or_a_stranger_in_the_zip_is_refused():
    packed = pack_sheet(sheet_obj(), program="0.1.0", key=KEY)
    other = json.dumps(sheet_obj(label_from=1)).encode()
    with pytest.raises(GroundError, match="sum does not match"):
        unpack_sheet(rezipped(packed, sheet_json=other), key=KEY)
    with pytest.raises(GroundError, match="no ground sheet"):
        unpack_sheet(rezipped(packed, notes_txt=b"hello"), key=KEY)
    with pytest.raises(GroundError, match="no zip file"):
        unpack_sheet(packed[:-40], key=KEY)


def test_a_manifest_that_speaks_of_another_sheet_is_refused():
    packed = pack_sheet(sheet_obj(), program="0.1.0", key=None)
    manifest = json.loads(zipfile.ZipFile(io.BytesIO(packed)).read("manifest.json"))
    manifest["for"] = "p4"
    with pytest.raises(GroundError, match=r"manifest\.json for='p4' is not"):
        unpack_sheet(rezipped(packed, manifest_json=json.dumps(manifest).encode()), key=None)


def test_a_sheet_that_a_phone_would_refuse_is_never_packed():
    with pytest.raises(GroundError, match="probes=0"):
        pack_sheet(sheet_obj(probes=0), program="0.1.0", key=KEY)


@given(st.integers(0, 5000), st.binary(min_size=1, max_size=3))
def test_flipped_bytes_are_refused_or_change_nothing(place, patch):
    packed = pack_sheet(sheet_obj(), program="0.1.0", key=KEY)
    place %= len(packed)
    broken = packed[:place] + patch + packed[place + len(patch):]
    with contextlib.suppress(GroundError):
        assert unpack_sheet(broken, key=KEY) == sheet_with()
