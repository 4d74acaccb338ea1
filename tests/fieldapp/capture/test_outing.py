"""The outing: who carries the phone, and when a place may be kept."""

import pytest

from fieldapp.capture.book import CaptureError
from fieldapp.capture.outing import Outing


def test_a_start_says_who_as_what_with_which_sheet_in_which_cell(book, hand, make_sheet):
    outing = Outing(book)
    outing.start("MT", "picker", sheet=make_sheet(), cell="B01", press_ms=140, **hand())
    assert book.record(1) == {
        "device": "p3-k7f2", "seq": 1, "kind": "outing", "state": "start",
        "at": "2026-01-20T18:40:00.000Z", "person": "MT", "role": "picker", "cell": "B01",
        "sheet": {"id": "0a1b2c3d", "made_at": "2026-01-20T05:00:00.000Z"}, "press_ms": 140,
        "where": {"lat": hand.where.lat, "lon": hand.where.lon, "age_s": 1, "acc_m": 4}}
    assert (outing.state, outing.person, outing.role, outing.cell, outing.since) == (
        "open", "MT", "picker", "B01", hand.now)


def test_a_place_may_be_kept_between_start_and_end_and_not_in_a_pause(book, hand):
    outing = Outing(book)
    seen = [outing.may_locate]
    outing.start("MT", "picker", **hand())
    seen.append(outing.may_locate)
    outing.pause(**hand(minutes=1))
    seen.append(outing.may_locate)
    outing.resume(**hand(minutes=1))
    seen.append(outing.may_locate)
    outing.end(["B01"], **hand(minutes=1))
    seen.append(outing.may_locate)
    assert seen == [False, True, False, True, False]
    assert [record["where"] is not None for record in book.records()] == [True] * 4


def test_an_end_out_of_a_pause_keeps_no_place(book, hand):
    outing = Outing(book)
    outing.start("MT", "picker", **hand())
    outing.pause(**hand())
    outing.end(["B01", "A01"], **hand(hours=1))
    assert book.record(3)["where"] is None
    assert book.record(3)["finished"] == ["B01", "A01"]


def test_a_place_beyond_block_and_a_hundred_metres_is_not_kept(book, hand, make_sheet):
    outing = Outing(book, sheet=make_sheet())
    outing.start("MT", "picker", **hand())
    assert outing.place(hand.at(399.0, 50.0)) is not None
    assert outing.place(hand.at(401.0, 50.0)) is None
    hand.go(401.0, 50.0)
    assert outing.resume(cell="C01", **hand())["where"] is None
    assert outing.start("SW", "surveyor", **hand())["where"] is None


def test_without_a_sheet_every_place_is_kept(book, hand):
    outing = Outing(book)
    hand.go(9000.0, 0.0)
    assert outing.start("MT", "picker", **hand())["where"] is not None


def test_a_start_ends_the_outing_before_with_no_second_record(book, hand):
    outing = Outing(book)
    outing.start("MT", "picker", cell="A01", **hand())
    outing.start("SW", "surveyor", **hand(hours=1))
    assert book.last_seq() == 2
    assert (outing.person, outing.role, outing.cell, outing.first_seq) == (
        "SW", "surveyor", None, 2)


def test_another_cell_can_be_confirmed_without_a_pause(book, hand):
    outing = Outing(book)
    outing.start("MT", "picker", cell="A01", **hand())
    started = outing.located_since
    outing.resume(cell="B01", **hand(hours=1))
    assert (outing.cell, outing.role, outing.located_since) == ("B01", "picker", started)
    assert book.record(2)["role"] == "picker"


def test_an_outing_left_open_is_found_after_a_kill(book, hand):
    assert Outing.reopen(book) is None
    Outing(book).start("MT", "surveyor", cell="A01", **hand())
    again = Outing.reopen(book)
    assert (again.state, again.person, again.role, again.cell) == (
        "open", "MT", "surveyor", "A01")
    again.pause(**hand())
    assert Outing.reopen(book).state == "paused"
    again.end(**hand())
    assert Outing.reopen(book) is None


def test_two_processes_on_one_book_agree(book, hand):
    screen, service = Outing(book), Outing(book)
    screen.start("MT", "picker", **hand())
    assert service.may_locate
    screen.pause(**hand())
    assert not service.may_locate


@pytest.mark.parametrize(("before", "step"), [
    ((), "pause"), ((), "resume"), ((), "end"), (("pause",), "pause"), (("end",), "end"),
    (("end",), "pause"), (("end",), "resume")])
def test_a_step_that_is_not_possible_writes_nothing(book, hand, before, step):
    outing = Outing(book)
    if before:
        outing.start("MT", "picker", **hand())
    for one in before:
        getattr(outing, one)(**hand())
    written = list(book.kept)
    with pytest.raises(CaptureError, match=step):
        getattr(outing, step)(**hand())
    assert book.kept == written


def test_nothing_is_noted_before_the_first_start_or_after_the_end(book, hand):
    outing = Outing(book)
    with pytest.raises(CaptureError, match="press START"):
        outing.note("bag", bags=1, **hand())
    outing.start("MT", "picker", **hand())
    outing.end(**hand())
    with pytest.raises(CaptureError, match="press START"):
        outing.note("bag", bags=1, **hand())
    assert book.last_seq() == 2


def test_a_failed_write_changes_nothing_and_can_be_tried_again(book, hand):
    outing = Outing(book)
    book.broken = True
    with pytest.raises(OSError, match="no room"):
        outing.start("MT", "picker", **hand())
    assert (outing.state, book.last_seq()) == ("none", 0)
    book.broken = False
    outing.start("MT", "picker", **hand())
    assert outing.state == "open"
