"""Which cell a bag came from: what the track, the picker, the phone and the shed said of it."""

import math
from datetime import UTC, date, datetime, timedelta
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.record import Where
from sync.geometry.bags import Trodden, place_bags
from sync.geometry.ground import ground_on
from sync.intake.fixes import ms_of
from sync.intake.seen import BagSeen, OutingSeen, TrackSeen
from sync.settings import R68_PER_SIGMA, Tunables

DAY = date(2026, 1, 22)
START = datetime(2026, 1, 22, 1, tzinfo=UTC)
#: The border of C07 and D07, and their middle row. [m from the grid's origin]
LINE, ROW = 300.0, 650.0


def at(seconds):
    return START + timedelta(seconds=seconds)


@pytest.fixture(scope="module")
def ground(nztm, block_of, feature, box):
    return ground_on(block_of([feature(box(0, 0, 1000, 1000))]), nztm, DAY)


@pytest.fixture(scope="module")
def where(nztm, grid):
    """A press's own fix, metres east and north of the grid's origin."""
    def make(x, y=ROW, acc_m=4.0):
        lat, lon = nztm.to_deg(grid.origin_e + x, grid.origin_n + y)
        return Where(float(lat), float(lon), 1.0, acc_m, 0.0)

    return make


@pytest.fixture(scope="module")
def track(nztm, grid):
    """A track of (seconds, metres east) along the row."""
    def make(*places, acc_m=4.0):
        seconds, x = np.array(places, dtype=float).T
        lat, lon = nztm.to_deg(grid.origin_e + x, np.full(len(x), grid.origin_n + ROW))
        at_ms = np.array([round(ms_of(START) + 1000 * s) for s in seconds], dtype=np.int64)
        return TrackSeen(at_ms, np.asarray(lat), np.asarray(lon), np.full(len(x), acc_m))

    return make


def bag(seconds, place=None, *, picker="MT", own=True, device="p1-aaaa", seq=5, **fields):
    said = {"bags": 1.0, "bag_type": None, "pile": None, "cell": None, "confirmed": None,
            "covers": None, **fields}
    return BagSeen(f"{device}:{seq}", at(seconds), DAY, device, seq, picker, own, where=place,
                   **said)


def outing(seconds, state, *, device="p1-aaaa", person="MT", seq=1):
    return OutingSeen(f"{device}:{seq}", at(seconds), DAY, device, seq, person, state)


@pytest.fixture(scope="module")
def placed(ground, nztm):
    def make(bags, tracks=None, outings=None, **tunables):
        trodden = Trodden(bags, [outing(0, "start")] if outings is None else outings, tracks or {})
        return place_bags(trodden, lambda _: ground, nztm, Tunables(**tunables))

    return make


def steady(*spells):
    """A fix every 5 s, so many seconds at each place."""
    places, second = [], 0
    for lasts, x in spells:
        places += [(second + i, x) for i in range(0, lasts, 5)]
        second += lasts
    return places


def test_a_bag_is_shared_by_the_time_picked_though_it_is_tallied_elsewhere(placed, track, where):
    tracks = {"p1-aaaa": track(*steady((900, LINE - 40), (300, LINE + 40)))}

    (one,) = placed([bag(1200, where(LINE + 60))], tracks)

    # The step over the line is walked: one fix of 5 s in C07.
    assert one.how == "track"
    assert one.chances == {"C07": pytest.approx(895 / 1195), "D07": pytest.approx(300 / 1195)}
    assert one.flagged == pytest.approx(dict(one.chances), abs=0.02)  # of some of the fixes


def test_only_the_time_since_the_pickers_bag_before_counts(placed, track):
    tracks = {"p1-aaaa": track(*steady((600, LINE - 40), (600, LINE + 40)))}

    first, second = placed([bag(600, seq=5), bag(1200, seq=6)], tracks)

    assert first.chances == {"C07": 1.0}
    assert second.chances == {"D07": 1.0}


def test_a_bag_of_somebody_else_is_no_bag_before(placed, track, where):
    tracks = {"p1-aaaa": track(*steady((600, LINE - 40), (600, LINE + 40)))}
    theirs = bag(600, where(LINE - 40), picker="RK", own=False, seq=5)

    _, mine = placed([theirs, bag(1200, seq=6)], tracks)

    assert mine.chances == {"C07": pytest.approx(595 / 1195), "D07": pytest.approx(600 / 1195)}


def test_a_start_and_a_going_on_begin_anew(placed, track):
    tracks = {"p1-aaaa": track(*steady((600, LINE - 40), (600, LINE + 40)))}
    outings = [outing(0, "start", seq=1), outing(580, "pause", seq=2),
               outing(620, "resume", seq=3)]

    (one,) = placed([bag(1200)], tracks, outings)

    assert one.chances == {"D07": 1.0}


def test_presses_that_follow_at_once_share_the_time_before_the_first(placed, track):
    tracks = {"p1-aaaa": track(*steady((600, LINE - 40), (600, LINE + 40)))}
    bags = [bag(1190 + 3 * i, seq=5 + i) for i in range(3)]

    shares = [one.chances["C07"] for one in placed(bags, tracks)]

    assert shares == pytest.approx([595 / 1185, 595 / 1188, 595 / 1191], abs=1e-6)


def test_a_bag_for_somebody_else_goes_by_that_persons_own_track(placed, track, where):
    tracks = {"p1-aaaa": track(*steady((1200, LINE - 40))),
              "p2-bbbb": track(*steady((1200, LINE + 40)))}
    outings = [outing(0, "start"), outing(0, "start", device="p2-bbbb", person="RK")]

    (one,) = placed([bag(1200, where(LINE - 40), picker="RK", own=False)], tracks, outings)

    assert one.how == "track"
    assert one.chances == {"D07": 1.0}


def test_without_a_track_of_theirs_it_goes_by_its_own_fix(placed, track, where):
    tracks = {"p1-aaaa": track(*steady((1200, LINE - 40)))}

    (one,) = placed([bag(1300, where(LINE + 40), picker="RK", own=False, confirmed="C07")], tracks)

    assert one.how == "fix"
    assert one.chances == {"D07": pytest.approx(1.0)}


def test_a_receiver_that_went_along_tells_where_the_phone_kept_no_track(placed, track, where):
    tracks = {"gpx-0011aabb": track(*steady((1200, LINE + 40)), acc_m=np.nan)}
    outings = [outing(0, "start"), outing(-60, "start", device="gpx-0011aabb"),
               outing(1300, "end", device="gpx-0011aabb", seq=3)]

    (one,) = placed([bag(1200, where(LINE - 40))], tracks, outings)

    assert one.how == "track"
    assert one.chances == {"D07": 1.0}


def test_the_phones_own_track_tells_before_another_receiver(placed, track):
    tracks = {"gpx-0011aabb": track(*steady((1200, LINE + 40))),
              "p1-aaaa": track(*steady((1200, LINE - 40)))}
    outings = [outing(0, "start"), outing(0, "start", device="gpx-0011aabb")]

    (one,) = placed([bag(1200)], tracks, outings)

    assert one.chances == {"C07": 1.0}


def test_a_track_of_another_outing_tells_nothing(placed, track, where):
    tracks = {"p1-aaaa": track(*steady((600, LINE - 40)))}
    outings = [outing(0, "start", seq=1), outing(610, "end", seq=2), outing(700, "start", seq=3)]

    (one,) = placed([bag(1200, where(LINE + 40))], tracks, outings)

    assert one.how == "fix"


def test_the_order_of_what_tells(placed, track, where, ground):
    tracks = {"p1-aaaa": track(*steady((600, LINE - 40)))}
    typed = bag(600, where(LINE + 40), cell="A01", confirmed="D07")
    on_track = bag(600, where(LINE + 40), confirmed="D07")
    confirmed = bag(3000, where(LINE - 5), confirmed="D07")
    far_off = bag(3000, where(LINE - 50), confirmed="D07")
    nowhere = bag(3000, None, confirmed="D07")

    found = [placed([one], tracks)[0] for one in (typed, on_track)]
    found += [placed([one], {})[0] for one in (confirmed, far_off, nowhere)]

    assert [one.how for one in found] == ["typed", "track", "confirmed", "fix", "nowhere"]
    assert found[0].chances == {"A01": 1.0}
    assert found[2].chances == {"D07": 1.0}
    assert found[4].chances == {}


def test_a_pile_says_nothing_of_the_cell(placed, where):
    with_pile, without = placed([bag(10, where(LINE - 2), pile="P1-001"),
                                 bag(10, where(LINE - 2))])

    assert with_pile.chances == without.chances


def test_what_is_flagged_is_a_chance_though_all_the_time_is_one_cells(placed, track):
    """3 m within C07 all of the time: a spell of ten minutes shares 0.86 of the error."""
    tracks = {"p1-aaaa": track(*steady((600, LINE - 3)))}

    (one,) = placed([bag(600)], tracks)

    shared = math.sqrt(2.0 / math.e)  # of a mean over as long as an error lasts; derived
    here = NormalDist().cdf(3.0 * R68_PER_SIGMA / 4.0 / shared)
    assert shared == pytest.approx(0.857764, abs=1e-6)
    assert one.chances == {"C07": 1.0}
    assert one.flagged == {"C07": pytest.approx(here, abs=0.04),
                           "D07": pytest.approx(1.0 - here, abs=0.04)}
    assert one.moved["C07"] == (1.0, 1.0, 1.0, 1.0)


def test_time_off_the_block_is_outside_for_a_flag(placed, track):
    tracks = {"p1-aaaa": track(*steady((600, 40.0), (600, -60.0)))}

    (one,) = placed([bag(1200)], tracks)

    assert one.chances == {"A07": pytest.approx(595 / 1195)}
    assert one.outside == pytest.approx(600 / 1195, abs=0.02)


def test_time_on_closed_ground_is_told(nztm, block_of, feature, box, track):
    closed = ground_on(
        block_of([feature(box(0, 0, 1000, 1000))],
                 closures=[feature(box(320, 600, 400, 700), why="pool")]), nztm, DAY)
    tracks = {"p1-aaaa": track(*steady((600, LINE + 10), (600, LINE + 60)))}
    trodden = Trodden([bag(1200)], [outing(0, "start")], tracks)

    (one,) = place_bags(trodden, lambda _: closed, nztm, Tunables())

    assert one.closed["D07"] == pytest.approx(600 / 1195, abs=0.02)


@given(st.lists(st.tuples(st.integers(5, 300), st.floats(-100.0, 700.0)), min_size=1, max_size=6))
def test_shares_and_chances_are_never_more_than_the_bag(placed, track, spells):
    lasts = sum(seconds for seconds, _ in spells)
    (one,) = placed([bag(lasts)], {"p1-aaaa": track(*steady(*spells))})

    assert sum(one.chances.values()) <= 1.0 + 1e-9
    assert sum(one.flagged.values()) + one.outside == pytest.approx(1.0, abs=1e-6)
    for ways in zip(*one.moved.values(), strict=True):
        assert sum(ways) <= 1.0 + 1e-9
