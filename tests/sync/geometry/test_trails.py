"""The stretches of track that are shown as evidence: the time of those bags and no longer."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from sync.geometry.crs import projection
from sync.geometry.trails import trails_of
from sync.intake.fixes import ms_of
from sync.intake.seen import BagSeen, Events, OutingSeen, TrackSeen
from sync.settings import Tunables

BEGUN = datetime(2026, 1, 22, 8, tzinfo=UTC)
GROUND = projection(2193)


def bag(minutes, seq, device="p1-aaaa"):
    at = BEGUN + timedelta(minutes=minutes)
    return BagSeen(f"{device}:{seq}", at, at.date(), device, seq, "MT", True, 1.0, None, None,
                   None, None, None, None)


def outing(state, minutes, seq):
    at = BEGUN + timedelta(minutes=minutes)
    return OutingSeen(f"p1-aaaa:{seq}", at, at.date(), "p1-aaaa", seq, "MT", state)


def track(minutes, acc_m=4.0):
    """A fix a minute, one metre east each."""
    at_ms = np.array([ms_of(BEGUN + timedelta(minutes=m)) for m in minutes], dtype=np.int64)
    east_m = 1_329_400.0 + np.array(minutes, float)
    lat, lon = GROUND.to_deg(east_m, np.full(len(at_ms), 5_249_300.0))
    return TrackSeen(at_ms, lat, lon, np.full(len(at_ms), acc_m))


def events(bags, outings=(), tracks=None):
    return Events((), (), tuple(bags), (), {}, (), {}, (), (), tuple(outings), (), tracks or {},
                  {}, ())


def east(trail):
    return [round(float(e) - 1_329_400.0) for e in trail.e]


def test_a_stretch_lasts_from_the_press_before_to_the_press_itself():
    bags = [bag(10, 2), bag(20, 3), bag(40, 4)]
    there = [outing("start", 0, 1), outing("end", 60, 5)]
    seen = events(bags, there, {"p1-aaaa": track(range(60))})

    (trail,) = trails_of([bags[1]], seen, GROUND, Tunables())

    assert east(trail) == list(range(10, 21))


def test_the_first_press_goes_back_to_the_start_and_no_further():
    bags = [bag(10, 2)]
    seen = events(bags, [outing("start", 5, 1)], {"p1-aaaa": track(range(60))})
    (trail,) = trails_of(bags, seen, GROUND, Tunables())
    assert east(trail) == list(range(5, 11))


def test_stretches_that_touch_are_one_and_others_stay_apart():
    bags = [bag(10, 2), bag(20, 3), bag(30, 4), bag(40, 5)]
    seen = events(bags, [outing("start", 0, 1)], {"p1-aaaa": track(range(60))})
    first, last = trails_of([bags[0], bags[1], bags[3]], seen, GROUND, Tunables())
    assert (east(first), east(last)) == (list(range(21)), list(range(30, 41)))


@pytest.mark.parametrize("tracks", [{}, {"p2-bbbb": track(range(60))},
                                    {"p1-aaaa": track(range(60), acc_m=80.0)}])
def test_without_a_good_track_of_the_pressed_phone_there_is_none(tracks):
    bags = [bag(10, 2)]
    seen = events(bags, [outing("start", 0, 1)], tracks)
    assert trails_of(bags, seen, GROUND, Tunables()) == ()
