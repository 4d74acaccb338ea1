"""Pairing by code and sending over Wi-Fi, by presses, against a shed that answers over TLS."""

import contextlib
import sqlite3
import threading
import time

import pytest

from fieldapp.device.identity import Identity
from fieldapp.ground import pack_sheet

pytestmark = pytest.mark.draws
CODE, KEY = "40718253", bytes(range(32))


@pytest.fixture
def there(open_shed, make_sheet):
    opened = open_shed()
    opened.shed.sheet = pack_sheet(make_sheet(), program="0.1.0", key=KEY)
    return opened


def words(hand):
    return "\n".join(one.text for one in hand.root.walk(restrict=True) if getattr(one, "text", ""))


def until_told(hand, most_s=20.0):
    """Let the shed answer: it takes real time, of which the screens' clock knows nothing."""
    until = time.monotonic() + most_s
    while hand.phone.link.running:
        assert time.monotonic() < until, words(hand)
        time.sleep(0.01)
        hand.wait(0.5)
    hand.wait(0.5)


def type_in(hand, text):
    for sign in text:
        hand.press(f"digit {sign}")


def pair(hand, address, code=CODE):
    hand.press("pair")
    type_in(hand, str(address))
    hand.press("next")
    type_in(hand, code)
    hand.press("pair")
    until_told(hand)


@pytest.fixture
def paired(bench, spot, there):
    hand = bench.open(None, at=spot())
    hand.presses("day", "hand_over")
    pair(hand, there.address)
    return hand


def test_a_phone_is_paired_by_presses_alone(bench, spot, there):
    hand = bench.open(None, at=spot())
    hand.presses("day", "hand_over")
    assert "send" not in hand.names()

    pair(hand, there.address)

    assert hand.root.name == "hand_over"
    assert "paired with Kettle Mire as p3" in words(hand)
    assert hand.root.given[-1] == "B1"
    assert hand.names()[:2] == ["send", "make"]
    assert hand.face("send").key.tone == "main"


def test_the_first_sheet_comes_with_the_pairing(paired):
    assert "sheet · taken in" in words(paired)
    assert paired.phone.sheet.block_name == "Kettle Mire"
    assert paired.root.given[-1] == "B1"


def test_what_was_noted_is_handed_over_and_counted(paired, started, there):
    paired.press("send")
    until_told(paired)
    paired.presses("back", "back")
    started(paired).presses("bag", "bag", "more", "day", "end", "end")
    noted = paired.phone.journal.unsent()
    assert f"{noted} unsent" in words(paired)

    paired.press("send")
    until_told(paired)

    assert len(there.shed.records) == noted >= 4
    assert f"All handed over: {noted} records" in words(paired)
    assert "all handed over" in words(paired)
    assert paired.phone.journal.unsent() == 0


def test_a_shed_that_is_away_is_told_and_the_file_is_still_there(paired, bench):
    paired.phone.parts.folder.shed_at("127.0.0.1:1")
    paired.phone.reopen()

    paired.press("send")
    until_told(paired)

    assert ("The shed does not answer at 127.0.0.1:1. Nothing is lost: try again, or make a file."
            in words(paired))
    assert paired.root.given[-1] == "B3"
    assert "make" in paired.names()


def test_wrong_digits_are_told_and_typed_again(bench, spot, there):
    hand = bench.open(None, at=spot())
    hand.presses("day", "hand_over")
    pair(hand, there.address, "40718254")
    assert "These are not the digits on the shed's page" in words(hand)
    assert hand.root.name == "pair_code"

    hand.press("again")
    type_in(hand, CODE)
    hand.press("pair")
    until_told(hand)

    assert "paired with Kettle Mire as p3" in words(hand)


def test_the_last_address_is_taken_by_one_press(bench, spot, there):
    hand = bench.open(None, at=spot())
    hand.presses("day", "hand_over")
    pair(hand, there.address, "40718254")
    hand.presses("back", "pair", "last")
    type_in(hand, CODE)
    hand.press("pair")
    until_told(hand)

    assert "paired with Kettle Mire as p3" in words(hand)


def test_a_shed_that_moved_needs_no_digits(paired, there):
    paired.presses("pair", "type")
    type_in(paired, "10.0.0.9")
    paired.presses("next", "same")

    assert paired.root.name == "hand_over"
    assert paired.phone.install.address == "10.0.0.9:8417"
    assert paired.phone.install.pin == there.pin


def test_pair_does_nothing_before_there_are_eight_digits(paired, there):
    before = len(there.shed.asked)
    paired.presses("pair", "last", "digit 4", "pair")

    assert "Type all eight digits first" in paired.said()
    assert len(there.shed.asked) == before


def test_clear_takes_back_one_sign_and_more_than_fit_are_not_taken(bench, spot):
    hand = bench.open(None, at=spot())
    hand.presses("day", "hand_over", "pair")
    type_in(hand, "10.0.0.91")
    hand.press("clear")
    hand.press("next")
    type_in(hand, "123456789")
    assert "1234 5678" in words(hand)
    hand.press("clear")
    assert "1234 567_" in words(hand)
    hand.presses("back", "next")
    assert "____ ____" in words(hand)  # digits are not kept


class Held:
    """A shed that answers nothing more until it is let go."""

    def __init__(self, shed, door):
        self.go, self.came = threading.Event(), threading.Event()
        right = shed.answer

        def answer(method, path, head, body):
            if path == door:
                self.came.set()
                assert self.go.wait(20)
            return right(method, path, head, body)
        shed.answer = answer


def test_presses_are_written_while_the_phone_talks_with_the_shed(paired, started, there):
    paired.press("send")
    until_told(paired)
    paired.presses("back", "back")
    started(paired).presses("more", "day", "hand_over")
    held = Held(there.shed, "/phone/uploads")
    paired.press("send")
    assert held.came.wait(10)
    assert "talking with the shed at" in words(paired)
    given = len(paired.root.given)

    paired.presses("send", "take")
    assert paired.said() == "Talking with the shed: wait"
    paired.presses("back", "back", "bag", "bag")
    assert paired.root.given[given:].count("B1") == 2
    assert paired.phone.tally.bags_today(paired.phone.now()) == 2

    held.go.set()
    paired.presses("more", "day", "hand_over")
    until_told(paired)
    assert "Handed over" in words(paired)
    assert paired.phone.journal.unsent() >= 2  # noted after the file was made


def test_a_new_sheet_waits_while_a_quadrat_is_half_noted(paired, started, there, make_sheet,
                                                         bench, spot):
    paired.press("send")
    until_told(paired)
    paired.presses("back", "back")
    started(paired, "MT", "surveyor")
    there.shed.sheet = pack_sheet(make_sheet(made_at="2026-02-09T06:00:00.000Z"),
                                  program="0.1.0", key=KEY)
    paired.presses("more", "day", "hand_over")
    held = Held(there.shed, "/phone/sheet")
    paired.press("send")
    assert held.came.wait(10)
    paired.presses("back", "back", "by_eye", "value 60")
    before = paired.phone.sheet
    held.go.set()
    until = time.monotonic() + 10
    while not paired.phone.link.ended:
        assert time.monotonic() < until
        time.sleep(0.01)
    paired.presses("value 80")

    assert paired.root.name == "quadrat"
    assert paired.phone.sheet is before
    assert paired.phone.link.running

    paired.root.back()
    assert paired.phone.sheet.made_at.hour == 6
    assert not paired.phone.link.running
    assert paired.phone.journal.draft("quadrat")["depth_mm"] == [80]


def test_the_page_waits_for_a_slow_shed_and_stays_to_be_read(paired, there):
    held = Held(there.shed, "/phone/sheet")
    paired.press("send")
    assert held.came.wait(10)
    paired.wait(90, step=0.5)
    assert paired.root.name == "hand_over"

    held.go.set()
    until_told(paired)
    paired.wait(50, step=0.5)
    assert "sheet · taken in" in words(paired)
    paired.wait(20, step=0.5)
    assert paired.root.name == "start"


def test_an_app_that_closes_while_it_sends_goes_on_when_it_is_opened(paired, bench, spot, started,
                                                                     there):
    paired.press("send")
    until_told(paired)
    paired.presses("back", "back")
    started(paired).presses("bag", "more", "day", "hand_over")
    held = Held(there.shed, "/phone/uploads")
    paired.press("send")
    assert held.came.wait(10)
    held.go.set()
    bench.stop()

    hand = bench.open(None, at=spot())
    hand.presses("continue", "more", "day", "hand_over")
    noted = hand.phone.journal.last_seq()
    hand.press("send")
    until_told(hand)

    # Fixes that were gathered meanwhile are a record of their own, for the next time.
    assert {seq for _, seq in there.shed.records} >= set(range(1, noted + 1))
    assert hand.phone.journal.first_unsent() > noted


def test_no_word_on_any_page_and_no_repr_has_the_key(paired):
    with Identity(paired.phone.parts.folder._root / "identity.json") as identity:
        kept = repr(identity.installs())
    assert KEY.hex() not in kept + words(paired) + repr(paired.phone.link.__dict__)


def test_by_presses_alone_a_bag_is_in_the_journal_of_a_real_shed(bench, spot, started, real_shed,
                                                                 owner):
    hand = bench.open(None, at=spot())
    hand.presses("day", "hand_over")
    pair(hand, real_shed.address, owner.code_for())
    assert "paired with Test Mire as p3" in words(hand)
    hand.press("send")
    until_told(hand, 60.0)
    assert "sheet · taken in" in words(hand)
    assert hand.phone.sheet.block_name == "Test Mire"
    hand.presses("back", "back")
    started(hand, "A", "picker").presses("bag", "more", "day", "end")
    if hand.root.name == "finish":
        hand.press("end")
    noted = hand.phone.journal.unsent()

    hand.press("send")
    until_told(hand, 60.0)

    assert f"All handed over: {noted} records" in words(hand)
    with contextlib.closing(sqlite3.connect(real_shed.folder / "journal.sqlite")) as journal:
        names = [name for (name,) in journal.execute("SELECT name FROM record")]
    assert sorted(names) == sorted(f"{hand.phone.install.device}:{seq}"
                                   for seq in range(1, noted + 1))
