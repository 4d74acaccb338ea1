"""`fallow waypoints` and `fallow mine`, as the owner types them."""

import json
import stat

import gpxpy
import pytest

from sync.geometry.gpx import read_gpx


def test_waypoints_are_gpx_that_any_reader_reads(small, fallow, tmp_path):
    made = small()
    out = tmp_path / "today.gpx"

    code, _, err = fallow("waypoints", made.folder, "--on", "2025-06-30", "--out", out)

    assert code == 0, err
    theirs = gpxpy.parse(out.read_text("utf-8"))
    assert theirs.version == "1.1"
    ours = read_gpx(out.read_bytes())
    assert [(one.name, one.latitude, one.longitude) for one in theirs.waypoints] == [
        (one.name, one.lat, one.lon) for one in ours.waypoints]
    assert [one.name for one in ours.waypoints] == [f"plot {i:03d}" for i in range(1, 13)]
    assert theirs.waypoints[0].description == theirs.waypoints[0].comment == (
        "Fallow: plot in A01; for the survey")
    assert "12 waypoints of 2025-06-30" in err


def test_a_plot_that_was_read_is_no_waypoint_any_more(season, fallow):
    made, files = season
    made.take(files)

    code, out, _ = fallow("waypoints", made.folder, "--on", "2025-06-22")

    assert code == 0
    assert read_gpx(out).waypoints == ()


def test_a_person_gets_a_file_of_their_own_that_only_its_owner_reads(season, fallow, tmp_path):
    made, files = season
    made.take(files)
    out = tmp_path / "RK.ndjson"

    code, _, err = fallow("mine", made.folder, "RK", "--out", out)

    assert code == 0, err
    head, *lines = [json.loads(line) for line in out.read_text().splitlines()]
    assert head["person"] == "RK"
    assert head["counts"]["records"] == {"bag": 13, "outing": 2}
    assert "number_twice:p2-aaaa:10:2025" in {one["flag"] for one in head["flags"]}
    assert {one["record"]["device"] for one in lines} == {"p2-aaaa"}
    assert {one["arrived"] for one in lines} == {"2026-03-01T00:00:00.000Z"}
    assert "MT" not in out.read_text()
    assert stat.S_IMODE(out.stat().st_mode) == 0o600
    assert f"{len(lines)} records of RK" in err


def test_a_person_of_whom_nothing_is_held_gets_that_and_a_stranger_is_refused(small, fallow):
    made = small()

    code, out, _ = fallow("mine", made.folder, "RK")
    refused, _, err = fallow("mine", made.folder, "ZZ")

    assert code == 0
    assert json.loads(out)["counts"] == {"records": {}, "points": 0, "bags": 0}
    assert refused == 1
    assert "'ZZ'" in err
    assert "MT, O, RK" in err


@pytest.mark.parametrize("word", ["waypoints", "mine"])
def test_each_word_has_help(fallow, word):
    assert word in fallow("--help")[1]
    code, page, _ = fallow(word, "--help")
    assert code == 0
    assert "--out" in page
