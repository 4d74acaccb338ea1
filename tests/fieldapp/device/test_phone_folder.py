import os
import re
import stat
from datetime import UTC, datetime, timedelta

import pytest

from fieldapp.device import files, inbox
from fieldapp.device.pairing import Pairing, pairing_json
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.device.settings import PhoneSettings
from fieldapp.ground import pack_sheet
from fieldapp.handover import pack, seal_fits, unpack
from fieldapp.record import parse_line

NOW = datetime(2026, 1, 21, 4, 30, tzinfo=UTC)
KEY, BOG_KEY = bytes(range(32)), bytes(range(32, 64))
MIRE = pairing_json(Pairing("km7q2x4a", "Kettle Mire", "p3", KEY))
BOG = pairing_json(Pairing("zz3b8c1d", "Long Bog", "p1", BOG_KEY))
SQUARE = [[[[0, 0], [100, 0], [100, 100], [0, 100], [0, 0]]]]
MADE = {"now": NOW, "program": "0.1.0"}


def sheet_file(*, key=KEY, phone="p3", block="km7q2x4a", made_at="2026-01-20T05:00:00.000Z",
               held=(), held_of=None):
    return pack_sheet({
        "sheet": 1, "id": "0a1b2c3d", "block": {"id": block, "name": "Kettle Mire"}, "for": phone,
        "made_at": made_at, "good_until": "2026-02-16T05:00:00.000Z", "zone": "Pacific/Auckland",
        "season_start": "07-01", "cell_m": 100, "outline": SQUARE,
        "map": {"at": [-42.86, 169.69], "to_m": [[0, 0, 81600, 0, 0, 0], [0, 111100, 0, 0, 0, 0]],
                "to_deg": [[0, 0, 1 / 111100, 0, 0, 0], [0, 1 / 81600, 0, 0, 0, 0]]},
        "cells": [{"cell": "A01", "shape": SQUARE, "ground_class": "lawn", "state": "ready",
                   "why": "", "rest_ends": None, "then": None, "left_kg": 900,
                   "left_bags": 130}],
        "closures": [], "pegs": [], "marks": [], "permits": [], "people": [], "plots": [],
        "probes": 3, "frame_m": 0.5, "check_in_min": 60, "declination_deg": 23.6, "gate": None,
        "bag_types": [{"type": "sack", "wet_kg": 88, "dry_kg": 6.8}], "label_from": 15,
        "held": [list(span) for span in held], "held_of": held_of}, program="0.1.0", key=key)


@pytest.fixture
def root(tmp_path):
    return tmp_path / "phone"


@pytest.fixture
def phone(root):
    return PhoneFolder(root)


@pytest.fixture
def paired(phone):
    phone.bring("p3.pairing.json", MIRE)
    phone.take_in()
    return phone


def note(phone, install, count=1, **fields):
    with phone.journal(install) as journal:
        for _ in range(count):
            journal.append({"kind": "mark", "at": "2026-01-20T19:10:00.000Z", "person": "MT",
                            "what": "hazard", "name": "", **fields})


def names(folder):
    return sorted(entry.name for entry in folder.iterdir() if entry.is_file())


def outcome(phone):
    return [(one.name, one.kind) for one in phone.take_in()]


def test_the_folder_is_made_and_is_its_owners_alone(root, phone):
    install = phone.in_use()
    note(phone, install)

    for folder in (root, root / "in", root / "in" / "taken", root / "in" / "refused",
                   root / "out", root / install.device, phone.photos(install)):
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert phone.free_mb() > 0


def test_a_folder_opened_again_is_the_same_phone(root, paired):
    install = paired.in_use()
    note(paired, install, 3)
    paired.save_settings(PhoneSettings(language="es"))

    again = PhoneFolder(root)

    assert again.in_use() == install
    assert again.settings() == PhoneSettings(language="es")
    with again.journal(install) as journal:
        assert journal.last_seq() == 3


def test_a_pairing_file_pairs_and_is_gone_afterwards(root, phone):
    before = phone.in_use()
    phone.bring("p3.pairing.json", MIRE)

    (taken,) = phone.take_in()

    assert (taken.kind, taken.why) == ("pairing", "")
    assert taken.device == phone.in_use().device
    assert (phone.in_use().block, phone.in_use().key) == ("km7q2x4a", KEY)
    assert before in phone.installs()
    assert [path.name for path in root.rglob("*") if path.is_file()
            and KEY.hex().encode() in path.read_bytes()] == ["identity.json"]


def test_a_pairing_file_stays_if_its_key_could_not_be_kept(phone, root, monkeypatch):
    phone.bring("p3.pairing.json", MIRE)

    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files.Path, "replace", fail)
    with pytest.raises(OSError, match="No space"):
        phone.take_in()
    monkeypatch.undo()

    assert names(root / "in") == ["p3.pairing.json"]
    assert outcome(phone) == [("p3.pairing.json", "pairing")]


def test_a_sheet_brought_with_its_pairing_is_kept_whatever_they_are_called(phone, root):
    phone.bring("a.sheet.zip", sheet_file())
    phone.bring("z.pairing.json", MIRE)

    assert outcome(phone) == [("z.pairing.json", "pairing"), ("a.sheet.zip", "sheet")]

    install = phone.in_use()
    assert phone.sheet(install).block_id == "km7q2x4a"
    assert names(root / "in" / "taken") == ["a.sheet.zip"]
    assert names(root / "in") == []


def test_a_second_copy_as_browsers_name_it_is_taken_too(phone):
    phone.bring("p3.pairing (1).json", MIRE)
    phone.bring("P3.SHEET (2).ZIP", sheet_file())

    assert [one.kind for one in phone.take_in()] == ["pairing", "sheet"]


def test_what_the_shed_holds_is_not_handed_over_again(paired):
    install = paired.in_use()
    note(paired, install, 5)
    paired.bring("p3.sheet.zip", sheet_file(held=[(1, 3)], held_of=install.device))
    paired.take_in()

    (made,) = paired.make_hand_overs(**MADE)

    assert (made.first, made.last, made.count) == (4, 5, 2)


def test_each_block_gets_its_own_sheet_whichever_is_in_use(paired):
    mire = paired.in_use()
    paired.bring("p1.pairing.json", BOG)
    paired.take_in()
    bog = paired.in_use()
    paired.bring("p3.sheet.zip", sheet_file())

    (taken,) = paired.take_in()

    assert taken.device == mire.device
    assert paired.sheet(mire).for_phone == "p3"
    assert paired.sheet(bog) is None
    assert paired.use(mire.device) == mire == paired.in_use()
    with pytest.raises(KeyError):
        paired.use("p9-aaaa")


@pytest.mark.parametrize(("content", "why"), [
    (sheet_file(phone="p4"), r"phone 'p4'.*p3"),
    (sheet_file(block="zz3b8c1d"), r"block 'zz3b8c1d'.*Kettle Mire \(km7q2x4a\)"),
    (sheet_file(key=BOG_KEY), "not sealed with this phone's key"),
    (sheet_file(key=None), "not sealed with this phone's key"),
    (sheet_file()[:-40], "the file"),
    (b"", "the file"),
    (sheet_file().replace(b'"left_kg":900', b'"left_kg":901'), r"sheet\.json"),
    (pack([{"device": "p3-k7f2", "seq": 1}], device="p3-k7f2", block=None, program="0.1.0",
          made_at=NOW, first_seq=1, last_seq=1, key=KEY, photos={}), "no ground sheet"),
])
def test_a_sheet_that_is_not_this_phones_is_set_aside_with_its_reason(paired, root, content, why):
    paired.bring("p3.sheet.zip", sheet_file())
    paired.take_in()
    kept = paired.sheet(paired.in_use())
    paired.bring("other.sheet.zip", content)

    (taken,) = paired.take_in()

    assert (taken.name, taken.kind, taken.device) == ("other.sheet.zip", "refused", None)
    assert re.search(why, taken.why)
    assert (root / "in" / "refused" / "other.sheet.zip").read_bytes() == content
    assert paired.sheet(paired.in_use()) == kept


def test_an_older_sheet_is_refused_and_the_newer_stands(paired):
    paired.bring("new.sheet.zip", sheet_file(made_at="2026-01-21T05:00:00.000Z"))
    paired.take_in()
    paired.bring("old.sheet.zip", sheet_file())

    (taken,) = paired.take_in()

    assert taken.kind == "refused"
    assert "2026-01-21" in taken.why
    assert paired.sheet(paired.in_use()).made_at == datetime(2026, 1, 21, 5, tzinfo=UTC)


def test_a_sheet_before_any_pairing_asks_for_the_pairing(phone):
    phone.in_use()
    phone.bring("p3.sheet.zip", sheet_file())

    (taken,) = phone.take_in()

    assert taken.kind == "refused"
    assert "pairing file" in taken.why


@pytest.mark.parametrize("content", [MIRE[:-9], b"", b"[]", MIRE.replace(b'"p3"', b'"x"')])
def test_a_damaged_pairing_file_changes_nothing_and_is_kept_aside(phone, root, content):
    before = phone.in_use()
    phone.bring("p3.pairing.json", content)

    (taken,) = phone.take_in()

    assert taken.kind == "refused"
    assert taken.why
    assert phone.installs() == (before,)
    assert (root / "in" / "refused" / "p3.pairing.json").read_bytes() == content


def test_what_is_neither_is_set_aside_once(phone, root):
    phone.bring("holiday.jpg", b"\xff\xd8")

    assert outcome(phone) == [("holiday.jpg", "refused")]
    assert outcome(phone) == []
    assert names(root / "in" / "refused") == ["holiday.jpg"]


def test_a_file_set_aside_takes_the_place_of_none(phone, root):
    for content in (b"one", b"two"):
        phone.bring("p3.sheet.zip", content)
        phone.take_in()

    assert {path.read_bytes() for path in (root / "in" / "refused").iterdir()} == {b"one", b"two"}


def test_links_are_not_followed_and_folders_are_left_alone(phone, root, tmp_path):
    (tmp_path / "p3.pairing.json").write_bytes(MIRE)
    (root / "in" / "p3.pairing.json").symlink_to(tmp_path / "p3.pairing.json")
    (root / "in" / "p4.sheet.zip").mkdir()
    os.mkfifo(root / "in" / "p5.sheet.zip")

    (taken,) = phone.take_in()

    assert (taken.name, taken.kind) == ("p3.pairing.json", "refused")
    assert "link" in taken.why
    assert phone.installs() == ()
    assert (tmp_path / "p3.pairing.json").read_bytes() == MIRE
    assert (root / "in" / "p4.sheet.zip").is_dir()


def test_a_file_beyond_the_size_is_not_read(phone, monkeypatch):
    monkeypatch.setattr(inbox, "LARGEST_IN", 10)
    phone.bring("p3.pairing.json", MIRE)

    (taken,) = phone.take_in()

    assert taken.kind == "refused"
    assert "larger" in taken.why
    assert phone.installs() == ()


@pytest.mark.parametrize(("told", "used"), [
    ("../../p3.pairing.json", "p3.pairing.json"), ("C:\\down\\p3.pairing.json", "p3.pairing.json"),
    (".p3.pairing.json", "p3.pairing.json"), ("..", "file"), ("", "file"),
    ("a\x00b\n/p\u00e5.sheet.zip", "p-.sheet.zip"),
    ("n" * 300 + ".sheet.zip", "n" * 70 + ".sheet.zip")])
def test_a_name_from_outside_leads_nowhere_else(phone, root, told, used):
    phone.bring(told, MIRE)

    assert names(root / "in") == [used]


def test_a_file_still_being_written_waits(phone, root):
    (root / "in" / "p3.sheet.zip.new").write_bytes(b"half")

    assert phone.take_in() == ()
    assert names(root / "in") == ["p3.sheet.zip.new"]


def test_every_install_hands_over_what_it_noted_by_its_own_name(phone, root):
    unpaired = phone.in_use()
    note(phone, unpaired, 2)
    for content in (MIRE, BOG):
        phone.bring("this.pairing.json", content)
        phone.take_in()
    _, mire, bog = phone.installs()
    note(phone, mire, 4)

    made = phone.make_hand_overs(**MADE)

    assert [(one.device, one.first, one.last, one.count, one.why) for one in made] == [
        (unpaired.device, 1, 2, 2, ""), (mire.device, 1, 4, 4, "")]
    first, second = (unpack((root / "out" / one.path_name).read_bytes()) for one in made)
    assert (first.manifest.block, first.manifest.seal) == (None, None)
    assert second.manifest.block == "km7q2x4a"
    assert seal_fits(second.manifest, KEY)
    assert not seal_fits(second.manifest, BOG_KEY)
    assert len(second.lines) == 4
    assert bog.device not in names(root / "out")


def test_with_nothing_noted_or_all_at_the_shed_no_file_is_made(paired, root):
    assert paired.make_hand_overs(**MADE) == ()
    assert paired.last_made() is None

    note(paired, paired.in_use(), 2)
    with paired.journal(paired.in_use()) as journal:
        journal.acknowledge([(1, 2)])

    assert paired.make_hand_overs(**MADE) == ()
    assert names(root / "out") == []


def test_the_phone_knows_when_it_last_made_a_hand_over(root, paired):
    install = paired.in_use()
    note(paired, install, 3)
    paired.make_hand_overs(**MADE)

    assert PhoneFolder(root).last_made() == (NOW, install.device, 1, 3)

    note(paired, install)
    paired.make_hand_overs(now=NOW + timedelta(hours=1), program="0.1.0")
    assert paired.last_made() == (NOW + timedelta(hours=1), install.device, 1, 4)


def test_photos_go_along_and_many_files_are_named_as_one(paired, monkeypatch, root):
    monkeypatch.setattr(files, "PHOTOS_A_FILE", 1)
    install = paired.in_use()
    for number in (1, 2):
        (paired.photos(install) / f"{number}.jpg").write_bytes(b"\xff\xd8")
        note(paired, install, photo=f"{number}.jpg")

    made = paired.make_hand_overs(**MADE)

    assert [(one.first, one.last) for one in made] == [(1, 1), (2, 2)]
    assert [list(unpack((root / "out" / one.path_name).read_bytes()).photos)
            for one in made] == [["1.jpg"], ["2.jpg"]]
    assert paired.last_made() == (NOW, install.device, 1, 2)


def test_a_damaged_journal_holds_up_no_other(phone, root):
    unpaired = phone.in_use()
    note(phone, unpaired)
    (root / unpaired.device / "journal.sqlite").write_bytes(b"rotten" * 1000)
    for left in (root / unpaired.device).glob("journal.sqlite-*"):
        left.unlink()
    phone.bring("p3.pairing.json", MIRE)
    phone.take_in()
    note(phone, phone.in_use(), 2)

    broken, sound = phone.make_hand_overs(**MADE)

    assert (broken.device, broken.path_name) == (unpaired.device, "")
    assert "keep it" in broken.why
    assert (sound.first, sound.last) == (1, 2)
    assert phone.last_made() == (NOW, sound.device, 1, 2)


def test_a_damaged_row_is_admitted_as_missing_and_holds_back_no_other(paired, root):
    install = paired.in_use()
    for name in ("one", "two", "three", "four", "five"):
        note(paired, install, name=name)
    path = root / install.device / "journal.sqlite"
    content = path.read_bytes()
    assert content.count(b'"three"') == 1
    path.write_bytes(content.replace(b'"three"', b'"thr\0\0"'))

    (made,) = paired.make_hand_overs(**MADE)
    handover = unpack((root / "out" / made.path_name).read_bytes())

    assert (made.first, made.last, made.count, made.why) == (1, 5, 4, "")
    assert [parse_line(line)["name"] for line in handover.lines] == ["one", "two", "four", "five"]
    assert handover.manifest.missing == ((3, 3),)
    assert seal_fits(handover.manifest, KEY)


def test_a_journal_whose_tables_are_damaged_holds_up_no_other(paired, root):
    install = paired.in_use()
    note(paired, install)
    path = root / install.device / "journal.sqlite"
    path.write_bytes(path.read_bytes().replace(b"TABLE records", b"TABLE \xffecords"))
    paired.bring("p1.pairing.json", BOG)
    paired.take_in()
    note(paired, paired.in_use(), 2)

    broken, sound = paired.make_hand_overs(**MADE)

    assert (broken.device, broken.path_name) == (install.device, "")
    assert "keep the file" in broken.why
    assert (sound.first, sound.last) == (1, 2)
