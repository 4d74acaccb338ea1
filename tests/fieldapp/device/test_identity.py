import json
import re

import pytest

from fieldapp.device.identity import Identity
from fieldapp.device.pairing import Pairing, PairingError, pairing_json, pairing_of
from fieldapp.record import DEVICE

KEY = bytes(range(32))
MIRE = Pairing("km7q2x4a", "Kettle Mire", "p3", KEY)
BOG = Pairing("zz3b8c1d", "Long Bog", "p1", KEY[::-1])


@pytest.fixture
def path(tmp_path):
    return tmp_path / "identity.json"


def test_a_phone_that_was_never_paired_writes_as_x_and_stays_who_it_is(path):
    with Identity(path) as identity:
        install = identity.in_use()
    with Identity(path) as identity:
        again = identity.in_use()

    assert re.fullmatch(r"x-[a-z2-7]{4}", install.device)
    assert (install.block, install.key) == (None, None)
    assert again == install


def test_pairing_makes_a_new_name_and_keeps_the_old_one(path):
    with Identity(path) as identity:
        before = identity.in_use()
        paired = identity.pair(MIRE)

        assert DEVICE.match(paired.device)
        assert paired.device.startswith("p3-")
        assert (paired.block, paired.block_name, paired.key) == ("km7q2x4a", "Kettle Mire", KEY)
        assert identity.in_use() == paired
        assert identity.installs() == (before, paired)


def test_a_new_key_for_the_same_phone_code_keeps_the_name(path):
    with Identity(path) as identity:
        first = identity.pair(MIRE)
        second = identity.pair(Pairing("km7q2x4a", "Kettle Mire", "p3", bytes(32)))

        assert second.device == first.device
        assert identity.installs() == (second,)
        assert identity.in_use().key == bytes(32)


def test_a_phone_that_serves_two_blocks_keeps_a_name_and_key_for_each(path):
    with Identity(path) as identity:
        mire, bog = identity.pair(MIRE), identity.pair(BOG)
        assert identity.in_use() == bog

        assert identity.use(mire.device) == mire == identity.in_use()
    with Identity(path) as identity:
        assert identity.installs() == (bog, mire)
        with pytest.raises(KeyError):
            identity.use("p9-aaaa")


def test_another_phone_code_on_the_same_block_is_another_device(path):
    with Identity(path) as identity:
        first = identity.pair(MIRE)
        other = identity.pair(Pairing("km7q2x4a", "Kettle Mire", "p4", KEY))

        assert other.device != first.device
        assert len(identity.installs()) == 2


def test_a_key_is_never_shown_in_a_message(path):
    with Identity(path) as identity:
        install = identity.pair(MIRE)

    assert KEY.hex() not in repr(install) + repr(MIRE)
    assert repr(KEY) not in repr(install) + repr(MIRE)


def test_tags_differ_from_install_to_install(tmp_path):
    names = set()
    for number in range(20):
        with Identity(tmp_path / f"{number}.json") as identity:
            names.add(identity.in_use().device)

    assert len(names) > 15


def test_a_pairing_file_reads_back_as_it_was_written():
    data = pairing_json(MIRE)

    assert pairing_of(data) == MIRE
    assert json.loads(data) == {"pairing": 1, "block": "km7q2x4a", "block_name": "Kettle Mire",
                                "phone": "p3", "key": KEY.hex()}


@pytest.mark.parametrize("change", [
    {"pairing": 2}, {"pairing": True}, {"pairing": None}, {"block": ""}, {"block": 3},
    {"block_name": None}, {"phone": "P3"}, {"phone": "x"}, {"phone": "p3-k7f2"}, {"phone": None},
    {"key": "00"}, {"key": None}, {"key": KEY.hex().upper()}, {"key": "zz" * 32}])
def test_a_pairing_file_of_a_wrong_shape_is_refused_and_its_key_not_shown(change):
    data = json.dumps({**json.loads(pairing_json(MIRE)), **change}).encode()

    with pytest.raises(PairingError) as told:
        pairing_of(data)
    assert KEY.hex()[:16] not in str(told.value).lower()


@pytest.mark.parametrize(
    "data", [b"", b"[]", b"\xff", b'{"pairing":1,"pairing":1}', b"{" * 20_000])
def test_what_is_no_pairing_file_is_refused(data):
    with pytest.raises(PairingError):
        pairing_of(data)


def test_a_short_key_makes_no_pairing_file():
    with pytest.raises(PairingError):
        pairing_json(Pairing("km7q2x4a", "Kettle Mire", "p3", b"short"))
