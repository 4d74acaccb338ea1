"""An app installed again with the old pairing file: from its folder to the shed and back."""

from datetime import UTC, date, datetime, timedelta

import pytest

from fieldapp.device.phone_folder import PhoneFolder
from sync.disk.journal import ShedJournal
from sync.disk.keys import load_phones, pair
from sync.disk.load import load_inputs
from sync.disk.sheets import write_sheets
from sync.register.build import build
from sync.report.document import register_document

NOW = datetime(2026, 2, 28, 21, tzinfo=UTC)
DAY = date(2026, 3, 1)
KEY, NEW_KEY = bytes(range(32)), bytes(range(32, 64))


@pytest.fixture
def block(small):
    return small()


def paired(block, key):
    """Pair p3 at the shed and give a copy of its file, as it may lie about on a phone."""
    return pair(block.folder, block.block, "p3", key, now=NOW).read_bytes()


def bring(phone, name, content):
    phone.bring(name, content)
    (taken,) = phone.take_in()
    assert taken.kind != "refused", taken.why
    return phone.in_use()


def note(phone, count):
    with phone.journal(phone.in_use()) as journal:
        for number in range(1, count + 1):
            journal.append({"kind": "mark", "at": "2026-02-20T19:10:00.000Z", "person": "MT",
                            "what": "hazard", "name": f"{journal.device} {number}"})


def handed_over(block, phone, *, hours=0, **options):
    made = phone.make_hand_overs(now=NOW + timedelta(hours=hours), program="0.1.0")
    files = {one.path_name: (phone.out / one.path_name).read_bytes() for one in made}
    return block.take(files, NOW + timedelta(hours=hours), **options)


def sheet(block, *, hours):
    register = build(load_inputs(block.folder), on=DAY)
    (path,) = write_sheets(block.folder, register, register_document(register, ()), "p3",
                           block.folder / "sheets", now=NOW + timedelta(hours=hours))
    return path.read_bytes()


def names_at(block):
    with ShedJournal(block.folder) as journal:
        return sorted(one.record["name"] for one in journal.held())


@pytest.fixture
def former(block, tmp_path):
    """Give the file p3 was paired with; its first install handed five records over."""
    file = paired(block, KEY)
    phone = PhoneFolder(tmp_path / "former")
    bring(phone, "p3.pairing.json", file)
    note(phone, 5)
    (taken,) = handed_over(block, phone)
    assert taken.new == 5
    return phone.in_use().device, file


def test_it_is_refused_until_it_is_paired_again_and_then_nothing_is_lost(block, former, tmp_path):
    device, file = former
    phone = PhoneFolder(tmp_path / "again")
    install = bring(phone, "p3.pairing.json", file)
    note(phone, 3)
    bring(phone, "p3.sheet.zip", sheet(block, hours=1))

    (refused,) = handed_over(block, phone, hours=2)

    assert refused.new == 0
    assert refused.refused.startswith(f"{install.device} seals with the key of {device}: ")
    assert "pair it again with `fallow pair p3`" in refused.refused
    assert len(names_at(block)) == 5

    again = bring(phone, "p3.pairing.json", paired(block, NEW_KEY))
    bring(phone, "p3.sheet.zip", sheet(block, hours=3))
    (taken,) = handed_over(block, phone, hours=4)

    assert (again.device, again.key) == (install.device, NEW_KEY)
    assert (taken.new, taken.refused) == (3, None)
    assert names_at(block) == sorted([f"{device} {n}" for n in range(1, 6)]
                                     + [f"{install.device} {n}" for n in range(1, 4)])
    assert [(one.device, one.standing) for one in load_phones(block.folder)] == [
        (device, "retired"), (install.device, "paired")]

    bring(phone, "p3.sheet.zip", sheet(block, hours=5))
    assert phone.sheet(install).held_by(install.device) == ((1, 3),)
    assert handed_over(block, phone, hours=6) == ()


def test_its_file_may_be_taken_unsealed_by_who_knows_where_it_is_from(block, former, tmp_path):
    phone = PhoneFolder(tmp_path / "again")
    bring(phone, "p3.pairing.json", former[1])
    note(phone, 3)

    (taken,) = handed_over(block, phone, hours=1, unsealed=True)

    assert (taken.new, taken.refused) == (3, None)
    assert len(names_at(block)) == 8


def test_the_sheet_names_the_device_whose_numbers_it_tells(block, former, tmp_path):
    device, file = former
    phone = PhoneFolder(tmp_path / "again")
    install = bring(phone, "p3.pairing.json", file)
    bring(phone, "p3.sheet.zip", sheet(block, hours=1))

    told = phone.sheet(install)

    assert (told.held, told.held_of) == (((1, 5),), device)
    assert told.held_by(install.device) == ()
