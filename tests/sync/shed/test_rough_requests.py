"""Requests that mean harm, or come from a broken program: refused in words or made harmless."""

import hashlib
import json
import socket
import ssl
import time
from datetime import UTC, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from running_shed import Owner, ask, ask_json, connect, picked, session

SCRIPT = "<script>alert(1)</script>"
START = datetime(2025, 11, 11, 5, tzinfo=UTC)
FILLED = {
    "clip": {"day": "2026-01-21", "person": "O", "clip": SCRIPT, "dry_g": SCRIPT, "note": SCRIPT},
    "lot": {"day": SCRIPT, "person": SCRIPT, "batch": SCRIPT, "bags": "5", "dry_kg": "30"},
    "batch": {"day": "2026-01-21", "person": "O", "batch": SCRIPT[:32], "stage": SCRIPT},
    "bag": {"day": "2026-01-21", "person": SCRIPT, "cell": SCRIPT, "bags": "2"},
    "past_pick": {"person": "O", "cell": "A01", "from": "2020-01-01", "note": SCRIPT},
    "notice": {"day": "2026-01-21", "person": "O", "permit": SCRIPT, "start": "2026-02-01"},
}


def token_for(here, phone):
    return session(here.port, device=phone.device, block=phone.block, key=phone.key).json["token"]


def test_ten_gigabytes_are_refused_before_a_byte_is_kept(small, open_here):
    block = small()
    phone = picked(block)
    here = open_here(block.folder)
    token = token_for(here, phone)

    claimed = ask_json(here.port, "/phone/uploads",
                       {"sha256": "ab" * 32, "size": 10_000_000_000}, token)
    line = connect(here.port)
    line.putrequest("PUT", "/phone/uploads/" + "ab" * 32)
    line.putheader("Content-Length", "10000000000")
    line.putheader("Authorization", f"Bearer {token}")
    line.putheader("X-From", "0")
    line.endheaders()
    answer = line.getresponse()

    assert (claimed.status, claimed.json["code"]) == (413, "too_large")
    assert answer.status == 413
    line.close()


def test_a_length_that_lies_is_counted_while_it_comes(small, open_here):
    here = open_here(small().folder)
    line = connect(here.port)
    line.putrequest("POST", "/phone/session/begin")
    line.putheader("Transfer-Encoding", "chunked")
    line.endheaders()
    piece = b"x" * 4096
    for _ in range(8):
        line.send(b"%x\r\n%s\r\n" % (len(piece), piece))

    answer = line.getresponse()

    assert answer.status == 413
    line.close()


def test_a_head_that_trickles_in_is_cut_off(small, open_here):
    here = open_here(small().folder, head_s=1.0)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname = False
    context.verify_mode = ssl.CERT_NONE
    with socket.create_connection(("127.0.0.1", here.port)) as plain, (
            context.wrap_socket(plain)) as line:
        line.settimeout(10)
        began = time.monotonic()
        cut = False
        while not cut and time.monotonic() - began < 8:
            try:
                line.sendall(b"G")
                time.sleep(0.2)
                line.settimeout(0.05)
                cut = line.recv(1) == b""
            except TimeoutError:
                continue
            except OSError:
                cut = True

    assert cut
    assert ask(here.port, "GET", "/sign-in").status == 200


def test_a_body_that_trickles_in_is_given_up(small, open_here):
    here = open_here(small().folder, request_s=1.0)
    line = connect(here.port)
    line.putrequest("POST", "/phone/session/begin")
    line.putheader("Content-Length", "1000")
    line.endheaders()
    line.send(b"{")

    assert line.getresponse().status == 503
    line.close()


def test_only_tls_1_3_is_spoken(small, open_here):
    here = open_here(small().folder)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname = False
    context.verify_mode = ssl.CERT_NONE
    context.maximum_version = ssl.TLSVersion.TLSv1_2
    with socket.create_connection(("127.0.0.1", here.port)) as plain, pytest.raises(OSError):
        context.wrap_socket(plain)


@pytest.mark.parametrize("body", [
    b"", b"{", b"[]", b"null", b'"x"', b'{"device": 5}', b"\xff\xfe", b"[" * 5000,
    b'{"device": "' + b"x" * 5000 + b'"}',
])
def test_what_no_phone_says_is_refused_in_words(small, open_here, body):
    here = open_here(small().folder)
    for path in ("/phone/session/begin", "/phone/session", "/phone/pair"):
        answer = ask(here.port, "POST", path, body)

        assert answer.status in {400, 403}
        assert answer.json["refused"]


def test_a_photo_with_a_path_for_a_name_never_leaves_the_file(small, open_here):
    from running_shed import upload

    block = small()
    phone = picked(block)
    here = open_here(block.folder)
    data = phone.pack()
    for name in (b"../../../evil.jpg", b"photos/../../evil.jpg", b"/etc/evil.jpg"):
        trap = _with_entry(data, name.decode())
        answer = upload(here.port, token_for(here, phone), trap)

        assert answer.status == 422
        assert "leads elsewhere" in answer.json["refused"]
    assert not list(block.folder.parent.rglob("evil.jpg"))


def _with_entry(data, name):
    import io
    import zipfile

    copy = io.BytesIO(data)
    with zipfile.ZipFile(copy, "a") as archive:
        archive.writestr(name, b"x")
    return copy.getvalue()


def test_a_file_of_the_browser_is_taken_under_a_plain_name(small, open_here):
    block = small()
    phone = picked(block)
    here = open_here(block.folder)
    owner = Owner(here)
    owner.sign_in(here.code)

    answer = owner.send_file("/take", "../../" + SCRIPT + ".handover.zip", phone.pack(),
                             page="/phones")

    assert answer.status == 200
    assert "32 new records" in answer.text
    assert SCRIPT not in answer.text
    assert not list((block.folder / "incoming").iterdir())
    assert ".." not in (block.folder / "intake.log").read_text().split("'")[1]


def test_a_script_in_every_text_field_stays_text(small, open_here):
    block = small()
    phone = picked(block)
    phone.note("mark", START, what="hazard", name=SCRIPT, note=SCRIPT, where=None)
    phone.records[0]["note"] = SCRIPT
    block.take({"a.handover.zip": phone.pack()})
    people = block.folder / "people.toml"
    people.write_text(people.read_text().replace("M. T.", SCRIPT).replace("M.T.", SCRIPT))
    here = open_here(block.folder)
    owner = Owner(here)
    owner.sign_in(here.code)
    owner.ready()
    for kind, fields in FILLED.items():
        answer = owner.post(f"/type/{kind}", **fields)
        assert SCRIPT not in answer.text, kind
    owner.ready()
    pages = ["/block", "/flags", "/phones", "/plan", "/report", "/aside", "/cell/B02",
             "/record/p1-aaaa:1", f"/record/p1-aaaa:{len(phone.records)}", "/type/clip",
             f"/flags?rule={SCRIPT}&said={SCRIPT}", f"/block?state={SCRIPT}&sort={SCRIPT}",
             f"/block?on={SCRIPT}", f"/cell/{SCRIPT}", f"/record/{SCRIPT}",
             f"/phones/revoke?phone={SCRIPT}&since=x", f"/type/clip?clip={SCRIPT}"]
    for path in pages:
        answer = owner.get(path.replace("<", "%3C").replace(">", "%3E"))

        assert SCRIPT not in answer.text, path
        assert "script-src" not in answer.heads["Content-Security-Policy"]
        assert "default-src 'self'" in answer.heads["Content-Security-Policy"]
    assert "&lt;script&gt;" in owner.get("/record/p1-aaaa:1").text


def test_no_page_brings_a_style_or_a_script_of_its_own(small, open_here):
    block = small()
    block.take({"a.handover.zip": picked(block).pack()})
    here = open_here(block.folder)
    owner = Owner(here)
    owner.sign_in(here.code)
    owner.ready()
    for path in ("/block", "/flags", "/phones", "/plan", "/report", "/cell/B02", "/phones/pair"):
        text = owner.ready(path).text

        assert " style=" not in text, path
        assert "<style" not in text, path
        assert text.count("<script") == 1, path
        assert " onclick" not in text, path


@settings(max_examples=60, deadline=None, suppress_health_check=[
    HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(st.data())
def test_no_bytes_of_a_phone_break_the_shed(shared_here, data):
    here, phone = shared_here
    token = token_for(here, phone)
    path = data.draw(st.sampled_from([
        "/phone/uploads", "/phone/uploads/" + "ab" * 32, "/phone/session", "/phone/pair",
        "/phone/session/begin"]))
    fields = data.draw(st.dictionaries(
        st.sampled_from(["sha256", "size", "device", "block", "nonce", "proof", "phone_nonce"]),
        st.none() | st.booleans() | st.integers() | st.text(max_size=80)
        | st.lists(st.integers(), max_size=3)))
    body = data.draw(st.binary(max_size=200) | st.just(json.dumps(fields).encode()))
    start = data.draw(st.sampled_from(["0", "-1", "1e9", "9" * 40, "", "5"]))
    method = "PUT" if path.startswith("/phone/uploads/") else "POST"

    answer = ask(here.port, method, path, body,
                 {"Authorization": f"Bearer {token}", "X-From": start})

    assert answer.status < 500 or answer.json["code"] == "busy"
    assert answer.status == 200 or answer.json["refused"]


@pytest.fixture
def shared_here(small, open_here):
    block = small()
    phone = picked(block)
    here = open_here(block.folder)
    here.shed.allowances.allows = lambda *_: True
    return here, phone


def test_the_sum_of_a_part_is_that_of_the_whole_file(small, open_here):
    """A part of another file under a known sum leaves no record behind."""
    block = small()
    phone = picked(block)
    here = open_here(block.folder)
    token = token_for(here, phone)
    data = phone.pack()
    total = hashlib.sha256(data).hexdigest()
    ask_json(here.port, "/phone/uploads", {"sha256": total, "size": len(data)}, token)

    answer = ask(here.port, "PUT", f"/phone/uploads/{total}", b"\0" * len(data),
                 {"Authorization": f"Bearer {token}", "X-From": "0"})

    assert answer.status == 409
    assert here.shed.folder.joinpath("intake.log").exists() is False
