"""The track: when a fix is kept, and how fixes become records."""

import pytest

from fieldapp.capture.outing import Outing
from fieldapp.capture.track import Track
from fieldapp.record import Where, decode_track


@pytest.fixture
def outing(book, make_sheet):
    return Outing(book, sheet=make_sheet())


@pytest.fixture
def track(outing):
    return Track(outing)


def walk(track, hand, fixes, *, every_s=5.0, **fix):
    """Walk east at 1 m a fix; give the records that were written."""
    written = []
    x = 100.0
    for _ in range(fixes):
        hand.wait(seconds=every_s)
        x += 1.0
        hand.go(x, 50.0, **fix)
        record = track.add_fix(hand.now, hand.where)
        if record is not None:
            written.append(record)
    return written


def test_thirty_fixes_or_sixty_seconds_make_a_record(hand, outing, track):
    outing.start("MT", "picker", **hand())
    assert [len(r["dt_ms"]) for r in walk(track, hand, 61, every_s=1.0)] == [30, 30]
    track.flush(hand.now)
    assert [len(r["dt_ms"]) for r in walk(track, hand, 26, every_s=5.0)] == [13, 13]


def test_a_track_says_what_the_receiver_said(book, hand, outing, track):
    outing.start("MT", "picker", **hand())
    hand.wait(seconds=10)
    first = Where(-42.86, 169.69, 2.0, 4.2, lag_s=0.2)
    track.add_fix(hand.now, first)
    hand.wait(seconds=5)
    track.add_fix(hand.now, Where(-42.8599, 169.6901, 0.5, None, lag_s=0.3))
    assert track.flush(hand.now) == {
        "device": "p3-k7f2", "seq": 2, "kind": "track", "at": "2026-01-20T18:40:15.000Z",
        "person": "MT", "where": None, "t0": "2026-01-20T18:40:08.000Z", "dt_ms": [0, 6500],
        "lat_e7": [-428600000, 1000], "lon_e7": [1696900000, 1000], "acc_m": [5, 255],
        "lag_s": 0.3}
    assert track.flush(hand.now) is None


def test_no_fix_is_kept_before_start_in_a_pause_or_after_the_end(book, hand, outing, track):
    assert track.add_fix(hand.now, hand.where) is None
    outing.start("MT", "picker", **hand(seconds=1))
    walk(track, hand, 3)
    track.flush(hand.now)
    outing.pause(**hand(seconds=1))
    walk(track, hand, 40)
    outing.resume(**hand(seconds=1))
    walk(track, hand, 2)
    track.flush(hand.now)
    outing.end(**hand(seconds=1))
    walk(track, hand, 40)
    assert track.flush(hand.now) is None
    kept = [len(r["dt_ms"]) for r in book.records() if r["kind"] == "track"]
    assert kept == [3, 2]


def test_a_fix_taken_before_the_start_or_in_the_pause_is_not_kept_later(hand, outing, track):
    outing.start("MT", "picker", **hand())
    hand.wait(seconds=10)
    track.add_fix(hand.now, hand.at(100.0, 50.0, age_s=11.0))
    assert track.flush(hand.now) is None
    outing.pause(**hand())
    outing.resume(**hand(minutes=5))
    hand.wait(seconds=1)
    track.add_fix(hand.now, hand.at(100.0, 50.0, age_s=60.0))
    assert track.flush(hand.now) is None


def test_what_was_gathered_before_a_pause_is_written_in_it(hand, outing, track):
    outing.start("MT", "picker", **hand())
    walk(track, hand, 3)
    outing.pause(**hand(seconds=1))
    assert len(track.flush(hand.now)["dt_ms"]) == 3


def test_confirming_another_cell_drops_no_fix(hand, outing, track):
    outing.start("MT", "picker", **hand())
    walk(track, hand, 3)
    outing.resume(cell="B01", **hand())
    track.add_fix(hand.now, hand.at(130.0, 50.0, age_s=2.0))
    assert len(track.flush(hand.now)["dt_ms"]) == 4


def test_no_fix_beyond_block_and_a_hundred_metres_is_kept(hand, outing, track):
    outing.start("MT", "picker", **hand())
    for x in (399.0, 401.0, 9000.0):
        hand.wait(seconds=5)
        track.add_fix(hand.now, hand.at(x, 50.0))
    assert len(track.flush(hand.now)["dt_ms"]) == 1


def test_the_same_fix_given_again_is_kept_once(hand, outing, track):
    outing.start("MT", "picker", **hand())
    for age_s in (1.0, 2.0, 3.0):
        hand.wait(seconds=1)
        track.add_fix(hand.now, hand.at(100.0, 50.0, age_s=age_s - 1.0))
    assert len(track.flush(hand.now)["dt_ms"]) == 1


def test_fixes_are_written_under_the_name_of_who_walked_them(book, hand, outing, track):
    outing.start("MT", "picker", **hand())
    walk(track, hand, 2)
    outing.start("SW", "picker", **hand(seconds=1))
    [record] = walk(track, hand, 1)
    assert (record["person"], len(record["dt_ms"])) == ("MT", 2)
    assert track.flush(hand.now)["person"] == "SW"


def test_a_failed_write_keeps_the_fixes(book, hand, outing, track):
    outing.start("MT", "picker", **hand())
    walk(track, hand, 29, every_s=1.0)
    book.broken = True
    with pytest.raises(OSError, match="no room"):
        walk(track, hand, 1, every_s=1.0)
    book.broken = False
    assert len(track.flush(hand.now)["dt_ms"]) == 30


def test_made_up_fixes_are_marked(hand, outing, track):
    outing.start("MT", "picker", **hand())
    hand.wait(seconds=1)
    track.add_fix(hand.now, Where(-42.86, 169.69, 0.0, 4.0, mock=True))
    assert track.flush(hand.now)["mock"] is True


def test_a_clock_set_back_breaks_no_track(hand, outing, track):
    outing.start("MT", "picker", **hand(hours=2))
    walk(track, hand, 2)
    hand.wait(minutes=-1)
    hand.go(110.0, 50.0)
    track.add_fix(hand.now, hand.where)
    record = track.flush(hand.now)
    assert len(decode_track(record)) == 3
    assert min(record["dt_ms"]) < 0


def test_a_clock_set_back_behind_the_start_loses_no_fresh_fix(hand, outing, track):
    outing.start("MT", "picker", **hand())
    hand.wait(days=-61)
    track.add_fix(hand.now, hand.at(100.0, 50.0, age_s=1.0))
    track.add_fix(hand.now, hand.at(101.0, 50.0, age_s=31.0))
    assert len(track.flush(hand.now)["dt_ms"]) == 1
