"""A real server of a block folder in a process of its own, and a plain client for its doors."""

import dataclasses
import hashlib
import hmac
import http.client
import json
import os
import re
import signal
import ssl
import subprocess
import sys
import threading
import time
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from fieldapp.record import canonical
from sync.disk.certificate import shed_certificate
from sync.disk.owner_key import owner_key
from sync.shed.app import app_of
from sync.shed.limits import Limits
from sync.shed.serve import server_of, take_port
from sync.shed.shed import Clocks, shed_of

_START_S = 60.0
START = datetime(2025, 11, 10, 19, tzinfo=UTC)


@dataclasses.dataclass
class Running:
    """One server; `port` stays the same when it is started again.

    `before` is Python that its process runs first.
    """

    folder: Path
    port: int = 0
    code: str = ""
    pin: str = ""
    process: subprocess.Popen[bytes] | None = None
    before: str = ""

    @property
    def address(self) -> str:
        return f"127.0.0.1:{self.port}"

    @property
    def log(self) -> str:
        return (self.folder.parent / f"{self.folder.name}.log").read_text()

    @property
    def key(self) -> str:
        return (self.folder / "keys/owner.key").read_text().strip()

    def start(self) -> "Running":
        log = (self.folder.parent / f"{self.folder.name}.log").open("ab")
        self.process = subprocess.Popen(
            [sys.executable, "-c", f"{self.before}\nfrom sync.cli import main; main()", "shed",
             str(self.folder), "--host", "127.0.0.1", "--port", str(self.port)],
            stdout=subprocess.PIPE, stderr=log, env={**os.environ, "PYTHONUNBUFFERED": "1"})
        log.close()
        said = b""
        assert self.process.stdout is not None
        until = time.monotonic() + _START_S
        while b"sign-in: " not in said:
            line = self.process.stdout.readline()
            assert line, f"no shed: {said!r} {self.log}"
            assert time.monotonic() < until, "the shed starts for ever"
            said += line
        text = said.decode()
        self.port = int(re.search(r":(\d+)/", text)[1])  # type: ignore[index]
        self.code = re.search(r"sign-in: (\S+)", text)[1]  # type: ignore[index]
        self.pin = _pin_at(self.port)
        return self

    def kill(self) -> None:
        """Kill it at once, as a power cut would."""
        self._end(signal.SIGKILL)

    def stop(self) -> None:
        self._end(signal.SIGINT)

    def _end(self, how: signal.Signals) -> None:
        if self.process is not None:
            self.process.send_signal(how)
            self.process.wait(20)
            assert self.process.stdout is not None
            self.process.stdout.close()
            self.process = None

    def peak_mb(self) -> float:
        """Give the most memory the server ever held. [MB]"""
        assert self.process is not None
        text = Path(f"/proc/{self.process.pid}/status").read_text()
        return int(re.search(r"VmHWM:\s+(\d+)", text)[1]) / 1000  # type: ignore[index]


class Here:
    """A server in a thread of the test's own process: it starts at once, its clock can be put on.

    `later_s` moves its seconds, and `code` is its one-time sign-in.
    """

    def __init__(self, folder: Path, **limits: Any) -> None:
        self.folder = folder
        self.later_s = 0.0
        self._socket = take_port("127.0.0.1", 0)
        self.port = self._socket.getsockname()[1]
        self.address = f"127.0.0.1:{self.port}"
        now = datetime.now(UTC)
        self._certificate = shed_certificate(folder, names=["localhost"], now=now)
        self.pin = self._certificate.pin
        self.key = owner_key(folder)
        clocks = Clocks(lambda: datetime.now(UTC), lambda: time.monotonic() + self.later_s)
        self.shed = shed_of(folder, addresses=(self.address,), pin=self.pin, key=self.key,
                            clocks=clocks, limits=dataclasses.replace(Limits(), **limits))
        self.code = self.shed.sign_in.new_code()
        self._server = server_of(app_of(self.shed), self._certificate, self.shed.limits)
        self._thread = threading.Thread(
            target=self._server.run, kwargs={"sockets": [self._socket]}, daemon=True)

    def start(self) -> "Here":
        self.shed.rebuilder.start()
        self._thread.start()
        return self

    def stop(self) -> None:
        self._server.should_exit = True
        self._server.force_exit = True
        self._thread.join(10)
        self._socket.close()
        self.shed.rebuilder.stop()


class _Line(ssl.SSLSocket):
    """Closes itself where it was cut before its handshake; Python 3.11 leaves it open."""

    def getpeername(self) -> Any:
        """Give the other end, which the making of a line asks for first."""
        try:
            return super().getpeername()
        except OSError:
            self.close()
            raise ConnectionResetError("cut before the handshake") from None


def _context() -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.sslsocket_class = _Line
    context.check_hostname = False
    context.verify_mode = ssl.CERT_NONE
    return context


def connect(port: int, *, timeout: float = 30.0) -> http.client.HTTPSConnection:
    return http.client.HTTPSConnection("127.0.0.1", port, timeout=timeout, context=_context())


def _pin_at(port: int) -> str:
    line = connect(port)
    line.connect()
    shown = line.sock.getpeercert(binary_form=True)
    line.close()
    return hashlib.sha256(shown).hexdigest()


@dataclasses.dataclass
class Answer:
    status: int
    heads: http.client.HTTPMessage
    body: bytes

    @property
    def json(self) -> dict[str, Any]:
        return json.loads(self.body)

    @property
    def text(self) -> str:
        return self.body.decode()


def ask(
    port: int, method: str, path: str, body: bytes | None = None,
    heads: Mapping[str, str] | None = None, *, timeout: float = 30.0,
) -> Answer:
    """Ask one thing on a connection of its own."""
    line = connect(port, timeout=timeout)
    try:
        line.request(method, path, body, dict(heads or {}))
        answer = line.getresponse()
        return Answer(answer.status, answer.headers, answer.read())
    finally:
        line.close()


def ask_json(port: int, path: str, fields: Mapping[str, Any], token: str | None = None) -> Answer:
    heads = {"Content-Type": "application/json"}
    if token is not None:
        heads["Authorization"] = f"Bearer {token}"
    return ask(port, "POST", path, canonical(fields), heads)


def proof(key: bytes, said: Mapping[str, Any]) -> str:
    return hmac.new(key, canonical(said), hashlib.sha256).hexdigest()


def session(port: int, *, device: str, block: str, key: bytes) -> Answer:
    """Open a phone's session the long way round."""
    nonce = ask_json(port, "/phone/session/begin", {"device": device, "block": block}).json[
        "nonce"]
    told = {"device": device, "block": block, "nonce": nonce}
    return ask_json(port, "/phone/session",
                    {**told, "proof": proof(key, {"who": "phone", **told})})


def upload(
    port: int, token: str, data: bytes, *, part: int = 200_000, most_parts: int | None = None
) -> Answer:
    """Send a file from where the shed says it goes on; gives the last answer."""
    total = hashlib.sha256(data).hexdigest()
    answer = ask_json(port, "/phone/uploads", {"sha256": total, "size": len(data)}, token)
    sent = 0
    while answer.status == 200 and "taken" not in answer.json and sent != most_parts:
        have = answer.json["have"]
        answer = ask(port, "PUT", f"/phone/uploads/{total}", data[have:have + part],
                     {"Authorization": f"Bearer {token}", "X-From": str(have)})
        sent += 1
    return answer


def picked(small, code="p1", bags=30, key=bytes(range(32)), tag="aaaa"):
    """A paired phone of a block that has tallied some bags."""
    phone = small.phone(code, tag, key)
    phone.note("outing", START, state="start", role="picker", where=None)
    for i in range(bags):
        phone.bag(START + timedelta(minutes=5 * i + 1), 120 + i, 150)
    phone.note("outing", START + timedelta(hours=8), state="end", finished=[], where=None)
    return phone


class Owner:
    """A browser without scripts: one cookie jar, forms with their tokens."""

    def __init__(self, running: Running) -> None:
        self.port = running.port
        self.cookies: dict[str, str] = {}

    def get(self, path: str) -> Answer:
        return self._keep(ask(self.port, "GET", path, None, self._heads()))

    def post(self, path: str, *, page: str | None = None, token: str | None = None,
             **fields: str) -> Answer:
        """Send a form; its token is that of a page that has the form."""
        if token is None:
            token = token_of(self.get(page or path).text)
        from urllib.parse import urlencode

        body = urlencode({"token": token, **fields}).encode()
        return self._keep(ask(self.port, "POST", path, body, {
            **self._heads(), "Content-Type": "application/x-www-form-urlencoded"}))

    def send_file(self, path: str, name: str, content: bytes, *, page: str,
                  **fields: str) -> Answer:
        token = token_of(self.get(page).text)
        mark = b"----parted-here"
        parts = [b'Content-Disposition: form-data; name="%s"\r\n\r\n%s' % (
            key.encode(), value.encode()) for key, value in {"token": token, **fields}.items()]
        parts.append(b'Content-Disposition: form-data; name="file"; filename="%s"\r\n'
                     b"Content-Type: application/zip\r\n\r\n%s" % (name.encode(), content))
        body = b"".join(b"--" + mark + b"\r\n" + one + b"\r\n" for one in parts)
        return self._keep(ask(self.port, "POST", path, body + b"--" + mark + b"--\r\n", {
            **self._heads(), "Content-Type": f"multipart/form-data; boundary={mark.decode()}"}))

    def sign_in(self, code: str) -> Answer:
        return self.post("/sign-in", code=code)

    def ready(self, path: str = "/block") -> Answer:
        """Get a page once the register behind it is built."""
        until = time.monotonic() + _START_S
        while True:
            answer = self.get(path)
            if "class=\"fresh\" role=\"status\"" not in answer.text and (
                    "Step " not in answer.text) and answer.status == 200:
                return answer
            assert time.monotonic() < until, answer.text
            time.sleep(0.2)

    def _heads(self) -> dict[str, str]:
        jar = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        return {"Cookie": jar} if jar else {}

    def _keep(self, answer: Answer) -> Answer:
        for line in answer.heads.get_all("Set-Cookie") or ():
            name, _, value = line.partition(";")[0].partition("=")
            self.cookies[name] = value.strip('"')
        return answer


def token_of(page: str) -> str:
    found = re.search(r'name="token" value="([0-9a-f]+)"', page)
    return found[1] if found else ""
