"""Pairing codes: both sides show that they know the digits and see the same certificate."""

import hashlib
import json
import re

import pytest
from running_shed import Owner, ask, ask_json, proof, session

from sync.shed.pairing import NoCodeError, PairingDesk, WrongCodeError, slow_sum

PIN = "ab" * 32


class Clock:
    def __init__(self):
        self.now = 1000.0

    def __call__(self):
        return self.now


def shown(desk, digits, *, pin=PIN, phone_nonce="00" * 16):
    """Begin and prove as a phone does; gives the arguments of `check`."""
    began = desk.begin()
    bound = {"cert": pin, "nonce": began["nonce"], "phone_nonce": phone_nonce}
    secret = slow_sum(digits, bytes.fromhex(began["salt"]), bound)
    return began["nonce"], phone_nonce, proof(secret, {"who": "phone", **bound})


def test_a_code_has_eight_digits_and_is_never_shown_by_itself():
    desk = PairingDesk(PIN, clock=Clock())
    desk.open_code("p3")

    assert re.fullmatch("[0-9]{8}", desk.current().digits)
    assert desk.current().digits not in repr(desk.current())


def test_the_right_digits_are_good_once():
    desk = PairingDesk(PIN, clock=Clock())
    desk.open_code("p3")
    said = shown(desk, desk.current().digits)

    assert desk.check(*said).phone == "p3"
    with pytest.raises(NoCodeError):
        desk.check(*said)
    with pytest.raises(NoCodeError):
        desk.begin()


def test_another_certificate_is_a_wrong_code():
    desk = PairingDesk(PIN, clock=Clock())
    desk.open_code("p3")
    said = shown(desk, desk.current().digits, pin="cd" * 32)

    with pytest.raises(WrongCodeError):
        desk.check(*said)


def test_three_wrong_tries_close_a_code():
    desk = PairingDesk(PIN, clock=Clock())
    desk.open_code("p3")
    wrong = f"{(int(desk.current().digits) + 1) % 10**8:08d}"
    for _ in range(3):
        with pytest.raises(WrongCodeError):
            desk.check(*shown(desk, wrong))

    assert desk.current() is None
    with pytest.raises(NoCodeError):
        desk.begin()


def test_a_nonce_is_good_once_though_the_try_was_wrong():
    desk = PairingDesk(PIN, clock=Clock())
    desk.open_code("p3")
    nonce, own, _ = shown(desk, "00000000")
    with pytest.raises(WrongCodeError):
        desk.check(nonce, own, "0" * 64)

    with pytest.raises(NoCodeError):
        desk.check(nonce, own, "0" * 64)


def test_a_code_lives_ten_minutes():
    clock = Clock()
    desk = PairingDesk(PIN, clock=clock)
    desk.open_code("p3")
    clock.now += 599
    said = shown(desk, desk.current().digits)
    clock.now += 2

    assert desk.current() is None
    with pytest.raises(NoCodeError):
        desk.check(*said)


def test_a_new_code_takes_the_place_of_the_one_before():
    desk = PairingDesk(PIN, clock=Clock())
    desk.open_code("p3")
    old = shown(desk, desk.current().digits)
    desk.open_code("p4")

    with pytest.raises(NoCodeError):
        desk.check(*old)


def code_on_page(owner, phone="p7"):
    page = owner.post("/phones/pair", phone=phone)
    assert page.status == 303
    text = owner.get("/phones/code").text
    return "".join(re.search(r'class="digits"[^>]*>([0-9]{4}) ([0-9]{4})<', text).groups())


def paired_by(port, pin, digits):
    """Pair as a phone does; gives the shed's answer and what was bound."""
    began = ask_json(port, "/phone/pair/begin", {}).json
    bound = {"cert": pin, "nonce": began["nonce"], "phone_nonce": "11" * 16}
    secret = slow_sum(digits, bytes.fromhex(began["salt"]), bound)
    said = {"nonce": began["nonce"], "phone_nonce": "11" * 16,
            "proof": proof(secret, {"who": "phone", **bound})}
    return ask_json(port, "/phone/pair", said), secret, bound


def test_a_phone_is_paired_and_the_shed_shows_itself(small, open_here):
    here = open_here(small().folder)
    owner = Owner(here)
    owner.sign_in(here.code)
    digits = code_on_page(owner)

    answer, secret, bound = paired_by(here.port, here.pin, digits)

    given = answer.json["pairing"]
    total = hashlib.sha256(json.dumps(given, sort_keys=True, separators=(",", ":")).encode())
    assert given["phone"] == "p7"
    assert answer.json["proof"] == proof(
        secret, {"who": "shed", **bound, "sum": total.hexdigest()})
    began = session(here.port, device="p7-abcd", block=given["block"],
                    key=bytes.fromhex(given["key"]))
    assert began.status == 200
    assert "p7" in owner.get("/phones/code").text


def test_a_replayed_pairing_gets_nothing(small, open_here):
    here = open_here(small().folder)
    owner = Owner(here)
    owner.sign_in(here.code)
    digits = code_on_page(owner)
    paired_by(here.port, here.pin, digits)

    again = ask_json(here.port, "/phone/pair/begin", {})

    assert (again.status, again.json["code"]) == (403, "no_code")


def test_a_wrong_code_is_refused_and_an_expired_one_too(small, open_here):
    here = open_here(small().folder)
    owner = Owner(here)
    owner.sign_in(here.code)
    digits = code_on_page(owner)
    wrong = f"{(int(digits) + 1) % 10**8:08d}"

    refused, _, _ = paired_by(here.port, here.pin, wrong)
    here.later_s = 601
    late = ask_json(here.port, "/phone/pair/begin", {})

    assert (refused.status, refused.json["code"]) == (403, "wrong_code")
    assert late.json["code"] == "no_code"


def test_pairing_is_held_to_a_rate(small, open_here):
    here = open_here(small().folder)

    answers = [ask_json(here.port, "/phone/pair/begin", {}).status for _ in range(32)]

    assert answers[0] == 403
    assert answers[-1] == 429


def test_pairing_anew_retires_the_former_device_whose_late_files_are_taken(small, open_here):
    from running_shed import picked

    block = small()
    phone = picked(block, code="p7")
    here = open_here(block.folder)
    session(here.port, device=phone.device, block=phone.block, key=phone.key)
    owner = Owner(here)
    owner.sign_in(here.code)
    paired_by(here.port, here.pin, code_on_page(owner, "p7"))

    late = session(here.port, device=phone.device, block=phone.block, key=phone.key)
    sheet = ask(here.port, "GET", "/phone/sheet", None,
                {"Authorization": f"Bearer {late.json['token']}"})

    assert late.status == 200
    assert sheet.json["code"] == "not_paired"
    assert "retired" in owner.ready("/phones").text
