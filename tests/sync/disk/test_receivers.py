"""A handheld receiver's file beside the phones': what is told of it, and what counts once."""

from datetime import UTC, datetime, timedelta

from sync.disk.folder import BLOCK_FILE
from sync.disk.load import load_inputs
from sync.geometry.gpx import Waypoint, write_gpx
from sync.geometry.track import Fix

START = datetime(2026, 1, 20, 20, tzinfo=UTC)


def walked(made, minutes, *, waypoints=()):
    """An hour's picking in A01 and then one in B01, a fix every 20 s, for so many minutes."""
    fixes = []
    for i in range(3 * minutes):
        lon, lat = made.lonlat((50 if i < 180 else 150) + i % 7, 50 + i % 5)
        fixes.append(Fix(START + timedelta(seconds=20 * i), lat, lon))
    return write_gpx([[fixes]], waypoints, creator="receiver").encode()


def test_it_says_how_far_a_fix_without_an_accuracy_is_believed(small):
    made = small()
    block = made.folder / BLOCK_FILE

    (usual,) = made.take({"a.gpx": walked(made, 10)}, person="MT")
    block.write_text(block.read_text() + "\n[settings]\nunknown_accuracy_m = 8.5\n")
    (set_by_owner,) = made.take({"b.gpx": walked(made, 20)}, person="MT")

    assert any("GPX states no accuracy: each fix is read as within 15 m" in one
               for one in usual.told)
    assert any("within 8.5 m" in one and "unknown_accuracy_m" in one
               for one in set_by_owner.told)


def test_waypoints_that_the_shed_gave_out_are_told_and_left_out(small):
    made = small()
    lon, lat = made.lonlat(30, 30)
    points = [Waypoint("plot 001", lat, lon, START, "Fallow: plot in A01; for the survey"),
              Waypoint("nest", lat, lon, START, "a bird's")]

    (taken,) = made.take({"a.gpx": walked(made, 10, waypoints=points)}, person="MT")

    assert taken.new == 4
    assert "waypoints that the shed gave out are left out: 1" in taken.told
    marks = [one.record for one in load_inputs(made.folder).held if one.record["kind"] == "mark"]
    assert [(one["name"], one["note"]) for one in marks] == [("nest", "a bird's")]


def test_a_file_of_waypoints_alone_says_nothing_of_accuracy(small):
    made = small()
    lon, lat = made.lonlat(30, 30)
    text = write_gpx((), [Waypoint("nest", lat, lon, START)], creator="receiver")

    (taken,) = made.take({"a.gpx": text.encode()}, person="MT")

    assert taken.new == 1
    assert not any("accuracy" in one for one in taken.told)
