"""The link as the screens see it: begun by a press, taken up once, told in words."""

import sqlite3
import threading
import time
from datetime import UTC, datetime, timedelta

import pytest

from fieldapp.device.clock import SetClock
from fieldapp.device.inbox import TakenIn
from fieldapp.device.link import trouble
from fieldapp.device.link.sending import Outcome, Sent, Trouble
from fieldapp.device.location import FixedPoint
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.phone.doing import Doing
from fieldapp.phone.hand_over import HandOver
from fieldapp.phone.keys import Pressed
from fieldapp.phone.link_words import is_whole, outcome_words, trouble_words
from fieldapp.phone.pair_code import PairCode
from fieldapp.phone.phone import Parts, Phone
from fieldapp.record import Where
from fieldapp.words.catalogue import Words
from fieldapp.words.tell import tell

NOON = datetime(2026, 2, 10, 0, 0, tzinfo=UTC)
HERE = Where(-46.4, 169.4, 1.0, 4.0)
CODE = "40718253"
ADDRESS = "192.168.1.5:8417"
SHEET = TakenIn("p3.sheet.zip", "sheet", "", "p3-aaaa")


@pytest.fixture
def phone(tmp_path):
    made = Phone(Parts(PhoneFolder(tmp_path / "phone"), SetClock(NOON),
                       FixedPoint(-46.4, 169.4, 4.0), lambda: 71, "0.1.0", UTC))
    yield made
    made.close()


def until_ended(phone):
    until = time.monotonic() + 20
    while not phone.link.ended:
        assert time.monotonic() < until
        time.sleep(0.01)


def press(screen, *names):
    for name in names:
        done = screen.press(Pressed(name, 100))[1]()
    return done


def lines(told):
    words = Words("en", UTC)
    return [tell(words, one) for one in told]


def pair(phone, address):
    screen = PairCode(phone)
    press(screen, *(f"digit {sign}" for sign in str(address)), "next",
          *(f"digit {sign}" for sign in CODE), "pair")
    until_ended(phone)
    return phone.link.take_up()


def test_a_pairing_is_used_once_it_was_taken_up(phone, open_shed):
    there = open_shed()
    before = phone.install

    done = pair(phone, there.address)

    assert done.go == "hand_over"
    assert phone.install != before
    assert (phone.install.pin, phone.install.address) == (there.pin, str(there.address))
    assert not phone.link.running
    assert phone.link.take_up().code == ""


def test_what_came_waits_until_the_track_gathered_can_be_written(phone, open_shed, tmp_path):
    there = open_shed()
    phone.outing.start("A", "picker", now=phone.now(), where=HERE)
    phone.parts.clock.advance(timedelta(seconds=5))
    phone.track.add_fix(phone.now(), HERE)
    before = phone.install.device
    phone.journal._connection.execute("PRAGMA busy_timeout = 10")
    phone.link.pair(str(there.address), CODE, now=phone.now(), program="test")
    until_ended(phone)
    other = sqlite3.connect(tmp_path / "phone" / before / "journal.sqlite", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    doing = Doing(phone.now)

    assert doing.run(HandOver(phone).shown().title, phone.link.take_up) is None
    assert phone.install.device == before
    assert phone.link.running

    other.close()
    assert doing.retry().go == "hand_over"
    assert phone.install.device.startswith("p3-")


def test_only_one_thing_goes_on_at_a_time(phone, open_shed):
    there = open_shed()
    pair(phone, there.address)
    asked, go = len(there.shed.asked), threading.Event()
    right = there.shed.answer
    there.shed.answer = lambda *told: right(*told) if go.wait(20) else None
    screen = HandOver(phone)

    press(screen, "send")
    done = press(screen, "send")
    assert done.code == "B0"
    assert lines([done.said]) == ["Talking with the shed: wait"]
    assert f"talking with the shed at {there.address} …" in lines(screen.shown().lines)
    go.set()
    until_ended(phone)
    phone.link.take_up()

    paths = [path for _, path in there.shed.asked[asked:]]
    assert paths.count("/phone/session/begin") == 1


def test_a_phone_that_knows_no_shed_has_no_key_to_send(phone):
    shown = HandOver(phone).shown()

    assert [key.name for key in shown.keys] == ["make", "take"]
    assert shown.footer[0].name == "pair"


def test_what_was_told_goes_as_the_page_is_left(phone, open_shed):
    pair(phone, open_shed().address)
    phone.link.told = outcome_words(Outcome((Sent("p3-aaaa", 1, 0),)), SHEET, ADDRESS)
    screen = HandOver(phone)
    assert "All handed over: 1 record" in lines(screen.shown().lines)

    screen.back()

    assert phone.link.told == ()


def test_the_code_is_forgotten_once_it_was_used(phone, open_shed):
    there = open_shed()
    screen = PairCode(phone)
    press(screen, *(f"digit {sign}" for sign in str(there.address)), "next",
          *(f"digit {sign}" for sign in CODE))
    assert CODE in repr(screen.__dict__)

    press(screen, "pair")
    until_ended(phone)
    phone.link.take_up()

    assert CODE not in repr(screen.__dict__)


@pytest.mark.parametrize(("outcome", "sheet", "told"), [
    (Outcome((Sent("a", 120, 0),)), SHEET, ["All handed over: 120 records", "sheet · taken in"]),
    (Outcome((Sent("a", 0, 0),)), SHEET, ["Nothing new: all is handed over", "sheet · taken in"]),
    (Outcome((Sent("a", 2, 0), Sent("b", 3, 0, aside=1)), 1), SHEET, [
        "All handed over: 5 records", "1 record waits at the shed to be mended",
        "1 record noted before pairing: make a file of it", "sheet · taken in"]),
    (Outcome((Sent("a", 4, 1),)), SHEET, ["Handed over: 4 records", "sheet · taken in"]),
    (Outcome((Sent("a", 0, 7, trouble=Trouble("no_answer", "")),)), None, [
        "Handed over: 0 records",
        f"The shed does not answer at {ADDRESS}. Nothing is lost: try again, or make a file."]),
    (Outcome((Sent("a", 7, 0),), trouble=Trouble("busy", "")), None, [
        "All handed over: 7 records",
        "The shed is busy. Nothing is lost: try again in a minute."]),
    (Outcome((Sent("a", 7, 0),), sheet="p3.sheet.zip"),
     TakenIn("p3.sheet.zip", "refused", "the sheet is older", None),
     ["All handed over: 7 records", "p3.sheet.zip · the sheet is older"]),
    (Outcome((Sent("a", 0, 7, trouble=Trouble("storage", "the journal is damaged")),)), None,
     ["Handed over: 0 records", "the journal is damaged"])])
def test_an_outcome_is_told_line_by_line(outcome, sheet, told):
    assert lines(outcome_words(outcome, sheet, ADDRESS)) == told
    assert is_whole(outcome, sheet) == (
        told[-1] == "sheet · taken in" and not told[0].startswith("Handed over"))


def test_every_finding_of_the_link_has_its_sentence():
    own = [value for name, value in vars(trouble).items() if name.isupper()
           and isinstance(value, str)]
    shed = ["wrong_code", "no_code", "too_many", "unknown", "revoked", "other_block",
            "not_paired", "busy", "unreadable", "not_so", "expired"]
    told_as_it_is = {"stopped", "bad_code", "storage"}
    for code in {*own, *shed} - told_as_it_is:
        (said,) = lines([trouble_words(code, "WHY", ADDRESS)])
        assert said != "WHY", code
        assert "{" not in said
    for code in (*told_as_it_is, "a word of a later shed"):
        assert lines([trouble_words(code, "WHY {moss}", ADDRESS)]) == ["WHY {moss}"]
