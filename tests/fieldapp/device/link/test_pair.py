"""Eight digits bind the phone to the certificate it has seen, and to nobody in between."""

import json
import threading

import pytest

from fieldapp.device.link.pair import pair
from fieldapp.device.link.trouble import LinkError
from fieldapp.device.pairing import Pairing, pairing_json
from fieldapp.device.phone_folder import PhoneFolder

CODE, KEY = "40718253", bytes(range(32))


def test_the_code_brings_pairing_and_pin(open_shed):
    there = open_shed()

    paired = pair(there.address, CODE)

    assert (paired.pairing.block, paired.pairing.block_name) == ("km7q2x4a", "Kettle Mire")
    assert (paired.pairing.phone, paired.pairing.key) == ("p3", KEY)
    assert (paired.pin, paired.address) == (there.pin, there.address)
    assert [path for _, path in there.shed.asked] == ["/phone/pair/begin", "/phone/pair"]
    assert KEY.hex() not in repr(paired)


def test_a_wrong_code_is_told_by_the_shed_and_nothing_is_kept(open_shed, tmp_path):
    there, phone = open_shed(), PhoneFolder(tmp_path / "phone")
    before = phone.in_use()

    with pytest.raises(LinkError, match="the digits are not those") as told:
        phone.pair_over_wifi(str(there.address), "40718254")

    assert told.value.code == "wrong_code"
    assert phone.installs() == (before,)
    assert phone.last_address() == str(there.address)


@pytest.mark.parametrize("code", ["", "1234567", "123456789", "1234567a", "1234 678",
                                  "\u0661" * 8, "12345678\n"])
def test_what_is_not_eight_digits_asks_nobody(open_shed, code):
    there = open_shed()

    with pytest.raises(LinkError, match="not eight digits") as told:
        pair(there.address, code)

    assert told.value.code == "bad_code"
    assert there.shed.asked == []


def test_who_stands_between_gets_no_pairing_out_of_the_shed(open_shed, papers):
    """Whoever passes all questions on shows a certificate of its own, and the proof is of that."""
    there, between = open_shed(), open_shed(papers("between"))
    between.shed.answer = there.shed.answer

    with pytest.raises(LinkError) as told:
        pair(between.address, CODE)

    assert told.value.code == "wrong_code"


def test_who_does_not_know_the_code_makes_no_pairing(open_shed):
    there = open_shed()
    right = there.shed.answer

    def lie(method, path, head, body):
        if path != "/phone/pair":
            return right(method, path, head, body)
        there.shed.code = "00000000"
        pairing = {"pairing": 1, "block": "km7q2x4a", "block_name": "x", "phone": "p3",
                   "key": "00" * 32}
        return 200, {"pairing": pairing, "proof": "ab" * 32}
    there.shed.answer = lie

    with pytest.raises(LinkError, match="does not know the code: nothing was kept") as told:
        pair(there.address, CODE)

    assert told.value.code == "impostor"


@pytest.mark.parametrize("change", [
    {"phone": "p4"}, {"key": "ff" * 32}, {"block": "other"}, {"more": 1}])
def test_a_pairing_changed_on_its_way_does_not_fit_the_proof(open_shed, change):
    there = open_shed()
    right = there.shed.answer

    def changed(method, path, head, body):
        status, told = right(method, path, head, body)
        if path == "/phone/pair":
            told["pairing"].update(change)
        return status, told
    there.shed.answer = changed

    with pytest.raises(LinkError) as told:
        pair(there.address, CODE)

    assert told.value.code == "impostor"


@pytest.mark.parametrize(("path", "answer"), [
    ("/phone/pair/begin", {}), ("/phone/pair/begin", {"salt": "zz" * 16, "nonce": "ab" * 16}),
    ("/phone/pair/begin", {"salt": "ab" * 16, "nonce": "ab" * 400}),
    ("/phone/pair", {}), ("/phone/pair", {"pairing": [], "proof": "ab" * 32}),
    ("/phone/pair", {"pairing": {}, "proof": 3})])
def test_half_an_answer_is_no_shed(open_shed, path, answer):
    there = open_shed()
    right = there.shed.answer
    there.shed.answer = lambda *asked: (200, answer) if asked[1] == path else right(*asked)

    with pytest.raises(LinkError) as told:
        pair(there.address, CODE)

    assert told.value.code == "no_shed"


def test_a_phone_paired_over_wifi_keeps_pin_and_address_in_its_private_file(open_shed, tmp_path):
    there, phone = open_shed(), PhoneFolder(tmp_path / "phone")

    install = phone.pair_over_wifi(str(there.address), CODE)

    assert phone.in_use() == install == PhoneFolder(tmp_path / "phone").in_use()
    assert (install.pin, install.address) == (there.pin, str(there.address))
    assert install.device.startswith("p3-")
    assert KEY.hex() not in repr(install)
    kept = [path for path in tmp_path.rglob("*") if path.is_file()
            and KEY.hex().encode() in path.read_bytes()]
    assert [path.name for path in kept] == ["identity.json"]
    assert kept[0].stat().st_mode & 0o777 == 0o600


def test_paired_again_by_code_the_device_keeps_its_name(open_shed, tmp_path):
    there, phone = open_shed(), PhoneFolder(tmp_path / "phone")
    first = phone.pair_over_wifi(str(there.address), CODE)
    there.shed.key = bytes(32)

    second = phone.pair_over_wifi(str(there.address), CODE)

    assert second.device == first.device
    assert second.key == bytes(32)


def test_a_shed_that_moved_is_found_again_by_its_new_address(open_shed, tmp_path):
    there, phone = open_shed(), PhoneFolder(tmp_path / "phone")
    phone.pair_over_wifi(str(there.address), CODE)

    moved = phone.shed_at("10.0.0.9")

    assert moved.address == phone.last_address() == "10.0.0.9:8417"
    assert phone.in_use() == moved
    assert moved.pin == there.pin


def test_an_identity_from_before_there_was_a_link_still_reads(open_shed, tmp_path):
    phone = PhoneFolder(tmp_path / "phone")
    phone.pair_over_wifi(str(open_shed().address), CODE)
    path = tmp_path / "phone" / "identity.json"
    store = json.loads(path.read_text())
    for row in store["_default"].values():
        del row["pin"], row["address"]
    path.write_text(json.dumps(store))

    assert (phone.in_use().pin, phone.in_use().address) == (None, None)
    assert phone.in_use().key == KEY


def test_turning_to_another_block_meanwhile_loses_neither(open_shed, tmp_path):
    there, phone = open_shed(), PhoneFolder(tmp_path / "phone")
    bog = Pairing("zz3b8c1d", "Long Bog", "p1", KEY)
    phone.bring("p1.pairing.json", pairing_json(bog))
    phone.take_in()
    used, pairs = phone.in_use().device, 5

    def pair_again():
        for _ in range(pairs):
            phone.pair_over_wifi(str(there.address), CODE)
    pairing = threading.Thread(target=pair_again)
    pairing.start()
    while pairing.is_alive():
        phone.use(used)
    pairing.join()

    assert {one.block for one in phone.installs()} == {"zz3b8c1d", "km7q2x4a"}
    assert len(there.shed.asked) == 2 * pairs
