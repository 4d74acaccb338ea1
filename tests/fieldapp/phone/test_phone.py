"""The phone over its folder: another block, files taken in, and what cannot be opened."""

import sqlite3
from datetime import UTC, datetime, timedelta

import pytest

from fieldapp.device.clock import SetClock
from fieldapp.device.journal import JournalError
from fieldapp.device.location import FixedPoint
from fieldapp.device.pairing import Pairing, pairing_json
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.phone.doing import Doing
from fieldapp.phone.hand_over import HandOver
from fieldapp.phone.keys import Pressed
from fieldapp.phone.phone import Parts, Phone
from fieldapp.phone.say import say
from fieldapp.record import Where

NOON = datetime(2026, 2, 10, 0, 0, tzinfo=UTC)
MIRE = pairing_json(Pairing("km7q2x4a", "Kettle Mire", "p3", bytes(range(32))))
BOG = pairing_json(Pairing("zz3b8c1d", "Long Bog", "p1", bytes(range(32, 64))))
HERE = Where(-46.4, 169.4, 1.0, 4.0)


@pytest.fixture
def folder(tmp_path):
    return PhoneFolder(tmp_path / "phone")


@pytest.fixture
def phone(folder):
    made = Phone(Parts(folder, SetClock(NOON), FixedPoint(-46.4, 169.4, 4.0), lambda: 71, "0.1.0",
                       UTC))
    yield made
    made.close()


def paired(folder, content, name):
    folder.bring(f"{name}.pairing.json", content)
    (taken,) = folder.take_in()
    assert taken.kind == "pairing"
    return taken.device


def test_a_pairing_taken_in_while_the_track_cannot_be_written_is_used_once_it_can(
        phone, folder, tmp_path):
    phone.outing.start("A", "picker", now=phone.now(), where=HERE)
    phone.parts.clock.advance(timedelta(seconds=5))
    phone.track.add_fix(phone.now(), HERE)
    before = phone.install.device
    folder.bring("p3.pairing.json", MIRE)
    phone.journal._connection.execute("PRAGMA busy_timeout = 10")
    other = sqlite3.connect(tmp_path / "phone" / before / "journal.sqlite", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    doing, screen = Doing(phone.now), HandOver(phone)

    assert doing.run(*screen.press(Pressed("take", 100))) is None
    assert doing.waiting is not None
    assert phone.install.device == before
    other.close()
    done = doing.retry()

    assert done is not None
    assert done.code == "B1"
    assert phone.install.device.startswith("p3-")
    assert doing.run(*screen.press(Pressed("take", 100))).code == "B0"  # it is told once


def test_a_block_whose_journal_cannot_be_opened_leaves_the_one_in_use_open(folder, tmp_path):
    bog = paired(folder, BOG, "p1")
    mire = paired(folder, MIRE, "p3")
    phone = Phone(Parts(folder, SetClock(NOON), FixedPoint(-46.4, 169.4, 4.0), lambda: 71, "0.1.0",
                        UTC))
    folder.journal(folder.installs()[0]).close()
    (tmp_path / "phone" / bog / "journal.sqlite").write_bytes(b"no journal" * 1000)
    with pytest.raises(JournalError):
        phone.use(bog)

    assert phone.install.device == folder.in_use().device == mire
    phone.outing.start("A", "picker", now=phone.now(), where=HERE)
    assert phone.outing.state == "open"
    phone.close()


def test_a_press_waits_where_the_phone_cannot_read_who_it_is(phone, tmp_path):
    for name in ("identity.json", "identity.json.before"):
        (tmp_path / "phone" / name).write_text("{")
    doing = Doing(phone.now)
    assert doing.run(say("MAKE FILE"), HandOver(phone).press(Pressed("make", 100))[1]) is None
    assert doing.waiting is not None
