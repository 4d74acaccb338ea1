"""From the phone's side against a real server: paired by the owner's page, cut, killed, held.

The shed is `fallow shed` in a process of its own; the phone is its folder, as the app has it.
"""

import importlib.util
import re
import sqlite3
import sys
import threading
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fieldapp.device.link import line as line_module
from fieldapp.device.link import sending
from fieldapp.device.link.address import address_of
from fieldapp.device.link.trouble import LinkError
from fieldapp.device.phone_folder import PhoneFolder
from sync.block import Feature
from sync.disk.create import NewBlock, create_block
from sync.geometry.crs import projection

EAST, NORTH, SIDE = 1_329_400.0, 5_249_300.0, 300.0
NOW = datetime(2026, 2, 10, 4, 30, tzinfo=UTC)
HELPER = Path(__file__).parents[3] / "sync/shed/running_shed.py"


def _helper():
    spec = importlib.util.spec_from_file_location("running_shed_of_the_phone", HELPER)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # its dataclasses look themselves up
    spec.loader.exec_module(module)
    return module


running_shed = _helper()


@pytest.fixture
def shed(tmp_path):
    """Open a real shed on a block of nine cells."""
    def degrees(x, y):
        lat, lon = projection(2193).to_deg(EAST + x, NORTH + y)
        return [float(lon), float(lat)]
    ring = [degrees(*at) for at in ((0, 0), (SIDE, 0), (SIDE, SIDE), (0, SIDE), (0, 0))]
    folder = tmp_path / "block"
    create_block(folder, NewBlock(
        name="Test Mire", block_id="testblok", zone="Pacific/Auckland", rest_months=60,
        outline=(Feature({"type": "Polygon", "coordinates": [ring]}, {}),), recovery_years=5,
        living_layer_mm=40, keep_pct=30, epsg=2193, origin=(EAST, NORTH), closures=()))
    running = running_shed.Running(folder).start()
    yield running
    running.stop()


@pytest.fixture
def owner(shed):
    signed_in = running_shed.Owner(shed)
    signed_in.sign_in(shed.code)
    return signed_in


def code_for(owner, phone="p3"):
    """Let the owner open a code, and read its digits off the page."""
    owner.post("/phones/pair", phone=phone)
    digits = re.search(r'class="digits"[^>]*>(\d{4}) (\d{4})<', owner.get("/phones/code").text)
    return digits[1] + digits[2]


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
    with sqlite3.connect(folder / "journal.sqlite") as journal:
        return [name for (name,) in journal.execute("SELECT name FROM record ORDER BY name")]


def test_a_phone_pairs_hands_over_and_gets_its_sheet(shed, owner, phone):
    install = phone.pair_over_wifi(shed.address, code_for(owner))
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
    code = code_for(owner)
    wrong = f"{(int(code) + 1) % 10**8:08d}"
    codes = []
    for digits in (wrong, wrong, wrong, code):
        with pytest.raises(LinkError) as told:
            phone.pair_over_wifi(shed.address, digits)
        codes.append(told.value.code)

    assert codes == ["wrong_code"] * 3 + ["no_code"]
    assert phone.in_use().key is None

    phone.pair_over_wifi(shed.address, code_for(owner))
    assert phone.in_use().pin == shed.pin


def test_a_code_is_good_for_one_phone(shed, owner, phone, tmp_path):
    code = code_for(owner)
    phone.pair_over_wifi(shed.address, code)

    with pytest.raises(LinkError) as told:
        PhoneFolder(tmp_path / "other").pair_over_wifi(shed.address, code)

    assert told.value.code == "no_code"


def test_cut_again_and_again_each_record_is_at_the_shed_once(
        shed, owner, phone, cutter, monkeypatch):
    monkeypatch.setattr(line_module, "PAUSES_S", (0.01, 0.01, 0.01))
    monkeypatch.setattr(sending, "Line", lambda *a, **k: line_module.Line(
        *a, **k, pauses_s=line_module.PAUSES_S))
    install = phone.pair_over_wifi(shed.address, code_for(owner))
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
    install = phone.pair_over_wifi(shed.address, code_for(owner))
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
    phone.pair_over_wifi(shed.address, code_for(owner))
    send(phone)
    note(phone, 3)
    other = PhoneFolder(tmp_path / "other")
    other.pair_over_wifi(shed.address, code_for(owner))
    send(other)

    outcome = send(phone)

    # Its late files are still taken; a sheet is for the one that took its place.
    assert [(one.records, one.left, one.trouble) for one in outcome.journals] == [(3, 0, None)]
    assert (outcome.sheet, outcome.trouble.code) == ("", "not_paired")


def test_a_revoked_phone_keeps_its_records(shed, owner, phone):
    install = phone.pair_over_wifi(shed.address, code_for(owner))
    send(phone)
    note(phone, 3)
    page = owner.ready("/phones").text
    revoke = re.search(r'href="(/phones/revoke[^"]*)"', page)[1].replace("&amp;", "&")
    fields = dict(re.findall(r'name="([a-z]+)" value="([^"]*)"', owner.get(revoke).text))
    token = fields.pop("token")
    owner.post("/phones/revoke", token=token, **fields)

    outcome = send(phone)

    assert outcome.journals[0].trouble.code == "revoked"
    assert outcome.journals[0].left == 3
    with phone.journal(install) as journal:
        assert journal.unsent() == 3
