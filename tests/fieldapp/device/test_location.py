import itertools
from datetime import UTC, datetime, timedelta

import pytest

from fieldapp.device.clock import SetClock, SystemClock
from fieldapp.device.location import FixedPoint, LocationError, replayed
from fieldapp.record import Where

T0 = datetime(2026, 1, 20, 19, tzinfo=UTC)


def point(lat, lon, time):
    return f'<trkpt lat="{lat}" lon="{lon}">{"<time>" + time + "</time>" if time else ""}</trkpt>'


def gpx(*segments):
    inside = "".join(f"<trkseg>{''.join(segment)}</trkseg>" for segment in segments)
    return ('<?xml version="1.0"?><gpx version="1.1" creator="made up" '
            f'xmlns="http://www.topografix.com/GPX/1/1"><trk>{inside}</trk></gpx>')


WALK = gpx([point(-42.8572, 169.6942, "2026-01-20T19:00:10Z"),
            point(-42.8571, 169.6941, "2026-01-20T19:00:00Z"), point(1, 1, None)],
           [], [point(-42.8573, 169.6943, "2026-01-20T19:00:20.5Z")])


def test_a_fixed_point_is_always_there_and_fresh():
    here = FixedPoint(-42.8571, 169.6941, 4.0)

    assert here.at(T0) == Where(-42.8571, 169.6941, 0.0, 4.0)
    assert here.between(T0, T0 + timedelta(seconds=5)) == [
        (T0 + timedelta(seconds=5), -42.8571, 169.6941, 4.0)]
    assert here.between(T0, T0) == []


@pytest.mark.parametrize(("seconds", "lat", "age_s"), [
    (0, -42.8571, 0.0), (9.5, -42.8571, 9.5), (10, -42.8572, 0.0), (3600, -42.8573, 3579.5)])
def test_a_replay_gives_the_last_fix_and_its_age(seconds, lat, age_s):
    where = replayed(WALK, acc_m=5.0).at(T0 + timedelta(seconds=seconds))

    assert (where.lat, where.age_s, where.acc_m) == (lat, age_s, 5.0)


def test_a_replay_knows_nothing_before_its_first_fix():
    assert replayed(WALK).at(T0 - timedelta(seconds=1)) is None


def test_a_replay_gives_each_fix_once_however_it_is_cut():
    walk = replayed(WALK)
    cuts = [T0 - timedelta(hours=1), T0, T0 + timedelta(seconds=10), T0 + timedelta(hours=1)]

    pieces = [fix for after, until in itertools.pairwise(cuts)
              for fix in walk.between(after, until)]

    assert pieces == walk.between(cuts[0], cuts[-1])
    assert [fix[1] for fix in pieces] == [-42.8571, -42.8572, -42.8573]
    assert all(fix[3] is None and fix[0].utcoffset() == timedelta(0) for fix in pieces)


def test_a_time_without_a_zone_is_utc():
    assert replayed(gpx([point(1, 2, "2026-01-20T19:00:00")])).at(T0) == Where(1.0, 2.0, 0.0)


@pytest.mark.parametrize("text", ["", "hello", "<gpx>", gpx(), gpx([point(1, 1, None)])])
def test_a_file_without_places_in_time_is_refused(text):
    with pytest.raises(LocationError):
        replayed(text)


def test_a_set_clock_shows_what_its_owner_says():
    clock = SetClock(T0)

    assert clock.now() == T0
    assert clock.advance(timedelta(minutes=5)) == clock.now() == T0 + timedelta(minutes=5)
    clock.set_to(T0 - timedelta(days=1))
    assert clock.now() == T0 - timedelta(days=1)


def test_the_phones_clock_is_aware_utc_and_goes_on():
    before = datetime.now(UTC)
    now = SystemClock().now()

    assert before <= now <= datetime.now(UTC)
    assert now.utcoffset() == timedelta(0)
