"""The history by local day."""

from datetime import date, timedelta

import pytest

from fieldapp.capture.correct import Correct
from fieldapp.capture.history import DayHeld, days_held, history, history_of
from fieldapp.capture.outing import Outing
from fieldapp.capture.tally import Tally
from fieldapp.capture.track import Track

QUADRAT = {"plot": "031", "when": "survey", "side_m": 0.5, "cover_pct": 80,
           "depth_mm": [80, 90, 100]}
# 07:40 of the 21st at the block is 18:40 of the 20th UTC.
TODAY, TOMORROW = date(2026, 1, 21), date(2026, 1, 22)


@pytest.fixture
def outing(book, hand):
    outing = Outing(book)
    outing.start("MT", "surveyor", **hand())
    return outing


def seen(lines):
    return [(line.record["seq"], line.standing, line.mends) for line in lines]


def test_the_history_reaches_back_over_the_last_start_by_local_day(outing, hand, zone):
    outing.note("quadrat", **QUADRAT, **hand())
    hand.wait(days=1)
    outing.start("MT", "surveyor", **hand())
    outing.note("skip", plot="032", why="pool", **hand())

    assert days_held(outing, zone=zone) == (DayHeld(TOMORROW, 2, 0), DayHeld(TODAY, 2, 0))
    assert seen(history_of(outing, TOMORROW, zone=zone)) == [
        (4, "stands", None), (3, "stands", None)]
    assert seen(history_of(outing, TODAY, zone=zone)) == [(2, "stands", None), (1, "stands", None)]
    assert seen(history(outing)) == [(4, "stands", None), (3, "stands", None)]


def test_a_day_without_records_has_no_lines(outing, zone):
    assert history_of(outing, TOMORROW, zone=zone) == ()


def test_days_change_at_the_block_s_midnight(outing, hand, zone):
    hand.wait(hours=16, minutes=20 - 1)
    outing.note("mark", what="hazard", name="", **hand())
    hand.wait(minutes=1)
    outing.note("mark", what="hazard", name="", **hand())

    assert seen(history_of(outing, TOMORROW, zone=zone)) == [(3, "stands", None)]
    assert [(one.day, one.count) for one in days_held(outing, zone=zone)] == [
        (TOMORROW, 1), (TODAY, 2)]


def test_yesterday_s_quadrat_is_mended_today_and_keeps_its_place_and_time(outing, hand, zone):
    first = outing.note("quadrat", **QUADRAT, **hand())
    noted_at = hand.now
    hand.wait(days=1)
    hand.go(20.0, 20.0)
    outing.start("SW", "surveyor", **hand())

    mend = Correct(outing).change(2, cover_pct=60, **hand(minutes=5))

    [quadrat] = outing.noted.of("quadrat")
    assert (quadrat.seq, quadrat.first, quadrat.record["cover_pct"]) == (4, 2, 60)
    assert (quadrat.at, quadrat.person) == (noted_at, "MT")
    assert quadrat.where.lat == first["where"]["lat"]
    assert mend["at"] > first["at"]
    assert mend["person"] == "SW"
    assert seen(history_of(outing, TODAY, zone=zone)) == [
        (4, "stands", 2), (2, "mended", None), (1, "stands", None)]
    assert seen(history_of(outing, TOMORROW, zone=zone)) == [(3, "stands", None)]


def test_what_was_mended_twice_or_undone_is_marked_as_what_it_is(outing, hand, zone):
    tally, correct = Tally(outing, zone=zone), Correct(outing)
    tally.bag(**hand())
    correct.change(2, bags=2, **hand())
    correct.change(2, bags=3, **hand())
    tally.bag(**hand())
    hand.wait(days=1)
    correct.void(5, **hand())

    assert seen(history_of(outing, TODAY, zone=zone)) == [
        (5, "undone", None), (4, "stands", 2), (3, "mended", 2), (2, "mended", None),
        (1, "stands", None)]
    correct.void(4, **hand())
    assert seen(history_of(outing, TODAY, zone=zone))[1:] == [
        (4, "undone", 2), (3, "stands", 2), (2, "mended", None), (1, "stands", None)]
    assert [one.day for one in days_held(outing, zone=zone)] == [TODAY]


def test_points_of_tracks_are_counted_on_the_day_of_each_and_are_no_lines(outing, hand, zone):
    hand.wait(hours=16, minutes=19, seconds=30)
    track = Track(outing)
    for _ in range(8):
        hand.wait(seconds=7)
        track.add_fix(hand.now, hand.where)
    track.flush(hand.now)

    # From 23:59:30 a fix each 7 s, 1 s old: four of the eight before midnight.
    assert days_held(outing, zone=zone) == (DayHeld(TOMORROW, 0, 4), DayHeld(TODAY, 1, 4))
    assert history_of(outing, TOMORROW, zone=zone) == ()


def test_a_clock_set_back_shows_each_line_on_the_day_it_says(outing, hand, zone):
    hand.now -= timedelta(days=400)
    outing.note("mark", what="hazard", name="", **hand())

    assert [(one.day, one.count) for one in days_held(outing, zone=zone)] == [
        (TODAY, 1), (date(2024, 12, 17), 1)]


def test_a_phone_with_nothing_noted_has_no_days(book, zone):
    assert days_held(Outing(book), zone=zone) == ()
