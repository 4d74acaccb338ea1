"""Mends, and the history they can be seen in."""

import pytest

from fieldapp.capture.book import CaptureError
from fieldapp.capture.correct import Correct
from fieldapp.capture.history import history, points_kept
from fieldapp.capture.outing import Outing
from fieldapp.capture.tally import Tally
from fieldapp.capture.track import Track


@pytest.fixture
def outing(book, hand):
    outing = Outing(book)
    outing.start("MT", "picker", **hand())
    return outing


@pytest.fixture
def tally(outing, zone):
    return Tally(outing, zone=zone)


@pytest.fixture
def correct(outing):
    return Correct(outing)


def test_a_mend_repeats_the_kind_with_what_changed(book, hand, tally, correct):
    tally.bag(bags=3, for_="DW", pile="P3-014", press_ms=99, **hand())
    correct.change(2, bags=2, note="one was grass", pile=None, press_ms=120, **hand(minutes=1))
    assert book.record(3) == {
        "device": "p3-k7f2", "seq": 3, "kind": "bag", "at": "2026-01-20T18:41:00.000Z",
        "person": "MT", "for": "DW", "bags": 2, "note": "one was grass", "press_ms": 120,
        "instead_of": "p3-k7f2:2", "where": book.record(2)["where"]}


def test_whose_a_bag_is_can_be_mended(hand, tally, correct):
    tally.bag(bags=3, **hand())
    correct.change(2, for_="RK", **hand())
    assert tally.by_person(hand.now) == {"RK": 3.0}


def test_a_mend_of_a_mend_names_the_first_record(book, hand, tally, correct):
    tally.bag(bags=3, pile="P3-014", **hand())
    correct.change(2, bags=4, **hand())
    correct.change(3, bags=5, **hand())
    assert book.record(4)["instead_of"] == "p3-k7f2:2"
    assert book.record(4)["pile"] == "P3-014"
    correct.change(2, bags=6, **hand())
    assert tally.bags_today(hand.now) == 6.0


def test_after_the_end_a_mend_is_made_in_the_last_person_s_name_without_a_place(
        book, hand, outing, tally, correct):
    tally.bag(**hand())
    outing.end(**hand())
    correct.change(2, bags=2, **hand())
    assert (book.record(4)["person"], book.record(4)["where"]) == ("MT", None)


@pytest.mark.parametrize("seq", [1, 3, 4, 9])
def test_what_does_not_count_or_is_not_noted_by_hand_is_not_mended(
        book, hand, tally, correct, seq):
    tally.bag(**hand())
    tally.bag(**hand())
    correct.void(3, **hand())
    with pytest.raises(CaptureError, match=f"number {seq} "):
        correct.change(seq, bags=2, **hand())
    with pytest.raises(CaptureError, match=f"number {seq} "):
        correct.void(seq, **hand())
    assert book.last_seq() == 4


def test_the_history_hides_nothing_of_the_outing(hand, outing, tally, correct):
    tally.bag(**hand())
    outing.start("SW", "picker", **hand())
    tally.bag(**hand())
    tally.bag(**hand())
    correct.change(4, bags=2, **hand())
    correct.void(5, **hand())
    seen = [(line.record["seq"], line.standing, line.mends) for line in history(outing)]
    assert seen == [(6, "stands", 4), (5, "undone", None), (4, "mended", None),
                    (3, "stands", None)]


def test_a_person_can_see_how_many_points_are_kept(hand, outing):
    track = Track(outing)
    for _ in range(4):
        hand.wait(seconds=5)
        track.add_fix(hand.now, hand.where)
    assert points_kept(outing) == 0
    track.flush(hand.now)
    assert points_kept(outing) == 4
    assert [line.record["kind"] for line in history(outing)] == ["outing"]
