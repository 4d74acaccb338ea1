"""`fallow waypoints` and `fallow mine`, as the owner types them."""

import gpxpy
import pytest

from sync.cli import app
from sync.cli.shown import run
from sync.geometry.gpx import read_gpx


@pytest.fixture
def fallow(monkeypatch, capsys):
    def call(*words: object) -> tuple[int, str, str]:
        monkeypatch.setattr("sys.argv", ["fallow", *map(str, words)])
        code = run(app)
        said = capsys.readouterr()
        return code, said.out, said.err
    return call


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
