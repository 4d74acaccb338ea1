"""A real receiver's file through `fallow take`: found where the reference run found it.

Reference run: the 296 track points of gpxpy 1.6.2's test_files/cerknicko-jezero.gpx (Apache-2.0)
in EPSG:32633, cells of 100 m by floor(E/100), floor(N/100): 35 occupied, (4500,50688) 25,
(4502,50683) 21, (4503,50681) 21, (4501,50686) 16, (4499,50686) 14 (R sf agrees).
"""

import csv
from collections import Counter
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest
import shapely

from sync.block import Feature
from sync.cli import app
from sync.cli.shown import run
from sync.disk.load import load_inputs
from sync.geometry.crs import projection
from sync.geometry.grid import cell_name
from sync.geometry.swath import swath_of
from sync.geometry.track import Fix, fixes_by_cell
from sync.register.build import build

PUBLISHED = Path(__file__).parents[2] / "published"
WEST, SOUTH, SIDE = 445_700.0, 5_065_700.0, 5_600.0


@pytest.fixture
def lake(small):
    ground = projection(32633)
    corners = [(0, 0), (SIDE, 0), (SIDE, SIDE), (0, SIDE), (0, 0)]
    ring = []
    for x, y in corners:
        lat, lon = ground.to_deg(WEST + x, SOUTH + y)
        ring.append([float(lon), float(lat)])
    outline = Feature({"type": "Polygon", "coordinates": [ring]}, {})
    return small("lake", outline=(outline,), epsg=32633, origin=(WEST, SOUTH), zone="Europe/Rome")


def take(monkeypatch, *words: object) -> int:
    monkeypatch.setattr("sys.argv", ["fallow", "take", *map(str, words)])
    return run(app)


def kept_for_long(folder):
    with (folder / "block.toml").open("a", encoding="utf-8") as settings:
        settings.write("\n[settings]\ntrack_keep_days = 36500\n")


def test_an_old_walk_is_placed_and_let_go_of_as_it_is_taken(lake, monkeypatch, capsys):
    code = take(monkeypatch, lake.folder, PUBLISHED / "cerknicko-jezero.gpx", "--person", "MT")

    said = capsys.readouterr()
    assert code == 0, said.err
    assert "tracks of season 2010: 296 fixes in 7 records let go of" in said.out
    register = build(load_inputs(lake.folder), on=date(2010, 8, 6))
    assert register.events.tracks == {}
    assert len(register.events.thinned) == 1


def test_the_swath_of_a_real_walk_is_that_of_its_steps_one_by_one(lake):
    lake.take({"walk.gpx": (PUBLISHED / "cerknicko-jezero.gpx").read_bytes()}, person="MT")
    register = build(load_inputs(lake.folder), on=date(2010, 8, 6))
    (raw,) = register.events.tracks.values()
    e, n = register.grounds.projection.to_m(raw.lat, raw.lon)
    places = np.column_stack((e, n))
    lines = shapely.linestrings(np.stack((places[:-1], places[1:]), axis=1))
    bends = shapely.buffer(shapely.points(places[1:-1]), 1.5, quad_segs=64)
    exact = shapely.union_all([*shapely.buffer(lines, 1.5, cap_style="flat"), *bends])

    assert swath_of([places], reach_m=1.5).area == pytest.approx(exact.area, rel=0.01)


def fixes_in(track):
    """Give instant, latitude and longitude of each fix."""
    for ms, lat, lon in zip(track.at_ms.tolist(), track.lat, track.lon, strict=True):
        yield datetime.fromtimestamp(ms / 1000, UTC), float(lat), float(lon)


def test_a_real_walk_is_found_in_the_cells_it_visited(lake, monkeypatch, capsys):
    kept_for_long(lake.folder)  # it is of 2010, and would be let go of as soon as it is taken
    code = take(monkeypatch, lake.folder, PUBLISHED / "cerknicko-jezero.gpx", "--person", "MT")

    said = capsys.readouterr()
    assert code == 0, said.err
    assert "296 fixes in 35 cells" in said.err
    register = build(load_inputs(lake.folder), on=date(2010, 8, 6))
    ((device, raw),) = register.events.tracks.items()
    assert device.startswith("gpx-")
    fixes = [Fix(at, lat, lon) for at, lat, lon in fixes_in(raw)]
    assert len(fixes) == 296
    found = fixes_by_cell(lake.block.grid, register.grounds.projection, fixes)
    assert len(found) == 35
    published = {(4500, 50688): 25, (4502, 50683): 21, (4503, 50681): 21, (4501, 50686): 16,
                 (4499, 50686): 14}
    for (i, j), count in published.items():
        name = cell_name(i - int(WEST // 100), j - int(SOUTH // 100))
        assert found[name] == count
        assert name in register.cells
    assert fixes[0].at.isoformat() == "2010-08-05T14:23:59+00:00"
    assert fixes[-1].at.isoformat() == "2010-08-05T16:23:49+00:00"


def test_every_fix_of_it_is_kept_to_a_centimetre(lake):
    lake.take({"walk.gpx": (PUBLISHED / "cerknicko-jezero.gpx").read_bytes()}, person="MT")
    register = build(load_inputs(lake.folder), on=date(2010, 8, 6))
    (raw,) = register.events.tracks.values()
    with (PUBLISHED / "gpx_cerknicko_points.csv").open() as lines:
        rows = list(csv.reader(line for line in lines if not line.startswith("#")))[1:]
    points = sorted((row[5], float(row[2]), float(row[3])) for row in rows)
    kept = sorted((at.isoformat(), lat, lon) for at, lat, lon in fixes_in(raw))
    assert [one[0] for one in kept] == [one[0] for one in points]
    for (_, lat, lon), (_, lat0, lon0) in zip(kept, points, strict=True):
        assert lat == pytest.approx(lat0, abs=1e-7)
        assert lon == pytest.approx(lon0, abs=1e-7)


def test_the_same_walk_taken_twice_changes_nothing(lake):
    walk = (PUBLISHED / "cerknicko-jezero.gpx").read_bytes()
    (first,) = lake.take({"walk.gpx": walk}, person="MT")
    (again,) = lake.take({"copy of walk.gpx": walk}, person="MT")
    assert (again.new, again.known) == (0, first.new)


@pytest.mark.parametrize("name", ["Mojstrovka.gpx", "track-with-empty-segment.gpx"])
def test_a_dirty_file_is_taken_as_far_as_it_is_sound_and_the_rest_named(lake, name, capsys):
    (taken,) = lake.take({name: (PUBLISHED / name).read_bytes()}, person="MT")
    assert taken.refused or taken.told
    if name == "Mojstrovka.gpx":
        assert taken.refused is not None
        assert "near the block" in taken.refused
        assert "184 points dated before 2000" in taken.refused


def test_times_that_run_backwards_are_named_and_the_sound_part_kept(lake):
    ground = projection(32633)
    lat, lon = ground.to_deg(WEST + 500, SOUTH + 500)
    times = ["2024-05-01T08:00:00Z", "2024-05-01T08:00:10Z", "2024-05-01T07:00:00Z",
             "1901-12-13T20:45:52Z", "2024-05-01T08:00:20Z"]
    points = "".join(
        f'<trkpt lat="{float(lat) + i * 1e-5}" lon="{float(lon)}"><time>{t}</time></trkpt>'
        for i, t in enumerate(times))
    text = ('<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><trk>'
            f"<trkseg></trkseg><trkseg>{points}</trkseg></trk></gpx>")

    (taken,) = lake.take({"dirty.gpx": text.encode()}, person="MT")

    assert taken.refused is None
    assert any("3 fixes in 1 cells" in one for one in taken.told)
    assert any("1901" in one or "before" in one for one in taken.told)
    assert Counter("backward" in one or "run back" in one for one in taken.told)[True] >= 1


def test_a_receivers_file_without_a_person_is_refused(lake):
    (taken,) = lake.take({"walk.gpx": (PUBLISHED / "cerknicko-jezero.gpx").read_bytes()})
    assert taken.refused is not None
    assert "--person" in taken.refused
