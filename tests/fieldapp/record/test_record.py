import hashlib
import json
import math
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fieldapp.record import (
    CELL,
    DEVICE,
    KINDS,
    LABEL,
    NAME,
    PERSON,
    FileError,
    LineError,
    RecordError,
    Usual,
    Where,
    canonical,
    decode_track,
    encode_track,
    instant,
    is_known_kind,
    name_of,
    parse_line,
    problems,
    questions,
    split_name,
    stamp,
    sum_of,
    where_json,
    where_of,
)

PLACE = {"acc_m": 4, "age_s": 1, "lag_s": 0.2, "lat": -42.8571, "lon": 169.6941}
SHA = "a02c258ec5e2466a8da79a99a1dba7342e536fbeff60ad142911faa9a198adfe"
USUAL = Usual(frame_m=0.5, wet_kg_per_bag=30.0, probes=3)


def a(kind, **fields):
    record = {"device": "p3-k7f2", "seq": 9, "kind": kind, "at": "2026-01-20T19:10:00.000Z",
              "person": "MT", "where": PLACE, **fields}
    return {key: value for key, value in record.items() if value != "left out"}


QUADRAT = {"when": "survey", "side_m": 0.5, "cover_pct": 60, "depth_mm": [80, 95, 70]}
POINTS = {"t0": "2026-01-20T18:40:00.000Z", "dt_ms": [0, 5000], "lat_e7": [-428571000, 12],
          "lon_e7": [1696941000, -7], "acc_m": [4, 255], "lag_s": 0.2}
THINNED = {"sum": SHA, "swept_m2": {"C07": {"2026-01-21": 410}}, "spans": [
    {"from": "2026-01-20T18:40:00.000Z", "to": "2026-01-20T19:10:00.000Z",
     "cells": {"C07": [1600, 0.97]}}]}
RETURN = {"permit": "CL-1", "what": "return", "year": 2025,
          "known_by": "2026-01-20T19:10:00.000Z", "taken": 812.5, "sum": SHA}
SQUARE = {"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 0]]]}

ACCEPTED = {
    "outing": [
        {"state": "start", "role": "picker", "cell": "C07",
         "sheet": {"id": "0a1b2c3d", "made_at": "2026-01-20T05:00:00.000Z"}},
        {"state": "start", "role": "surveyor"}, {"state": "pause"}, {"state": "resume"},
        {"state": "resume", "role": "picker", "cell": "AA012"},
        {"state": "end", "finished": ["C07", "C08"]}, {"state": "end", "finished": []}],
    "track": [POINTS, {**POINTS, "acc_m": None}, {"thinned": THINNED}],
    "bag": [
        {"bags": 1, "press_ms": 140}, {"bags": 0.5, "for": "DW", "pile": "P3-6"},
        {"bags": 40, "type": "small", "wet_kg": 1200},
        {"bags": 9, "cell": "K04", "covers": ["p2-c3d4", 3, 5], "device": "shed"},
        {"bags": 0, "covers": ["p2-c3d4", 3, 3], "device": "form-tally7"},
        {"bags": 2, "cell": "K04", "device": "shed", "wet_kg": 800}],
    "void": [{"of": "p3-k7f2:8"}, {"of": "p1-a2b3:900", "device": "shed"},
             {"of": "shed:8", "device": "shed"}],
    "quadrat": [
        QUADRAT, {**QUADRAT, "plot": "031", "again": True, "clip": "P1-014",
                  "photo": "p1-a2b3-4.jpg", "ground_class": "lawn", "scrub_pct": 0,
                  "rush_pct": 100, "water_table_mm": -120, "cover_step_pct": 10,
                  "depth_step_mm": 5, "instead_of": "p3-k7f2:3"},
        {**QUADRAT, "cover_pct": 0, "depth_mm": []}, {**QUADRAT, "depth_mm": [800], "side_m": 2}],
    "skip": [{"plot": "031", "why": why}
             for why in ("pool", "scrub", "flooded_today", "unsafe", "other")],
    "clip": [
        {"clip": "P1-014", "cut": "plug", "area_m2": 0.0625, "from_mm": 0, "to_mm": 100},
        {"clip": "P1-014", "dried": "oven", "dry_g": 71.25},
        {"clip": "P1-014", "cut": "plug", "area_m2": 0.0625, "from_mm": 0, "to_mm": 100,
         "wet_g": 1100, "dry_g": 71.25, "dried": "oven"},
        {"clip": "P1-015", "cut": "frame", "area_m2": 0.25, "from_mm": 0, "to_mm": 120,
         "dry_g": 20}],
    "mark": [{"what": "pile", "name": "P3-6"}, {"what": "hazard", "name": "", "photo": "h-1.jpg"}],
    "work": [{"what": "scrub_cut", "cells": ["C07"], "hours": 2.5},
             {"what": "driven", "outline": SQUARE},
             {"what": "sprayed", "cells": ["C07"], "product": "x", "hold_days": 0}],
    "check_in": [{"state": "fine"}, {"state": "help"}],
    "batch": [{"batch": "P3-014", "stage": "weighed", "bags": 12, "wet_kg": 360},
              {"batch": "P3-014", "stage": "dried", "dry_kg": 31.5, "moist_pct": 12,
               "pure_pct": 97, "from": ["P3-6"]}],
    "past_pick": [{"cell": "C07", "from": "2019-10-01"},
                  {"cell": "C07", "from": "2019-10-01", "to": "2019-10-01", "share_pct": 60,
                   "dry_kg": 0}],
    "notice": [{"permit": "CL-1", "what": "start", "start": "2026-02-01"}, RETURN],
    "ruling": [{"flag": "early_pick:C07:2025", "says": says, "seen": SHA}
               for says in ("upheld", "not_so", "agreed")]
    + [{"flag": "x", "says": "upheld", "seen": SHA, "figures": {"area_m2": 210}}],
}

PICKER = {"state": "start", "role": "picker"}
CLIP = {"clip": "P1-014"}
WORK = {"what": "rolled", "cells": ["C07"]}
BATCH = {"batch": "P3-014", "stage": "weighed"}
PAST = {"cell": "C07", "from": "2019-10-01"}
RULING = {"flag": "x", "says": "upheld", "seen": SHA}

#: Kind, fields that pass, fields that break it, the one field told.
REFUSED = [
    ("outing", PICKER, {"state": "begin"}, "state"), ("outing", PICKER, {"state": None}, "state"),
    ("outing", PICKER, {"role": None}, "role"), ("outing", PICKER, {"role": "owner"}, "role"),
    ("outing", PICKER, {"sheet": "0a1b"}, "sheet"), ("outing", PICKER, {"cell": "c07"}, "cell"),
    ("outing", PICKER, {"sheet": {"id": "0a1b", "made_at": "yesterday"}}, "sheet"),
    ("outing", {"state": "end"}, {"finished": ["C7"]}, "finished"),
    ("outing", {"state": "end"}, {"finished": ["C07", "C07"]}, "finished"),
    ("track", POINTS, {"dt_ms": [5, 5000]}, "dt_ms"), ("track", POINTS, {"dt_ms": []}, "dt_ms"),
    ("track", POINTS, {"lat_e7": [1]}, "lat_e7"),
    ("track", POINTS, {"lon_e7": [1, 2, 3]}, "lon_e7"),
    ("track", POINTS, {"acc_m": [4]}, "acc_m"), ("track", POINTS, {"acc_m": [4, 256]}, "acc_m"),
    ("track", POINTS, {"lat_e7": [1.5, 2]}, "lat_e7"), ("track", POINTS, {"t0": None}, "t0"),
    ("track", POINTS, {"lon_e7": None}, "lon_e7"), ("track", POINTS, {"lag_s": "0"}, "lag_s"),
    ("track", POINTS, {"dt_ms": [0] * 1001}, "dt_ms"),
    ("track", {"thinned": THINNED}, {"thinned": {**THINNED, "sum": "a0"}}, "thinned"),
    ("bag", {"bags": 1}, {"bags": 0}, "bags"), ("bag", {"bags": 1}, {"bags": 0.3}, "bags"),
    ("bag", {"bags": 1}, {"bags": 40.5}, "bags"), ("bag", {"bags": 1}, {"bags": -1}, "bags"),
    ("bag", {"bags": 1}, {"bags": True}, "bags"), ("bag", {"bags": 1}, {"bags": "1"}, "bags"),
    ("bag", {"bags": 1}, {"bags": None}, "bags"), ("bag", {"bags": 1}, {"for": "mt"}, "for"),
    ("bag", {"bags": 2}, {"wet_kg": 9.9}, "wet_kg"),
    ("bag", {"bags": 2}, {"wet_kg": 801}, "wet_kg"),
    ("bag", {"bags": 1}, {"pile": " P3-6"}, "pile"),
    ("bag", {"bags": 1}, {"pile": "x" * 33}, "pile"),
    ("bag", {"bags": 1}, {"cell": "C07"}, "cell"), ("bag", {"bags": 1}, {"type": 3}, "type"),
    ("bag", {"bags": 1}, {"covers": ["p2-c3d4", 3, 5]}, "covers"),
    ("bag", {"bags": 1, "device": "shed"}, {"covers": ["p2-c3d4", 5, 3]}, "covers"),
    ("bag", {"bags": 1, "device": "shed"}, {"covers": ["p2", 3, 5]}, "covers"),
    ("bag", {"bags": 1, "device": "shed"}, {"covers": ["p2-c3d4", 3]}, "covers"),
    ("void", {"of": "p3-k7f2:8"}, {"of": "p3-k7f2:9"}, "of"),
    ("void", {"of": "p3-k7f2:8"}, {"of": "p3-k7f2:0"}, "of"),
    ("void", {"of": "p3-k7f2:8"}, {"of": "p1-a2b3:1"}, "of"),
    ("void", {"of": "p3-k7f2:8"}, {"of": "shed:1"}, "of"),
    ("void", {"of": "shed:8", "device": "shed"}, {"of": "shed:9"}, "of"),
    ("void", {"of": "p3-k7f2:8"}, {"of": 8}, "of"),
    ("quadrat", QUADRAT, {"when": "later"}, "when"),
    ("quadrat", QUADRAT, {"side_m": 0.09}, "side_m"),
    ("quadrat", QUADRAT, {"side_m": 2.1}, "side_m"),
    ("quadrat", QUADRAT, {"cover_pct": 101}, "cover_pct"),
    ("quadrat", QUADRAT, {"cover_pct": -1}, "cover_pct"),
    ("quadrat", QUADRAT, {"cover_pct": None}, "cover_pct"),
    ("quadrat", QUADRAT, {"depth_mm": [80.5]}, "depth_mm"),
    ("quadrat", QUADRAT, {"depth_mm": [801]}, "depth_mm"),
    ("quadrat", QUADRAT, {"depth_mm": [-1]}, "depth_mm"),
    ("quadrat", QUADRAT, {"depth_mm": [1] * 21}, "depth_mm"),
    ("quadrat", QUADRAT, {"depth_mm": [False]}, "depth_mm"),
    ("quadrat", QUADRAT, {"depth_mm": 80}, "depth_mm"),
    ("quadrat", QUADRAT, {"scrub_pct": 101}, "scrub_pct"),
    ("quadrat", QUADRAT, {"rush_pct": -1}, "rush_pct"),
    ("quadrat", QUADRAT, {"water_table_mm": -1501}, "water_table_mm"),
    ("quadrat", QUADRAT, {"water_table_mm": 501}, "water_table_mm"),
    ("quadrat", QUADRAT, {"photo": "../p.jpg"}, "photo"),
    ("quadrat", QUADRAT, {"clip": ""}, "clip"),
    ("quadrat", QUADRAT, {"again": 1}, "again"), ("quadrat", QUADRAT, {"plot": 31}, "plot"),
    ("quadrat", QUADRAT, {"cover_step_pct": -1}, "cover_step_pct"),
    ("quadrat", QUADRAT, {"depth_step_mm": -1}, "depth_step_mm"),
    ("skip", {"plot": "031", "why": "pool"}, {"why": "flooded"}, "why"),
    ("skip", {"plot": "031", "why": "pool"}, {"plot": None}, "plot"),
    ("clip", CLIP, {"clip": None}, "clip"), ("clip", CLIP, {"cut": "core"}, "cut"),
    ("clip", CLIP, {"area_m2": 0}, "area_m2"), ("clip", CLIP, {"area_m2": 4.1}, "area_m2"),
    ("clip", CLIP, {"from_mm": -1}, "from_mm"), ("clip", CLIP, {"to_mm": 801}, "to_mm"),
    ("clip", CLIP, {"from_mm": 100, "to_mm": 100}, "to_mm"), ("clip", CLIP, {"wet_g": 0}, "wet_g"),
    ("clip", CLIP, {"dry_g": 0}, "dry_g"), ("clip", CLIP, {"wet_g": 90, "dry_g": 90}, "dry_g"),
    ("clip", CLIP, {"dried": "sun"}, "dried"),
    ("clip", CLIP, {"area_m2": 0.01, "from_mm": 0, "to_mm": 100, "dry_g": 81}, "dry_g"),
    ("clip", CLIP, {"area_m2": 0.01, "from_mm": 0, "to_mm": 100, "dry_g": 72, "dried": "oven"},
     "dry_g"),
    ("clip", {**CLIP, "cut": "plug"}, {"area_m2": 0.01, "from_mm": 0, "to_mm": 100,
     "dry_g": 0.9}, "dry_g"),
    ("mark", {"what": "peg", "name": "1"}, {"what": "tree"}, "what"),
    ("mark", {"what": "peg", "name": "1"}, {"name": None}, "name"),
    ("mark", {"what": "peg", "name": "1"}, {"photo": "A.jpg"}, "photo"),
    ("work", WORK, {"what": "burnt"}, "what"), ("work", WORK, {"cells": None}, "cells"),
    ("work", WORK, {"cells": []}, "cells"), ("work", WORK, {"outline": SQUARE}, "cells"),
    ("work", WORK, {"hours": -1}, "hours"), ("work", WORK, {"what": "sprayed"}, "hold_days"),
    ("work", {**WORK, "what": "sprayed", "hold_days": 3}, {"hold_days": 1.5}, "hold_days"),
    ("check_in", {"state": "fine"}, {"state": "ok"}, "state"),
    ("batch", BATCH, {"stage": "sold"}, "stage"), ("batch", BATCH, {"batch": None}, "batch"),
    ("batch", BATCH, {"bags": 0}, "bags"), ("batch", BATCH, {"bags": 2000.5}, "bags"),
    ("batch", BATCH, {"from": ["a", ""]}, "from"), ("batch", BATCH, {"wet_kg": -1}, "wet_kg"),
    ("batch", BATCH, {"bags": 2, "wet_kg": 9}, "wet_kg"),
    ("batch", BATCH, {"dry_kg": -0.1}, "dry_kg"),
    ("batch", BATCH, {"moist_pct": 101}, "moist_pct"),
    ("batch", BATCH, {"pure_pct": -1}, "pure_pct"),
    ("past_pick", PAST, {"cell": None}, "cell"),
    ("past_pick", PAST, {"from": "2019-02-30"}, "from"),
    ("past_pick", PAST, {"from": "2019"}, "from"), ("past_pick", PAST, {"to": "2019-09-30"}, "to"),
    ("past_pick", PAST, {"share_pct": 101}, "share_pct"),
    ("past_pick", PAST, {"dry_kg": -1}, "dry_kg"),
    ("notice", {"permit": "CL-1", "what": "start", "start": "2026-02-01"}, {"start": None},
     "start"),
    ("notice", RETURN, {"year": "left out"}, "year"),
    ("notice", RETURN, {"sum": "left out"}, "sum"),
    ("notice", RETURN, {"known_by": "left out"}, "known_by"),
    ("notice", RETURN, {"taken": -1}, "taken"),
    ("notice", RETURN, {"year": 1899}, "year"), ("notice", RETURN, {"what": "stop"}, "what"),
    ("notice", RETURN, {"permit": None}, "permit"),
    ("ruling", RULING, {"says": "maybe"}, "says"),
    ("ruling", RULING, {"seen": SHA.upper()}, "seen"),
    ("ruling", RULING, {"flag": None}, "flag"), ("ruling", RULING, {"figures": [1]}, "figures"),
    ("skip", {"plot": "1", "why": "pool"}, {"seq": 0}, "seq"),
    ("skip", {"plot": "1", "why": "pool"}, {"seq": 2**53}, "seq"),
    ("skip", {"plot": "1", "why": "pool"}, {"seq": True}, "seq"),
    ("skip", {"plot": "1", "why": "pool"}, {"device": "p3"}, "device"),
    ("skip", {"plot": "1", "why": "pool"}, {"device": "p3-k7f2\n"}, "device"),
    ("skip", {"plot": "1", "why": "pool"}, {"person": "Mia"}, "person"),
    ("skip", {"plot": "1", "why": "pool"}, {"person": None}, "person"),
    ("skip", {"plot": "1", "why": "pool"}, {"at": "2026-01-20T19:10:00Z"}, "at"),
    ("skip", {"plot": "1", "why": "pool"}, {"at": "2026-02-30T19:10:00.000Z"}, "at"),
    ("skip", {"plot": "1", "why": "pool"}, {"note": "x" * 2001}, "note"),
    ("skip", {"plot": "1", "why": "pool"}, {"note": "\ud800"}, "note"),
    ("skip", {"plot": "1", "why": "pool"}, {"press_ms": -1}, "press_ms"),
    ("skip", {"plot": "1", "why": "pool"}, {"press_ms": 1.5}, "press_ms"),
    ("skip", {"plot": "1", "why": "pool"}, {"instead_of": "p3-k7f2:10"}, "instead_of"),
    ("skip", {"plot": "1", "why": "pool"}, {"instead_of": "p1-a2b3:1"}, "instead_of"),
]


@pytest.mark.parametrize(("kind", "fields"), [
    (kind, fields) for kind, examples in ACCEPTED.items() for fields in examples])
def test_every_kind_is_accepted_as_the_design_describes_it(kind, fields):
    assert problems(a(kind, **fields)) == ()


def test_every_kind_has_an_accepted_and_a_refused_example():
    assert set(ACCEPTED) == {kind for kind, *_ in REFUSED} == set(KINDS)


@pytest.mark.parametrize(("kind", "sound", "broken", "field"), REFUSED)
def test_every_hard_limit_is_told_by_its_field_and_nothing_else_is(kind, sound, broken, field):
    assert problems(a(kind, **sound)) == ()

    assert [problem.field for problem in problems(a(kind, **{**sound, **broken}))] == [field]


def test_all_that_is_wrong_is_told_at_once():
    found = problems(a("quadrat", **QUADRAT | {"cover_pct": 200, "side_m": 9, "when": "x"},
                       person="?", note=3))

    assert {problem.field for problem in found} == {"cover_pct", "side_m", "when", "person",
     "note"}


def test_an_unknown_kind_is_not_judged_but_must_have_a_name():
    assert problems(a("moon", bags="many", person=7)) == ()
    assert not is_known_kind(a("moon"))
    assert [problem.field for problem in problems(a("moon", seq=0))] == ["seq"]


def test_a_kind_that_is_no_text_is_a_problem():
    assert [problem.field for problem in problems(a(7))] == ["kind"]
    assert [problem.field for problem in problems(a(None))] == ["kind"]


def test_unknown_fields_are_ignored():
    assert problems(a("check_in", state="fine", mood=["good"], covers=3)) == ()


@pytest.mark.parametrize("where", [
    {**PLACE, "lat": 91}, {**PLACE, "acc_m": 501}, {**PLACE, "age_s": -1}, {"lat": 1}, "here", 3,
    {**PLACE, "lon": "169"}, {**PLACE, "lat": True}, {**PLACE, "lat": 10**400}, {**PLACE,
     "mock": 1},
    {**PLACE, "lag_s": "0"}, None])
def test_a_place_out_of_limits_is_read_as_none_and_costs_no_record(where):
    record = a("bag", bags=1, where=where)

    assert problems(record) == ()
    assert where_of(record) is None


def test_the_year_of_at_is_not_judged():
    assert problems(a("bag", bags=1, at="1970-01-01T00:00:00.000Z")) == ()


def test_a_place_reads_back_as_it_was_written():
    for where in (Where(-42.8571, 169.6941, 1.0, 4.0, 0.2, False), Where(0.0, 0.0, 0.0),
                  Where(1.5, -2.5, 30.0, None, -200.0, True)):
        assert where_of({"where": where_json(where)}) == where


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5)
    | st.sampled_from(["C07", "MT", "p3-k7f2", "p3-k7f2:1", SHA, "start", "2026-01-20",
                       "2026-01-20T19:10:00.000Z", 10**400]),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner,
                                                                max_size=4), max_leaves=8)
FIELDS = sorted({field for examples in ACCEPTED.values() for fields in examples
                 for field in fields} | set(a("bag")))


@given(st.sampled_from(KINDS), st.dictionaries(st.sampled_from(FIELDS), JSON))
def test_no_content_makes_the_check_itself_fail(kind, fields):
    record = {**a(kind), **fields}

    found = problems(record)

    assert all(problem.reason for problem in found)
    where_of(record)
    questions(record, usual=USUAL)


def test_a_number_too_long_to_print_is_told_all_the_same():
    found = problems(a("quadrat", **QUADRAT | {"depth_mm": [10**5000]}))

    assert [problem.field for problem in found] == ["depth_mm"]


@given(st.sampled_from(KINDS), st.data())
def test_what_is_sound_stays_sound_through_its_line(kind, data):
    record = a(kind, **data.draw(st.sampled_from(ACCEPTED[kind])))

    read = parse_line(canonical(record) + b"\n")

    assert problems(read) == ()
    assert sum_of(read) == sum_of(record)
    assert read == record


# --- what is asked once


@pytest.mark.parametrize(("kind", "fields", "asked"), [
    ("bag", {"bags": 4}, []), ("bag", {"bags": 4.5}, ["bags"]),
    ("bag", {"bags": 2, "wet_kg": 30}, []), ("bag", {"bags": 2, "wet_kg": 29}, ["wet_kg"]),
    ("bag", {"bags": 2, "wet_kg": 121}, ["wet_kg"]),
    ("quadrat", QUADRAT, []), ("quadrat", {**QUADRAT, "cover_pct": 0}, ["cover_pct"]),
    ("quadrat", {**QUADRAT, "cover_pct": 0, "depth_mm": []}, []),
    ("quadrat", {**QUADRAT, "cover_pct": 5, "depth_mm": [80, 90]}, ["depth_mm"]),
    ("quadrat", {**QUADRAT, "cover_pct": 4, "depth_mm": [80, 90]}, []),
    ("quadrat", {**QUADRAT, "depth_mm": [350, 340, 330]}, []),
    ("quadrat", {**QUADRAT, "depth_mm": [351, 340, 330]}, ["depth_mm"]),
    ("quadrat", {**QUADRAT, "depth_mm": [40, 40, 120]}, []),
    ("quadrat", {**QUADRAT, "depth_mm": [40, 40, 121]}, ["depth_mm"]),
    ("quadrat", {**QUADRAT, "side_m": 1}, ["side_m"]),
    ("quadrat", {**QUADRAT, "ground_class": "low hummock", "water_table_mm": 1},
     ["water_table_mm"]),
    ("quadrat", {**QUADRAT, "ground_class": "lawn", "water_table_mm": 1}, []),
    ("clip", {"clip": "a", "wet_g": 300, "dry_g": 10}, []),
    ("clip", {"clip": "a", "wet_g": 301, "dry_g": 10}, ["dry_g"]),
    ("clip", {"clip": "a", "wet_g": 49, "dry_g": 10}, ["dry_g"]),
    ("clip", {"clip": "a", "area_m2": 0.01, "from_mm": 0, "to_mm": 100, "dry_g": 41}, ["dry_g"]),
    ("clip", {"clip": "a", "area_m2": 0.01, "from_mm": 0, "to_mm": 100, "dry_g": 40}, []),
    ("clip", {"clip": "a", "cut": "plug", "area_m2": 0.01, "from_mm": 0, "to_mm": 100,
              "dry_g": 3.9}, ["dry_g"]),
    ("check_in", {"state": "fine", "where": {**PLACE, "acc_m": 25}}, []),
    ("check_in", {"state": "fine", "where": {**PLACE, "acc_m": 25.1}}, ["where"]),
    ("check_in", {"state": "fine", "where": {**PLACE, "lag_s": -121}}, ["where"]),
])
def test_each_soft_limit_is_asked_once(kind, fields, asked):
    assert [odd.field for odd in questions(a(kind, **fields), usual=USUAL)] == asked


def test_before_the_first_weighing_no_bag_is_odd():
    unknown = Usual(frame_m=0.5, wet_kg_per_bag=None, probes=3)

    assert questions(a("bag", bags=1, wet_kg=390), usual=unknown) == ()


# --- words, instants, sums


@pytest.mark.parametrize(("pattern", "good", "bad"), [
    (PERSON, ["M", "MT", "A1234567"], ["", "m", "1A", "A12345678", "MT\n", "M٣"]),
    (DEVICE, ["p3-k7f2", "x-aaaa", "shed", "form-a1", "gpx-0123abcd"],
     ["p3", "p3-k7f1", "P3-k7f2", "p3-k7f2 ", "shed\n", "form-", "gpx-0123ABCD"]),
    (NAME, ["p3-k7f2:1", "shed:9007199254740991"], ["p3-k7f2:0", "p3-k7f2:01", "p3-k7f2", "p3:1",
                                                    "shed:99999999999999999", "shed:١"]),
    (CELL, ["C07", "AA012"], ["C7", "c07", "AAA07", "C0712", "C07\n"]),
    (LABEL, ["a", "P3-014", "é é", "x" * 32], ["", " a", "a ", "x" * 33, "a\nb"]),
])
def test_codes_are_matched_whole_and_in_ascii_digits(pattern, good, bad):
    assert [text for text in good if not pattern.match(text)] == []
    assert [text for text in bad if pattern.match(text)] == []


def test_a_name_is_device_and_number_and_comes_apart_again():
    assert name_of(a("bag", bags=1)) == "p3-k7f2:9"
    assert split_name("gpx-0123abcd:17") == ("gpx-0123abcd", 17)
    with pytest.raises(RecordError, match="p3-k7f2"):
        split_name("p3-k7f2")


def test_canonical_json_is_the_same_whoever_wrote_the_number():
    assert canonical({"b": 1.0, "a": [-0.0, 0.5, 1e3], "é": "ü"}) == (
        b'{"a":[0,0.5,1000],"b":1,"\\u00e9":"\\u00fc"}')
    assert canonical({"x": 2.0**60}) == canonical({"x": 2**60})


def test_a_sum_is_sha256_of_the_canonical_line():
    track = {"acc_m": [4, 255], "at": "2026-01-20T18:41:00.000Z", "device": "p3-k7f2",
             "dt_ms": [0, 5000], "kind": "track", "lag_s": 0.2, "lat_e7": [-428571000, 12],
             "lon_e7": [1696941000, -7], "person": "MT", "seq": 2,
             "t0": "2026-01-20T18:40:00.000Z", "where": None}

    assert sum_of(track) == SHA
    assert sum_of(track) == hashlib.sha256(json.dumps(
        track, sort_keys=True, separators=(",", ":")).encode()).hexdigest()


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, {1: 2}, {"a": {3}}, b"a",
                                   pytest.param(10**5000, id="10**5000"),
                                   datetime(2026, 1, 1, tzinfo=UTC)])
def test_what_json_has_no_word_for_is_our_own_mistake(value):
    with pytest.raises(RecordError):
        canonical({"a": value})


def test_endless_nesting_is_our_own_mistake():
    value = []
    for _ in range(100_000):
        value = [value]

    with pytest.raises(RecordError):
        canonical(value)


@given(st.datetimes(timezones=st.just(UTC)))
def test_an_instant_is_written_and_read_to_the_millisecond(moment):
    cut = moment.replace(microsecond=moment.microsecond // 1000 * 1000)

    assert instant(stamp(moment)) == cut


def test_a_moment_of_another_zone_is_written_in_utc_and_one_without_is_refused():
    there = datetime(2026, 1, 21, 8, 10, tzinfo=timezone(timedelta(hours=13)))

    assert stamp(there) == "2026-01-20T19:10:00.000Z"
    with pytest.raises(RecordError):
        stamp(datetime(2026, 1, 21))  # noqa: DTZ001


@pytest.mark.parametrize("text", [
    "2026-01-20T19:10:00Z", "2026-01-20T19:10:00.000+00:00", "2026-01-20 19:10:00.000Z",
    "2026-01-20T19:10:60.000Z", "2026-01-20T24:00:00.000Z", "2026-13-20T19:10:00.000Z",
    "0000-01-20T19:10:00.000Z", "2026-01-20T19:10:00.000Z\n", "2026-01-20T19:10:00.0000Z",
    "٢026-01-20T19:10:00.000Z", "", None, 5])
def test_what_is_no_strict_instant_is_refused(text):
    with pytest.raises(RecordError):
        instant(text)


# --- lines


def test_whole_floats_are_read_as_whole_numbers():
    read = parse_line(b'{"bags":1.0,"lag_s":0.5,"x":-0.0,"y":1e2}')

    assert read == {"bags": 1, "lag_s": 0.5, "x": 0, "y": 100}
    assert [type(value) for value in read.values()] == [int, float, int, int]


@pytest.mark.parametrize(("line", "reason"), [
    (b"", "not JSON"), (b"[1]", "not a JSON object"), (b'"a"', "not a JSON object"),
    (b"{", "not JSON"), (b'{"a":1}x', "not JSON"), (b'{"a":1} {"b":2}', "not JSON"),
    (b'{"a":"\xff"}', "not UTF-8"), (b'{"a":"\xed\xa0\x80"}', "not UTF-8"),
    (b'\xef\xbb\xbf{"a":1}', "not JSON"), (b'{"a":NaN}', "no finite number"),
    (b'{"a":-Infinity}', "no finite number"), (b'{"a":1e999}', "no finite number"),
    (b'{"a":[{"b":Infinity}]}', "no finite number"), (b'{"a":' + b"9" * 5000 + b"}", "no finite"),
    (b'{"a":' + b"9" * 310 + b"}", "no finite"), (b'{"a":' + b"[" * 64 + b"]" * 64 + b"}", "64"),
    (b'{"a":' + b"[" * 40_000 + b"]" * 40_000 + b"}", "64"), (b"[" * 90_000, "64"),
    (b'{"a":"' + b"x" * 100_000 + b'"}', "100 kB"),
    (b'{"kind":"bag","a":"' + b"x" * 99_990 + b'"}', "100 kB"),
    (b'{"kind":"track","a":"' + b"x" * 1_000_000 + b'"}', "1000 kB"),
    (b"{'a':1}", "not JSON"), (b'{"a":01}', "not JSON"),
])
def test_a_line_that_is_no_record_is_set_aside_alone(line, reason):
    with pytest.raises(LineError, match=reason) as told:
        parse_line(line)

    assert told.value.field == "line"
    assert len(str(told.value)) < 400


@pytest.mark.parametrize("line", [
    b'{"a":1,"a":1}', b'{"a":1,"\\u0061":2}', b'{"b":[{"a":1,"a":2}]}', b'{"a":"\\ud800"}',
    b'{"\\udfff":1}', b'{"a":["\\ud83d x \\ude00"]}', b'{"a":NaN,"b":{"c":1,"c":2}}'])
def test_a_line_that_reads_in_two_ways_refuses_the_file(line):
    with pytest.raises(FileError):
        parse_line(line)


def test_what_is_merely_long_deep_or_odd_is_read():
    assert parse_line(b'{"a":"\\ud83d\\ude00"}\r\n') == {"a": "\U0001f600"}
    assert parse_line(b'{"a":' + b"[" * 63 + b"]" * 63 + b"}")
    assert parse_line(b'{"a":"' + b"[{" * 70 + b'\\"[["}')
    assert parse_line(b'{"kind":"track","a":"' + b"x" * 900_000 + b'"}')
    assert parse_line(b'{"a":' + b"9" * 300 + b"}") == {"a": int("9" * 300)}


@given(st.binary(max_size=60))
@example(b'{"a":"\\ud800"}')
@example(b'{"a":1e400}')
def test_no_bytes_make_the_reader_itself_fail(line):
    try:
        record = parse_line(line)
    except (LineError, FileError):
        return
    problems(record)
    canonical(record)


@given(st.dictionaries(st.text(max_size=5), st.recursive(
    st.none() | st.booleans() | st.integers(-10**20, 10**20) | st.text(max_size=8)
    | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner),
    max_leaves=10)))
def test_reading_what_was_written_gives_the_same_bytes_again(value):
    line = canonical(value)

    assert canonical(parse_line(line)) == line


# --- tracks


def test_a_track_is_written_as_differences_from_its_first_fix():
    t0 = datetime(2026, 1, 20, 18, 40, tzinfo=UTC)
    fixes = [(t0, -42.8571, 169.6941, 3.2), (t0 + timedelta(seconds=5), -42.8570988, 169.6940993,
                                             None)]

    assert encode_track(fixes, lag_s=0.2) == {**POINTS, "acc_m": [4, 255]}
    assert encode_track([(t0, 0.0, 0.0, None)])["acc_m"] is None


EARLY = datetime(2020, 1, 1)  # noqa: DTZ001  (the strategy wants it without a zone)
FIXES = st.lists(st.tuples(
    st.datetimes(EARLY, EARLY.replace(year=2040), timezones=st.just(UTC)),
    st.floats(-90, 90), st.floats(-180, 180), st.none() | st.floats(0, 600)),
    min_size=1, max_size=30)


@given(FIXES)
def test_a_track_comes_back_to_half_a_step(fixes):
    record = a("track", **encode_track(fixes))

    back = decode_track(record)

    assert problems(record) == ()
    assert len(back) == len(fixes)
    for (moment, lat, lon, acc_m), (was, was_lat, was_lon, was_m) in zip(back, fixes, strict=True):
        assert abs(moment - was) <= timedelta(milliseconds=1)
        assert abs(lat - was_lat) <= 0.51e-7
        assert abs(lon - was_lon) <= 0.51e-7
        if was_m is None or was_m >= 255:
            assert acc_m is None
        elif was_m <= 254:
            assert was_m <= acc_m <= was_m + 1


@given(FIXES)
def test_writing_a_track_twice_changes_nothing(fixes):
    once = encode_track([(*fix[:3], 8.0) for fix in fixes[:1]] + fixes[1:])

    assert encode_track(decode_track(once)) == once


def test_fixes_off_the_globe_or_out_of_the_calendar_are_left_out():
    record = {**POINTS, "acc_m": None, "dt_ms": [0, 10**300, -10**300, 0],
              "lat_e7": [0, 1, 0, 900000000], "lon_e7": [0, 0, 0, 0]}

    assert problems(a("track", **record)) == ()
    assert [fix[1] for fix in decode_track(record)] == [0.0, 1e-7]


def test_a_thinned_track_has_no_points_left():
    assert decode_track(a("track", thinned=THINNED)) == []


def test_a_track_without_fixes_or_with_one_nowhere_is_our_own_mistake():
    with pytest.raises(RecordError):
        encode_track([])
    with pytest.raises(RecordError):
        encode_track([(datetime(2026, 1, 1, tzinfo=UTC), math.nan, 0.0, None)])
