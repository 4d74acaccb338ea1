"""A handheld receiver's file beside the phones': what is told of it, and what counts once."""

from datetime import UTC, date, datetime, timedelta

import pytest

from sync.disk.folder import BLOCK_FILE
from sync.disk.load import load_inputs
from sync.geometry.gpx import Waypoint, write_gpx
from sync.geometry.track import Fix
from sync.register.build import build

START = datetime(2026, 1, 20, 20, tzinfo=UTC)
DAY = date(2026, 1, 21)


def walked(made, minutes, *, waypoints=()):
    """An hour's picking in A01 and then one in B01, a fix every 20 s, for so many minutes."""
    fixes = []
    for i in range(3 * minutes):
        lon, lat = made.lonlat((50 if i < 180 else 150) + i % 7, 50 + i % 5)
        fixes.append(Fix(START + timedelta(seconds=20 * i), lat, lon))
    return write_gpx([[fixes]], waypoints, creator="receiver").encode()


@pytest.fixture
def tallied(small):
    """A block whose phone p1 tallied six bags without ever knowing where it was."""
    made = small()
    phone = made.phone("p1")
    for i in range(6):
        phone.bag(START + timedelta(minutes=15 + 18 * i), 0, 0, where=None)
    made.take({"p1.handover.zip": phone.pack()})
    return made


def placed(made):
    """Give the shares of each bag by cell."""
    register = build(load_inputs(made.folder), on=DAY)
    return [dict(one.chances) for one in register.known.placed]


def test_the_same_fixes_in_two_files_count_once(tallied):
    assert placed(tallied) == [{}] * 6

    (first,) = tallied.take({"noon.gpx": walked(tallied, 120)}, person="MT")
    once = placed(tallied)
    assert sum(one.get("A01", 0.0) for one in once) == pytest.approx(3, abs=0.5)
    assert sum(one.get("B01", 0.0) for one in once) == pytest.approx(3, abs=0.5)

    (again,) = tallied.take({"evening.gpx": walked(tallied, 150)}, person="MT")

    assert first.new == 3
    assert again.new == 3
    assert placed(tallied) == once


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
