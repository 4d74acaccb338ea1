"""Check-ins: fine, due, overdue, help."""

from datetime import timedelta

import pytest

from fieldapp.capture.book import CaptureError
from fieldapp.capture.check_in import CheckIn
from fieldapp.capture.outing import Outing


@pytest.fixture
def outing(book, hand):
    outing = Outing(book)
    outing.start("MT", "picker", **hand())
    return outing


@pytest.fixture
def check_in(outing):
    return CheckIn(outing)


def test_a_check_in_is_due_an_hour_after_the_start_and_after_each(book, hand, check_in):
    started = hand.now
    assert check_in.due_at == started + timedelta(hours=1)
    check_in.fine(press_ms=90, **hand(minutes=40))
    assert check_in.due_at == started + timedelta(minutes=100)
    assert book.record(2) == {
        "device": "p3-k7f2", "seq": 2, "kind": "check_in", "at": "2026-01-20T19:20:00.000Z",
        "person": "MT", "state": "fine", "press_ms": 90, "where": book.record(1)["where"]}


@pytest.mark.parametrize(("minutes", "state"), [
    (0, "ok"), (54.9, "ok"), (55, "soon"), (59.9, "soon"), (60, "overdue"), (600, "overdue")])
def test_the_key_turns_before_the_time_and_warns_after_it(hand, check_in, minutes, state):
    assert check_in.state(hand.now + timedelta(minutes=minutes)) == state


def test_the_owner_sets_the_time_or_none(hand, outing, check_in, make_sheet):
    outing.sheet = make_sheet(check_in_min=30)
    assert check_in.due_at == hand.now + timedelta(minutes=30)
    outing.sheet = make_sheet(check_in_min=0)
    assert (check_in.due_at, check_in.state(hand.now)) == (None, "off")


def test_nothing_is_due_once_the_outing_is_over(hand, outing, check_in):
    outing.end(**hand())
    assert (check_in.due_at, check_in.state(hand.now + timedelta(days=1))) == (None, "off")


def test_a_new_outing_s_time_runs_from_its_own_start(hand, outing, check_in):
    check_in.fine(**hand())
    outing.start("SW", "surveyor", **hand(hours=3))
    assert check_in.due_at == hand.now + timedelta(hours=1)


def test_help_runs_until_somebody_is_fine(hand, check_in):
    check_in.help(**hand(minutes=1))
    called = hand.now
    check_in.help(**hand(minutes=1))
    assert (check_in.help_since, check_in.state(hand.now)) == (called, "help")
    check_in.fine(**hand(minutes=1))
    assert (check_in.help_since, check_in.state(hand.now)) == (None, "ok")


def test_help_keeps_its_place_in_a_pause_and_off_the_block_and_fine_does_not(
        book, hand, outing, check_in, make_sheet):
    outing.sheet = make_sheet()
    outing.pause(**hand())
    check_in.help(**hand())
    check_in.fine(**hand())
    outing.resume(**hand())
    hand.go(9000.0, 0.0)
    check_in.help(**hand())
    check_in.fine(**hand())
    kept = [record["where"] is not None for record in book.records()
            if record["kind"] == "check_in"]
    assert kept == [True, False, True, False]


def test_help_can_be_called_after_the_end_and_survives_a_new_start(book, hand, outing, check_in):
    outing.end(**hand())
    check_in.help(**hand())
    outing.start("SW", "picker", **hand())
    assert check_in.state(hand.now) == "help"
    assert CheckIn(Outing(book)).help_since == hand.now


def test_before_anybody_has_started_nobody_checks_in(make_book, hand):
    book = make_book()
    with pytest.raises(CaptureError, match="press START"):
        CheckIn(Outing(book)).help(**hand())
    assert book.last_seq() == 0
