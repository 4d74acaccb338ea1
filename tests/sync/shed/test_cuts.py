"""A phone that vanishes at any byte, and a shed that is killed: nothing is lost, nothing twice."""

import gc
import hashlib
import http.client
import multiprocessing
import random
import socket
import sqlite3
import struct
import threading
import time
import warnings

import pytest
from cutting import CutLine
from running_shed import ask, ask_json, connect, picked, session

from sync.cli.shed import shed as serve

CUTS, KILLS = 100, 30


def held_by(answer):
    return {n for first, last in answer.json["held"] for n in range(first, last + 1)}


class Trying:
    """A phone that tries until its file is taken; it notes all that was ever acknowledged."""

    def __init__(self, port, phone, data, part):
        self.port, self.phone, self.data, self.part = port, phone, data, part
        self.total = hashlib.sha256(data).hexdigest()
        self.acknowledged = set()
        self.have = []
        self.tries = 0

    def once(self):
        """Go on as far as the line lasts; true once the whole file was acknowledged."""
        self.tries += 1
        began = session(self.port, device=self.phone.device, block=self.phone.block,
                        key=self.phone.key)
        if began.status == 401:  # the shed was killed between the two steps
            raise EOFError("the nonce was of another shed's life")
        now = held_by(began)
        assert now >= self.acknowledged, "an acknowledged record was lost"
        self.acknowledged |= now
        token = began.json["token"]
        answer = ask_json(self.port, "/phone/uploads",
                          {"sha256": self.total, "size": len(self.data)}, token)
        while True:
            if answer.status == 401:  # 2026-11-28: the shed was killed and opened in between
                raise EOFError("the session has ended: a new one goes on")
            assert answer.status == 200, answer.text
            have = answer.json["have"]
            self.have.append(have)
            part = self.data[have:have + self.part]
            answer = ask(self.port, "PUT", f"/phone/uploads/{self.total}", part,
                         {"Authorization": f"Bearer {token}", "X-From": str(have)}, timeout=5)
            if "taken" in answer.json:
                self.acknowledged |= held_by(answer)
                return True

    def until_taken(self):
        until = time.monotonic() + 240
        while time.monotonic() < until:
            try:
                if self.once():
                    return
            except (OSError, EOFError, http.client.HTTPException) as broken:
                self.last = broken
                time.sleep(0.02)
        raise AssertionError(f"never taken after {self.tries} tries: {self.last!r}")


def rows(folder):
    with sqlite3.connect(folder / "journal.sqlite") as db:
        return db.execute("SELECT name, count(*) FROM record GROUP BY name").fetchall()


def assert_all_there_once(folder, phone):
    found = dict(rows(folder))

    assert found == {f"{phone.device}:{record['seq']}": 1 for record in phone.records}


def test_a_line_cut_at_a_hundred_places_loses_nothing(small, open_here):
    block = small()
    phone = picked(block, bags=300)
    here = open_here(block.folder)
    here.shed.allowances.allows = lambda *_: True
    rng = random.Random(417)
    data = phone.pack()
    line = CutLine(here.port, [rng.randrange(1, 9000) for _ in range(CUTS)])
    trying = Trying(line.port, phone, data, part=1 << 14)

    trying.until_taken()
    line.close()

    assert line.cut == CUTS, "all was handed over too soon: a longer file is needed"
    assert trying.acknowledged == set(range(1, len(phone.records) + 1))
    assert_all_there_once(block.folder, phone)


@pytest.fixture
def forked_sheds():
    """Sheds that start at once, as their program was loaded before they are forked."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["sync.cli.shed"])
    running = []

    def start(folder, port):
        process = context.Process(target=serve, args=(folder, "127.0.0.1", port), daemon=True)
        process.start()
        running.append(process)
        until = time.monotonic() + 30
        while time.monotonic() < until:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", port)) == 0:
                    return process
            time.sleep(0.02)
        raise AssertionError("the shed does not open")

    yield start
    for process in running:
        process.kill()
        process.join(10)


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def test_a_line_reset_before_its_handshake_is_closed():
    # 2026-11-29: it was left open, and told of as rubbish in the midst of somebody else's test.
    with socket.create_server(("127.0.0.1", 0)) as door:
        line = connect(door.getsockname()[1])
        plain = socket.create_connection(door.getsockname())
        there, _ = door.accept()
        there.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        there.close()
        with warnings.catch_warnings(record=True) as said:
            warnings.simplefilter("always")
            with pytest.raises(ConnectionResetError):
                line._context.wrap_socket(plain)
            gc.collect()

    assert said == []


def test_a_shed_killed_thirty_times_during_uploads_loses_nothing(small, forked_sheds):
    block = small()
    phone = picked(block, bags=300)
    port = free_port()
    rng = random.Random(418)
    last = len(phone.records)
    sending = [Trying(port, phone, phone.pack(first, min(first + 19, last)), part=400)
               for first in range(1, last + 1, 20)]
    hands = threading.Thread(target=lambda: [one.until_taken() for one in sending], daemon=True)
    hands.start()
    while_sending = 0
    for _ in range(KILLS):
        shed = forked_sheds(block.folder, port)
        time.sleep(rng.uniform(0.05, 0.5))
        while_sending += hands.is_alive()
        shed.kill()
        shed.join(10)
    forked_sheds(block.folder, port)
    hands.join(120)

    assert while_sending == KILLS, "all was handed over too soon: make the parts smaller"
    assert not hands.is_alive()
    assert sending[-1].acknowledged == set(range(1, last + 1))
    assert sum(one.tries for one in sending) > KILLS / 2
    assert_all_there_once(block.folder, phone)
