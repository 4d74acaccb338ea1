"""MY DATA: a person takes along what the phone holds of them, and of nobody else."""

import json
import stat
from datetime import UTC, datetime, timedelta

import pytest

from fieldapp.device.clock import SetClock
from fieldapp.device.location import FixedPoint
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.phone.keys import Pressed
from fieldapp.phone.my_data import MyData
from fieldapp.phone.phone import Parts, Phone
from fieldapp.record import Where

NOON = datetime(2026, 2, 10, 0, 0, tzinfo=UTC)
HERE = Where(-46.4, 169.4, 0.0, 4.0)
THERE = Where(-46.43219, 169.41234, 0.0, 4.0)


@pytest.fixture
def phone(tmp_path):
    made = Phone(Parts(PhoneFolder(tmp_path / "phone"), SetClock(NOON),
                       FixedPoint(-46.4, 169.4, 4.0), lambda: 71, "0.1.0", UTC))
    yield made
    made.close()


def outing(phone, person, where, *, note="", for_=None):
    phone.outing.start(person, "picker", now=phone.now(), where=where)
    for i in range(3):
        phone.parts.clock.advance(timedelta(seconds=5))
        phone.track.add_fix(phone.now(), Where(where.lat + i * 1e-5, where.lon, 0.0, 4.0))
    bag = phone.tally.bag(now=phone.now(), where=where, for_=for_)
    if note:
        phone.correct.change(bag["seq"], now=phone.now(), where=where, note=note)
    phone.parts.clock.advance(timedelta(hours=1))
    phone.track.flush(phone.now())
    phone.outing.end((), now=phone.now(), where=where)


def taken_along(phone, person):
    done = MyData(phone).press(Pressed(f"of {person}", 100))[1]()
    path = phone.parts.folder.out / f"{phone.install.device}-mine.json"
    return done, path.read_text("utf-8")


def test_it_holds_the_persons_records_outings_and_counts(phone):
    outing(phone, "MT", HERE, note="wet")
    phone.journal.acknowledge([(1, 2)])

    done, text = taken_along(phone, "MT")

    told = json.loads(text)
    assert [one["record"] for one in told["records"]] == list(phone.journal.records())
    assert [one["at_shed"] for one in told["records"]] == [True, True, False, False, False]
    assert told["counts"] == {
        "records": {"bag": 2, "outing": 2, "track": 1}, "points": 3, "bags": 1}
    device = phone.install.device
    assert told["outings"] == [{
        "device": device, "role": "picker", "from": "2026-02-10T00:00:00.000Z",
        "to": "2026-02-10T01:00:15.000Z", "records": [f"{device}:1", f"{device}:5"]}]
    assert (told["mine"], told["person"], told["device"]) == (1, "MT", device)
    assert done.code == "B1"
    assert done.said.count == 5


def test_nothing_of_anybody_else_is_in_it(phone):
    outing(phone, "MT", HERE)
    outing(phone, "RK", THERE, note="a word of R. K.")
    outing(phone, "MT", HERE)

    _, text = taken_along(phone, "MT")

    assert "RK" not in text
    assert "R. K." not in text
    assert "43219" not in text
    assert "41234" not in text
    assert json.loads(text)["counts"]["records"]["track"] == 2
    _, text = taken_along(phone, "RK")
    assert "MT" not in text
    assert "43219" in text
    assert json.loads(text)["counts"] == {
        "records": {"bag": 2, "outing": 2, "track": 1}, "points": 3, "bags": 1}


def test_bags_that_somebody_else_noted_for_a_person_count_as_theirs(phone):
    outing(phone, "MT", HERE, for_="RK")
    outing(phone, "RK", HERE)

    assert json.loads(taken_along(phone, "RK")[1])["counts"]["bags"] == 2
    assert json.loads(taken_along(phone, "MT")[1])["counts"]["bags"] == 0


def test_a_track_that_was_let_go_of_shows_that_it_was(phone):
    outing(phone, "MT", HERE)
    phone.journal.acknowledge([(1, 4)])
    phone.parts.clock.advance(timedelta(days=15))
    phone.reopen()

    told = json.loads(taken_along(phone, "MT")[1])

    assert told["counts"]["points"] == 0
    assert [sorted(one["record"]) for one in told["records"]
            if one["record"]["kind"] == "track"] == [
        ["at", "device", "kind", "let_go", "person", "seq"]]


def test_it_asks_who_and_the_file_is_its_owners_alone(phone):
    assert MyData(phone).shown().keys == ()
    outing(phone, "MT", HERE)
    outing(phone, "RK", HERE)

    assert [key.name for key in MyData(phone).shown().keys] == ["of RK", "of MT"]
    taken_along(phone, "MT")
    path = phone.parts.folder.out / f"{phone.install.device}-mine.json"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
