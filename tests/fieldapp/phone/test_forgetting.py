"""The phone lets go of where people walked: at its start and after a hand-over."""

import os
from datetime import UTC, datetime, timedelta

import pytest

from fieldapp.device.clock import SetClock
from fieldapp.device.location import FixedPoint
from fieldapp.device.pairing import Pairing, pairing_json
from fieldapp.device.phone_folder import KEPT_TRACKS, PhoneFolder
from fieldapp.phone.history_page import History
from fieldapp.phone.phone import Parts, Phone
from fieldapp.record import Where

NOON = datetime(2026, 2, 10, 0, 0, tzinfo=UTC)
HERE = Where(-46.4123457, 169.4765431, 0.0, 4.0)


@pytest.fixture
def folder(tmp_path):
    made = PhoneFolder(tmp_path / "phone")
    made.bring("p3.pairing.json", pairing_json(
        Pairing("km7q2x4a", "Kettle Mire", "p3", bytes(range(32)))))
    made.take_in()
    return made


@pytest.fixture
def started(folder):
    opened = []

    def start(now):
        opened.append(Phone(Parts(folder, SetClock(now), FixedPoint(-46.4, 169.4, 4.0),
                                  lambda: 71, "0.1.0", UTC)))
        return opened[-1]

    yield start
    for phone in opened:
        phone.close()


def walk(phone):
    """An outing of one bag and five fixes; its records are START, bag, track, END."""
    phone.outing.start("MT", "picker", now=phone.now(), where=HERE)
    for i in range(5):
        phone.parts.clock.advance(timedelta(seconds=5))
        phone.track.add_fix(phone.now(), Where(HERE.lat + i * 1e-5, HERE.lon, 0.0, 4.0))
    phone.tally.bag(now=phone.now(), where=HERE)
    phone.track.flush(phone.now())
    phone.outing.end((), now=phone.now(), where=HERE)


def points(phone):
    return sum(len(one.get("dt_ms") or ()) for one in phone.journal.records()
               if one["kind"] == "track")


def test_an_old_walk_is_let_go_of_at_the_start_once_the_shed_holds_it(started):
    first = started(NOON)
    walk(first)
    assert points(started(NOON + timedelta(days=20))) == 5  # the shed has nothing yet
    first.journal.acknowledge([(1, first.journal.last_seq())])
    assert points(started(NOON + KEPT_TRACKS)) == 5

    later = started(NOON + timedelta(days=15))

    assert points(later) == 0
    assert later.outing.noted.points == 0
    assert [one["seq"] for one in later.journal.records()] == [1, 2, 3, 4]
    assert "position" not in str(History(later).shown())


def test_nothing_is_let_go_of_while_somebody_is_out(started):
    phone = started(NOON)
    walk(phone)
    phone.outing.start("MT", "picker", now=phone.now(), where=HERE)
    phone.journal.acknowledge([(1, 5)])

    later = started(NOON + timedelta(days=15))

    assert points(later) == 5
    later.outing.end((), now=later.now(), where=None)
    later.reopen()
    assert points(later) == 0


def test_after_a_hand_over_the_counts_of_the_day_are_those_that_are_left(started):
    phone = started(NOON)
    walk(phone)
    phone.parts.clock.advance(timedelta(days=20))
    walk(phone)
    phone.journal.acknowledge([(1, 4)])
    assert phone.outing.noted.points_by_day(UTC) == {NOON.date(): 5, phone.today(): 5}

    phone.reopen()

    assert phone.outing.noted.points_by_day(UTC) == {phone.today(): 5}
    assert phone.undo.offer(phone.now()).record["kind"] == "bag"


def test_old_files_of_what_the_shed_holds_go_with_the_tracks_in_them(folder, started):
    phone = started(NOON)
    walk(phone)
    (made,) = folder.make_hand_overs(now=NOON, program="0.1.0")
    old = (NOON - timedelta(minutes=1)).timestamp()
    other = folder.out / f"{phone.install.device}-3-900.handover.zip"
    strange = folder.out / "letter.txt"
    copy = folder.out / made.path_name.replace(".handover", "-2.handover")
    for path in (folder.out / made.path_name, copy, other, strange):
        path.write_bytes(b"x")
        os.utime(path, (old, old))
    later = NOON + timedelta(days=15)

    folder.forget_old_tracks(now=later)
    assert len(list(folder.out.iterdir())) == 4  # the shed holds nothing of it yet
    phone.journal.acknowledge([(1, 4)])
    folder.forget_old_tracks(now=NOON + timedelta(days=13))
    assert len(list(folder.out.iterdir())) == 4
    folder.forget_old_tracks(now=later)

    assert sorted(folder.out.iterdir()) == sorted((other, strange))


def test_a_journal_that_cannot_be_opened_is_left_for_later(folder, started):
    phone = started(NOON)
    walk(phone)
    phone.journal.acknowledge([(1, 4)])
    phone.journal._connection.execute("PRAGMA user_version = 99")

    assert folder.forget_old_tracks(now=NOON + timedelta(days=15)) == 0
    assert points(phone) == 5
