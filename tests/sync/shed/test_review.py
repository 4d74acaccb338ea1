"""Faults that a stranger's look at the shed has found, one test each, named by their dates."""

import dataclasses
import hashlib
import os
import shutil
import socket
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

from running_shed import Owner, ask, ask_json, connect, picked, proof, session, token_of, upload
from starlette.applications import Starlette
from starlette.responses import Response

from fieldapp.device.identity import Identity
from fieldapp.device.link.address import address_of
from fieldapp.device.link.pair import pair
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.record import stamp
from sync.disk import uploads
from sync.disk.keys import load_phones
from sync.shed.doors import Door, route_of
from sync.shed.rebuild import Rebuilder
from sync.shed.serve import take_port


def note(folder, count):
    with folder.journal(folder.in_use()) as journal:
        for _ in range(count):
            journal.append({"kind": "bag", "at": stamp(datetime.now(UTC)), "person": "MT",
                            "where": None, "bags": 1})


def signed_in(here):
    owner = Owner(here)
    owner.sign_in(here.code)
    return owner


def opened(here, phone, **changed):
    return session(here.port, **{"device": phone.device, "block": phone.block, "key": phone.key,
                                 **changed})


def test_2026_11_27_a_session_that_waits_for_a_taking_holds_up_nobody_else(small, open_here):
    block = small()
    phone = picked(block)
    here = open_here(block.folder)
    with ThreadPoolExecutor() as others:
        with here.shed.taking:
            waits = others.submit(opened, here, phone)
            time.sleep(0.5)
            began = time.monotonic()
            page = ask(here.port, "GET", "/pairing", timeout=5)
            took_s = time.monotonic() - began
        assert waits.result(20).status == 200

    assert page.status == 200
    assert took_s < 3


def test_2026_11_27_a_register_of_yesterday_is_old_though_nothing_came_in(small):
    folder = small().folder
    clock = [datetime.fromisoformat("2026-02-20T00:00:00Z")]
    one = Rebuilder(folder, now=lambda: clock[0])
    one.start()
    try:
        view = one.wait(one.ask(), most_s=30)
        assert not one.is_old(view)
        clock[0] += timedelta(days=1)

        assert one.is_old(view)
        until = time.monotonic() + 30
        while one.on(None).register.on == view.register.on and time.monotonic() < until:
            time.sleep(0.1)
        assert one.on(None).register.on == view.register.on + timedelta(days=1)
    finally:
        one.stop()


def test_2026_11_27_a_stranger_learns_nothing_of_a_broken_file(small, open_here):
    block = small()
    phone = picked(block)
    here = open_here(block.folder)
    (block.folder / "people.toml").write_text('[MARYSECRET]\nname = 5\nrole = "queen"\n')

    answer = opened(here, phone, key=bytes(32))

    assert answer.status == 503
    assert "MARYSECRET" not in answer.text
    assert "people.toml" not in answer.text


def test_2026_11_27_a_phone_names_a_device_that_can_be_one(small, open_here):
    block = small()
    phone = picked(block)
    here = open_here(block.folder)
    owner = signed_in(here)

    for device in ("p1-\ud800aaa", "p1", "p1-" + "a" * 150, "p1-<b>b"):
        assert opened(here, phone, device=device).status == 400, device
    assert load_phones(block.folder)[0].device is None
    assert owner.ready("/phones").status == 200


def test_2026_11_27_a_proof_of_odd_letters_is_a_wrong_code(small, open_here):
    here = open_here(small().folder)
    here.shed.desk.open_code("p3")
    nonce = ask_json(here.port, "/phone/pair/begin", {}).json["nonce"]

    answer = ask_json(here.port, "/phone/pair",
                      {"nonce": nonce, "phone_nonce": "11" * 16, "proof": "\ud800" * 64})

    assert answer.status in {400, 403}


def test_2026_11_27_a_stranger_who_fetches_nonces_keeps_no_phone_out(small, open_here):
    block = small()
    phone = picked(block)
    here = open_here(block.folder)
    for _ in range(1000):
        here.shed.phones.nonce()

    assert opened(here, phone).status == 200


def test_2026_11_27_a_stranger_who_guesses_does_not_lock_the_owner_out(small, open_here):
    here = open_here(small().folder)
    stranger = Owner(here)
    page = stranger.get("/sign-in")
    for _ in range(12):
        stranger.post("/sign-in", token=token_of(page.text), code="wrong")
    assert stranger.post("/sign-in", token=token_of(page.text), code="wrong").status == 429

    line = connect(here.port)
    line.source_address = ("127.0.0.2", 0)
    line.request("GET", "/sign-in")
    answer = line.getresponse()
    visit, form = answer.headers["Set-Cookie"].partition(";")[0], token_of(answer.read().decode())
    line.request("POST", "/sign-in", f"token={form}&code={here.code}".encode(), {
        "Cookie": visit, "Content-Type": "application/x-www-form-urlencoded"})
    answer = line.getresponse()
    answer.read()
    line.close()

    assert (answer.status, answer.headers["Location"]) == (303, "/block")


def test_2026_11_27_a_form_that_is_sent_twice_is_written_down_once(small, open_here):
    block = small()
    here = open_here(block.folder)
    owner = signed_in(here)
    owner.ready("/type/bag")
    page = owner.get("/type/bag").text
    once = page.partition('name="once" value="')[2].partition('"')[0]
    fields = {"day": "2026-02-20", "person": "MT", "cell": "B02", "bags": "3", "once": once}
    with ThreadPoolExecutor() as both:
        sent = [both.submit(owner.post, "/type/bag", token=token_of(page), **fields)
                for _ in range(2)]
        places = {one.result().heads["Location"] for one in sent}

    assert places == {"/type/bag?said=shed%3A1"}
    later = owner.post("/type/bag", page="/type/bag", **{**fields, "once": "ab" * 8})
    assert later.heads["Location"] == "/type/bag?said=shed%3A2"


def test_2026_11_27_listening_everywhere_by_ipv6_is_reached_by_ipv4_too():
    with take_port("::", 0) as door:
        port = door.getsockname()[1]
        socket.create_connection(("127.0.0.1", port), timeout=5).close()


def test_2026_11_27_a_whole_upload_stays_while_a_file_of_the_owner_is_broken(small, open_here):
    block = small()
    phone = picked(block)
    here = open_here(block.folder)
    token = opened(here, phone).json["token"]
    people = (block.folder / "people.toml").read_bytes()
    (block.folder / "people.toml").write_text("not toml [")
    data = phone.pack()
    assert upload(here.port, token, data).status == 503
    (block.folder / "people.toml").write_bytes(people)

    kept = [one.stat().st_size for one in (block.folder / "incoming").glob("*.part")]

    assert kept == [len(data)]
    assert upload(here.port, token, data).json["held"] == [[1, 32]]


def test_2026_11_27_sixty_phones_that_wait_for_a_sheet_hold_up_no_hand_over(
        small, open_here, monkeypatch):
    block = small()
    phone = picked(block)
    here = open_here(block.folder)
    here.shed.rebuilder.wait(here.shed.rebuilder.ask(), most_s=30)
    token = opened(here, phone).json["token"]
    hold = threading.Event()
    built = here.shed.rebuilder._built

    def slow(*given):
        hold.wait(30)
        return built(*given)

    monkeypatch.setattr(here.shed.rebuilder, "_built", slow)
    (block.folder / "people.toml").touch()
    heads = {"Authorization": f"Bearer {token}"}
    with ThreadPoolExecutor(60) as others:
        waits = [others.submit(ask, here.port, "GET", "/phone/sheet", None, heads)
                 for _ in range(60)]
        time.sleep(2)
        began = time.monotonic()
        try:
            taken = upload(here.port, token, phone.pack())
            took_s = time.monotonic() - began
        finally:
            hold.set()
        assert {one.result().status for one in waits} == {200}

    assert taken.json["held"] == [[1, 32]]
    assert took_s < 5


def reads_slowly(port, bytes_s):
    """Ask for /big and read it little by little; gives how many bytes came before it ended."""
    plain = socket.socket()
    plain.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 16_384)
    plain.connect(("127.0.0.1", port))
    got = 0
    with connect(port)._context.wrap_socket(plain) as line:
        line.settimeout(10)
        line.sendall(b"GET /big HTTP/1.1\r\nHost: shed\r\nConnection: close\r\n\r\n")
        try:
            while part := line.recv(65_536):
                got += len(part)
                time.sleep(len(part) / bytes_s)
        except OSError:
            return got
    return got


def big_door(shed):
    async def big(visit):
        return Response(b"x" * 16_000_000)

    return Starlette(routes=[route_of(Door("/big", "GET", "anyone", big, 0, 10.0), shed)])


def test_2026_11_27_an_answer_over_a_slow_line_is_not_cut_as_idle(small, open_here, monkeypatch):
    monkeypatch.setattr("sync.shed.serve._IDLE_S", 1)
    monkeypatch.setattr("asyncio.constants.SSL_SHUTDOWN_TIMEOUT", 1.0)
    monkeypatch.setattr("running_shed.app_of", big_door)
    here = open_here(small().folder)

    assert reads_slowly(here.port, 1_600_000) > 16_000_000


def test_2026_11_27_who_does_not_read_is_let_go(small, open_here, monkeypatch):
    monkeypatch.setattr("asyncio.constants.SSL_SHUTDOWN_TIMEOUT", 1.0)
    monkeypatch.setattr("running_shed.app_of", big_door)
    here = open_here(small().folder, file_s=1.0)
    line = connect(here.port)
    line.connect()
    line.sock.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 16_384)
    line.request("GET", "/big")
    until = time.monotonic() + 15
    while not here._server.server_state.connections and time.monotonic() < until:
        time.sleep(0.05)
    while here._server.server_state.connections and time.monotonic() < until:
        time.sleep(0.1)
    line.close()

    assert time.monotonic() < until


def test_2026_11_27_a_salt_that_an_impostor_chose_fits_no_table_of_codes(
        small, open_here, monkeypatch):
    here = open_here(small().folder)
    desk = here.shed.desk
    desk.open_code("p3")
    digits, came, check = desk.current().digits, [], desk.check
    chosen = dataclasses.replace(desk.current(), salt=bytes(16))
    monkeypatch.setattr(desk, "_open", chosen)
    monkeypatch.setattr(desk, "check", lambda *said: came.append(said) or check(*said))
    table = hashlib.scrypt(digits.encode(), salt=bytes(16), n=2**14, r=8, p=1,
                           maxmem=64 * 1024 * 1024, dklen=32)

    paired = pair(address_of(here.address), digits)

    (nonce, own, shown), = came
    told = {"who": "phone", "cert": here.pin, "nonce": nonce, "phone_nonce": own}
    assert shown != proof(table, told)
    assert paired.pairing.phone == "p3"


def test_2026_11_27_what_nobody_comes_back_for_is_gone_after_a_start(small, open_here):
    block = small()
    incoming = block.folder / "incoming"
    room = incoming / "browser-0badcafe"
    room.mkdir(parents=True)
    part = f"{'ab' * 32}.100.part"
    for name in ("browser-0badcafe/large.zip", "p1-aaaa-abababab.handover.zip",
                 f"p1-aaaa.{part}", f"p2-bbbb.{part}", "p3-cccc-abababab.handover.zip"):
        (incoming / name).write_bytes(b"x" * 50)
    now = time.time()
    for name, days in (("browser-0badcafe", 2), ("p1-aaaa-abababab.handover.zip", 2),
                       (f"p1-aaaa.{part}", 61), (f"p2-bbbb.{part}", 59)):
        os.utime(incoming / name, (now - 86_400 * days,) * 2)

    open_here(block.folder)

    assert {one.name for one in incoming.iterdir()} == {
        f"p2-bbbb.{part}", "p3-cccc-abababab.handover.zip"}


def test_2026_11_27_a_part_that_comes_twice_at_once_is_there_once(tmp_path, monkeypatch):
    data = os.urandom(1000)
    upload_of_it = uploads.Upload("p1-aaaa", hashlib.sha256(data).hexdigest(), len(data))
    uploads.begin_upload(tmp_path, upload_of_it)
    both, have = threading.Barrier(2, timeout=5), uploads._have

    def at_once(*given):
        found = have(*given)
        both.wait()
        return found

    monkeypatch.setattr(uploads, "_have", at_once)
    with ThreadPoolExecutor(2) as threads:
        ended = [threads.submit(uploads.add_part, tmp_path, upload_of_it, 0, data[:400])
                 for _ in range(2)]
        assert [one.result() for one in ended] == [400, 400]
    monkeypatch.undo()

    uploads.add_part(tmp_path, upload_of_it, 400, data[400:])
    assert uploads.finish_upload(tmp_path, upload_of_it).read_bytes() == data


def test_2026_11_27_two_installs_of_one_pairing_are_not_both_let_in(small, open_here):
    block = small()
    phone = picked(block)
    here = open_here(block.folder)
    with ThreadPoolExecutor() as both:
        with here.shed.taking:
            came = [both.submit(opened, here, phone, device=device)
                    for device in ("p1-aaaa", "p1-bbbb")]
            time.sleep(1)
        answers = sorted(one.result().status for one in came)

    assert answers == [200, 403]


def test_2026_11_27_a_sheet_that_finds_no_room_on_the_phone_hides_no_hand_over(
        small, open_here, tmp_path):
    here = open_here(small().folder)
    here.shed.desk.open_code("p3")
    paired = pair(address_of(here.address), here.shed.desk.current().digits)
    folder = PhoneFolder(tmp_path / "phone")
    with Identity(tmp_path / "phone/identity.json") as identity:
        identity.pair(paired.pairing, pin=paired.pin, address=here.address)
    note(folder, 3)
    shutil.rmtree(tmp_path / "phone/in")
    (tmp_path / "phone/in").write_text("in the way")

    outcome = folder.send_to_shed(now=datetime.now(UTC), program="test", tell=lambda *_: None,
                                  stop=threading.Event())

    assert [(one.records, one.left, one.trouble) for one in outcome.journals] == [(3, 0, None)]
    assert outcome.trouble.code == "storage"


PAIRS = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from sync.disk.folder import load_block
from sync.disk.keys import new_pairing
folder = Path(sys.argv[1])
block, _ = load_block(folder)
for i in range(20):
    new_pairing(folder, block, f"{sys.argv[2]}{i}", bytes(32), now=datetime.now(UTC))
"""


def test_2026_11_27_a_shed_and_a_command_that_pair_at_once_lose_nothing(small):
    folder = small().folder
    both = [subprocess.Popen([sys.executable, "-c", PAIRS, str(folder), one]) for one in "ab"]

    assert [one.wait(60) for one in both] == [0, 0]
    assert len(load_phones(folder)) == 40
