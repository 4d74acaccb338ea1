"""From the phone's side against a real server: paired by the owner's page, cut, killed, held.

The shed is `fallow shed` in a process of its own; the phone is its folder, as the app has it.
"""

import contextlib
import re
import sqlite3
import threading
from datetime import UTC, datetime

import pytest

from fieldapp.device.link import line as line_module
from fieldapp.device.link import sending
from fieldapp.device.link.address import address_of
from fieldapp.device.link.trouble import LinkError
from fieldapp.device.phone_folder import PhoneFolder
from sync.disk.folder import load_block
from sync.disk.keys import pair as pair_by_file

NOW = datetime(2026, 2, 10, 4, 30, tzinfo=UTC)


@pytest.fixture
def shed(real_shed):
    return real_shed


@pytest.fixture
def phone(tmp_path):
    return PhoneFolder(tmp_path / "phone")


def note(phone, count):
    install = phone.in_use()
    with phone.journal(install) as journal:
        for _ in range(count):
            journal.append({"kind": "mark", "at": "2026-02-10T02:10:00.000Z", "person": "MT",
                            "what": "hazard", "name": ""})


def send(phone):
    return phone.send_to_shed(now=NOW, program="0.1.0", tell=lambda have, size: None,
                              stop=threading.Event())


def names_in(folder):
    with contextlib.closing(sqlite3.connect(folder / "journal.sqlite")) as journal:
        return [name for (name,) in journal.execute("SELECT name FROM record ORDER BY name")]


def test_a_phone_pairs_hands_over_and_gets_its_sheet(shed, owner, phone):
    install = phone.pair_over_wifi(shed.address, owner.code_for())
    note(phone, 120)

    outcome = send(phone)

    (sent,) = outcome.journals
    assert (sent.records, sent.left, sent.trouble, outcome.trouble) == (120, 0, None, None)
    assert len(names_in(shed.folder)) == 120
    assert install.pin == shed.pin
    (taken,) = phone.take_in()
    assert (taken.kind, taken.name, taken.why) == ("sheet", outcome.sheet, "")
    sheet = phone.sheet(install)
    assert (sheet.block_id, sheet.for_phone) == ("testblok", install.device.partition("-")[0])
    assert sheet.held_by(install.device) == ((1, 120),)

    again = send(phone)
    assert [(one.records, one.left) for one in again.journals] == [(0, 0)]
    assert len(names_in(shed.folder)) == 120


def test_wrong_digits_are_refused_three_times_and_then_the_code_is_spent(shed, owner, phone):
    code = owner.code_for()
    wrong = f"{(int(code) + 1) % 10**8:08d}"
    codes = []
    for digits in (wrong, wrong, wrong, code):
        with pytest.raises(LinkError) as told:
            phone.pair_over_wifi(shed.address, digits)
        codes.append(told.value.code)

    assert codes == ["wrong_code"] * 3 + ["no_code"]
    assert phone.in_use().key is None

    phone.pair_over_wifi(shed.address, owner.code_for())
    assert phone.in_use().pin == shed.pin


def test_a_code_is_good_for_one_phone(shed, owner, phone, tmp_path):
    code = owner.code_for()
    phone.pair_over_wifi(shed.address, code)

    with pytest.raises(LinkError) as told:
        PhoneFolder(tmp_path / "other").pair_over_wifi(shed.address, code)

    assert told.value.code == "no_code"


def test_cut_again_and_again_each_record_is_at_the_shed_once(
        shed, owner, phone, cutter, monkeypatch):
    monkeypatch.setattr(line_module, "PAUSES_S", (0.01, 0.01, 0.01))
    monkeypatch.setattr(sending, "Line", lambda *a, **k: line_module.Line(
        *a, **k, pauses_s=line_module.PAUSES_S))
    install = phone.pair_over_wifi(shed.address, owner.code_for())
    state, photo = 1, bytearray()
    while len(photo) < 150_000:
        state = (1103515245 * state + 12345) % 2**31
        photo += state.to_bytes(4, "big")[1:3]
    (phone.photos(install) / "1.jpg").write_bytes(bytes(photo))
    with phone.journal(install) as journal:
        journal.append({"kind": "mark", "at": "2026-02-10T02:10:00.000Z", "person": "MT",
                        "what": "hazard", "name": "", "photo": "1.jpg"})
    note(phone, 30)
    # Each line lets through a little more than the questions before a part.
    between = cutter(address_of(shed.address), lambda line: 30_000 + 137 * line)
    phone.shed_at(str(between.address))

    (sent,) = send(phone).journals

    assert (sent.records, sent.left, sent.trouble) == (31, 0, None)
    assert between.cuts >= 4
    assert len(names_in(shed.folder)) == 31
    assert [path.name for path in (shed.folder / "photos").rglob("*.jpg")] == ["1.jpg"]


def test_a_shed_that_loses_its_power_in_the_middle_goes_on_with_the_same_file(
        shed, owner, phone, tmp_path):
    install = phone.pair_over_wifi(shed.address, owner.code_for())
    (phone.photos(install) / "1.jpg").write_bytes(bytes(range(256)) * 4)
    note(phone, 30)
    stop = threading.Event()

    def power_cut(have, size):
        shed.kill()
        shed.start()

    killed = []
    outcome = phone.send_to_shed(
        now=NOW, program="0.1.0", stop=stop,
        tell=lambda have, size: killed or (killed.append(have), power_cut(have, size)))

    assert [(one.records, one.left, one.trouble) for one in outcome.journals] == [(30, 0, None)]
    assert killed == [0]
    assert len(names_in(shed.folder)) == 30


def test_a_phone_paired_again_elsewhere_is_told_to_pair_by_a_new_code(
        shed, owner, phone, tmp_path):
    phone.pair_over_wifi(shed.address, owner.code_for())
    send(phone)
    note(phone, 3)
    other = PhoneFolder(tmp_path / "other")
    other.pair_over_wifi(shed.address, owner.code_for())
    send(other)

    outcome = send(phone)

    # Its late files are still taken; a sheet is for the one that took its place.
    assert [(one.records, one.left, one.trouble) for one in outcome.journals] == [(3, 0, None)]
    assert (outcome.sheet, outcome.trouble.code) == ("", "not_paired")


def test_a_revoked_phone_keeps_its_records(shed, owner, phone):
    install = phone.pair_over_wifi(shed.address, owner.code_for())
    send(phone)
    note(phone, 3)
    page = owner.browser.ready("/phones").text
    revoke = re.search(r'href="(/phones/revoke[^"]*)"', page)[1].replace("&amp;", "&")
    fields = dict(re.findall(r'name="([a-z]+)" value="([^"]*)"', owner.browser.get(revoke).text))
    token = fields.pop("token")
    owner.browser.post("/phones/revoke", token=token, **fields)

    outcome = send(phone)

    assert outcome.journals[0].trouble.code == "revoked"
    assert outcome.journals[0].left == 3
    with phone.journal(install) as journal:
        assert journal.unsent() == 3


def test_a_phone_that_was_paired_by_file_goes_on_by_code_under_its_own_name(shed, owner, phone):
    block, _ = load_block(shed.folder)
    phone.bring("p3.pairing.json", pair_by_file(
        shed.folder, block, "p3", bytes(range(32)), now=NOW).read_bytes())
    phone.take_in()
    before = phone.in_use()
    note(phone, 5)
    phone.make_hand_overs(now=NOW, program="0.1.0")

    install = phone.pair_over_wifi(shed.address, owner.code_for("p3"))
    note(phone, 2)
    outcome = send(phone)

    assert (before.pin, before.address) == (None, None)
    assert install.device == before.device
    assert install.key != before.key
    assert [(one.records, one.left, one.trouble) for one in outcome.journals] == [(7, 0, None)]
    assert outcome.for_file == 0
    assert names_in(shed.folder) == [f"{install.device}:{seq}" for seq in range(1, 8)]
