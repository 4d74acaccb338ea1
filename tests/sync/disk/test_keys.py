"""Who may seal a hand-over: pairings, retired and revoked phones, and keys that show nowhere."""

import json
import os
import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fieldapp.device.pairing import pairing_of
from sync.disk.keys import key_of_phone, load_phones, pair, revoke
from sync.errors import DiskError, IntakeError, SettingsError

NOW = datetime(2025, 6, 1, tzinfo=UTC)
OTHER = bytes(range(100, 132))


@pytest.fixture
def block(small):
    return small()


def noted(phone, hour=0):
    phone.note("check_in", datetime(2026, 1, 1, hour, tzinfo=UTC), state="fine", where=None)
    return phone


def take(block, phone, name="a.handover.zip", **options):
    (taken,) = block.take({name: phone.pack()}, **options)
    return taken


def standings(block):
    return [(one.phone, one.device, one.standing) for one in load_phones(block.folder)]


def set_standing(block, standing, number=0):
    path = block.folder / "keys" / "phones.json"
    kept = json.loads(path.read_text())
    kept["phones"][number]["standing"] = standing
    path.write_text(json.dumps(kept))


def test_a_pairing_file_gives_the_phone_its_block_and_key(block):
    path = pair(block.folder, block.block, "p1", OTHER, now=NOW)
    read = pairing_of(path.read_bytes())
    assert (read.block, read.block_name, read.phone, read.key) == (
        "testblok", "Test Mire", "p1", OTHER)
    assert key_of_phone(block.folder, "p1") == OTHER
    assert key_of_phone(block.folder, "p2") is None


def test_a_key_is_bound_to_the_first_device_that_seals_with_it(block):
    phone = block.phone("p1")
    assert standings(block) == [("p1", None, "paired")]
    assert take(block, noted(phone)).refused is None
    assert standings(block) == [("p1", "p1-aaaa", "paired")]


def test_another_device_with_a_bound_key_is_refused(block):
    phone = noted(block.phone("p1"))
    take(block, phone)
    phone.device = "p1-bbbb"
    phone.records[0]["device"] = "p1-bbbb"
    refused = take(block, phone).refused
    assert "p1-bbbb seals with the key of p1-aaaa" in refused
    assert "pair it again with `fallow pair p1`" in refused
    assert standings(block) == [("p1", "p1-aaaa", "paired")]


def test_a_revoked_key_lets_no_other_device_in_either(block):
    phone = noted(block.phone("p1"))
    take(block, phone)
    set_standing(block, "revoked")
    phone.device = phone.records[0]["device"] = "p1-bbbb"
    assert "the phone p1-bbbb was revoked" in take(block, phone, "b.handover.zip").refused


def test_pairing_again_retires_the_former_device_whose_late_files_are_taken(block):
    old = noted(block.phone("p1"))
    take(block, old)
    new = noted(block.phone("p1", "bbbb", OTHER))
    assert standings(block) == [("p1", "p1-aaaa", "retired"), ("p1", None, "paired")]
    assert take(block, noted(old, 1), "late.handover.zip").new == 1
    assert take(block, new, "new.handover.zip").refused is None
    assert standings(block) == [("p1", "p1-aaaa", "retired"), ("p1", "p1-bbbb", "paired")]
    assert key_of_phone(block.folder, "p1") == OTHER


def test_a_device_that_never_handed_over_before_it_was_retired_is_taken_too(block):
    old = noted(block.phone("p1"))
    block.phone("p1", "bbbb", OTHER)
    assert take(block, old).refused is None
    assert standings(block)[0] == ("p1", "p1-aaaa", "retired")


def test_a_revoked_phone_is_refused_and_nothing_of_it_is_taken(block):
    phone = noted(block.phone("p1"))
    take(block, phone)
    set_standing(block, "revoked")
    assert "was revoked" in take(block, noted(phone, 1), "b.handover.zip").refused
    assert key_of_phone(block.folder, "p1") is None


def test_the_phone_that_follows_a_revoked_one_is_taken(block):
    take(block, noted(block.phone("p1")))
    set_standing(block, "revoked")
    new = noted(block.phone("p1", "bbbb", OTHER))
    assert standings(block)[0] == ("p1", "p1-aaaa", "revoked"), "pairing again forgives nothing"
    assert take(block, new, "new.handover.zip").refused is None


@pytest.mark.parametrize("standing", ["revoke", "Revoked", "", None, 7])
def test_2026_11_25_a_standing_that_is_misspelt_lets_nobody_in(block, standing):
    phone = noted(block.phone("p1"))
    set_standing(block, standing)
    with pytest.raises(SettingsError) as refused:
        take(block, phone)
    assert f"standing = {standing!r}" in str(refused.value)
    assert "phones.json" in str(refused.value)


def test_a_file_sealed_by_another_phones_key_is_refused(block):
    phone = noted(block.phone("p1"))
    block.phone("p2", key=OTHER)
    phone.key = OTHER
    assert "its seal is not that" in take(block, phone).refused


@pytest.mark.parametrize("code", ["", "x", "P1", "1p", "p1-a", "waytoolongcode", "p 1", "p1\n"])
def test_what_is_no_phone_code_is_not_paired(block, code):
    with pytest.raises(IntakeError):
        pair(block.folder, block.block, code, OTHER, now=NOW)
    assert load_phones(block.folder) == ()


@pytest.mark.parametrize("key", [b"", bytes(31), bytes(33)])
def test_a_key_has_its_length(block, key):
    with pytest.raises(ValueError, match="32 bytes"):
        pair(block.folder, block.block, "p1", key, now=NOW)


@pytest.mark.skipif(os.name != "posix", reason="only there do files have modes")
def test_keys_are_readable_by_the_owner_alone(block):
    block.phone("p1")
    take(block, noted(block.phone("p2", key=OTHER)))
    for name in ("phones.json", "p1.pairing.json"):
        assert (block.folder / "keys" / name).stat().st_mode & 0o777 == 0o600
    assert (block.folder / "keys").stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("content", [
    b"", b"{", b"[]", b"7", b'{"phones": 7}', b'{"phones": [7]}', b'{"phones": [{}]}',
    b'{"phones": [{"phone": "p1", "device": null, "key": "zz"}]}', b"\xff"])
def test_a_damaged_file_of_keys_says_so_and_shows_nothing_of_it(block, content):
    block.phone("p1")
    (block.folder / "keys" / "phones.json").write_bytes(content)
    with pytest.raises(DiskError, match="damaged") as refused:
        load_phones(block.folder)
    assert "zz" not in str(refused.value)


def test_no_key_shows_in_any_message_log_or_other_file(block):
    phone = noted(block.phone("p1"))
    said = [repr(load_phones(block.folder)), str(load_phones(block.folder))]
    for name, changes in (("a", {}), ("b", {"key": OTHER}), ("c", {"key": None})):
        (taken,) = block.take({f"{name}.handover.zip": phone.pack(**changes)})
        said.append(repr(taken))
    said += [path.read_bytes().decode("latin-1") for path in files_but_keys(block.folder)]
    keys = re.compile("|".join((phone.key.hex(), OTHER.hex(), re.escape(str(phone.key)))))
    assert not [text for text in said if keys.search(text)]


def files_but_keys(folder: Path):
    return [path for path in folder.rglob("*")
            if path.is_file() and path.parent.name != "keys"]


def test_a_revoked_pairing_stays_revoked_and_the_others_stand(small):
    block = small()
    block.phone("p1")
    block.phone("p2", key=bytes(range(1, 33)))
    since = load_phones(block.folder)[0].since

    revoke(block.folder, "p1", since)
    revoke(block.folder, "p1", since)

    assert [one.standing for one in load_phones(block.folder)] == ["revoked", "paired"]


def test_revoking_what_was_never_paired_is_refused(small):
    with pytest.raises(IntakeError, match="no such pairing"):
        revoke(small().folder, "p9", "2026-01-01T00:00:00.000Z")
