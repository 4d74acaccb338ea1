"""Sheds for the phone's link: a small one that may do anything, a real one, and lines cut."""

import contextlib
import dataclasses
import hashlib
import hmac
import http.server
import importlib.util
import json
import re
import secrets
import socket
import ssl
import sys
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from fieldapp.device.link.address import Address
from fieldapp.handover import seal_fits, unpack
from fieldapp.record import canonical, parse_line

KEY = bytes(range(32))
BLOCK, BLOCK_NAME = "km7q2x4a", "Kettle Mire"
CODE = "40718253"


@dataclasses.dataclass(frozen=True)
class Papers:
    """A certificate, its key and its pin."""

    file: Path
    pin: str

    def context(self, newest: ssl.TLSVersion = ssl.TLSVersion.TLSv1_3) -> ssl.SSLContext:
        made = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        made.load_cert_chain(self.file)
        made.maximum_version = newest
        return made


@pytest.fixture(scope="session")
def papers(tmp_path_factory) -> Callable[..., Papers]:
    """Make a certificate, signed by its own key, good from some day on."""
    folder = tmp_path_factory.mktemp("papers")

    def make(name: str, begins: datetime = datetime(2020, 1, 1, tzinfo=UTC)) -> Papers:
        key = ec.generate_private_key(ec.SECP256R1())
        who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
        certificate = (
            x509.CertificateBuilder().subject_name(who).issuer_name(who)
            .public_key(key.public_key()).serial_number(x509.random_serial_number())
            .not_valid_before(begins).not_valid_after(begins + timedelta(days=3650))
            .sign(key, hashes.SHA256()))
        file = folder / f"{name}.pem"
        file.write_bytes(
            key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8,
                              serialization.NoEncryption())
            + certificate.public_bytes(serialization.Encoding.PEM))
        der = certificate.public_bytes(serialization.Encoding.DER)
        return Papers(file, hashlib.sha256(der).hexdigest())
    return make


@pytest.fixture(scope="session")
def shed_papers(papers) -> Papers:
    return papers("shed")


class Listener:
    """A TLS port whose connections are each served by a function, one after the other."""

    def __init__(self, papers: Papers, serve: Callable[[ssl.SSLSocket], None], **how: Any) -> None:
        self._context = papers.context(**how)
        self._serve = serve
        self._socket = socket.create_server(("127.0.0.1", 0))
        self.address = Address("127.0.0.1", self._socket.getsockname()[1])
        self.came = b""
        self.shaken = 0
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        while True:
            try:
                plain, _ = self._socket.accept()
            except OSError:
                return
            plain.settimeout(10)
            with plain, contextlib.suppress(OSError), self._context.wrap_socket(
                    plain, server_side=True) as line:
                self.shaken += 1
                self._serve(line)

    def listen(self, line: ssl.SSLSocket) -> None:
        """Note all that comes until the other side hangs up."""
        with contextlib.suppress(OSError):
            while piece := line.recv(65536):
                self.came += piece

    def stop(self) -> None:
        # A thread that waits in accept holds the port open even after close.
        with contextlib.suppress(OSError):
            self._socket.shutdown(socket.SHUT_RDWR)
        self._socket.close()
        self._thread.join(10)


@pytest.fixture
def listener(shed_papers) -> Iterator[Callable[..., Listener]]:
    """Open TLS ports that answer as the test says."""
    made: list[Listener] = []

    def make(serve: Callable[..., None] | None = None, *, papers: Papers = shed_papers,
             **how: Any) -> Listener:
        made.append(Listener(papers, lambda line: (serve or made[0].listen)(line), **how))
        return made[-1]
    yield make
    for one in made:
        one.stop()


class SmallShed:
    """What a shed does for one phone, from memory; a test may change any of it."""

    def __init__(self, papers: Papers) -> None:
        self.pin = papers.pin
        self.key, self.code, self.salt = KEY, CODE, secrets.token_bytes(16)
        self.records: dict[tuple[str, int], dict[str, Any]] = {}
        self.uploads: dict[str, bytearray] = {}
        self.sizes: dict[str, int] = {}
        self.tokens: dict[str, str] = {}
        self.nonces: set[str] = set()
        self.asked: list[tuple[str, str]] = []
        self.parts: list[int] = []
        self.sheet = b""
        self.refuse: dict[str, list[tuple[int, dict[str, Any]]]] = {}
        self.files_taken: list[bytes] = []

    def held(self, device: str) -> list[list[int]]:
        spans: list[list[int]] = []
        for seq in sorted(seq for name, seq in self.records if name == device):
            if spans and spans[-1][1] == seq - 1:
                spans[-1][1] = seq
            else:
                spans.append([seq, seq])
        return spans

    def answer(self, method: str, path: str, head: Any, body: bytes) -> tuple[int, Any]:
        self.asked.append((method, path))
        door = path.rpartition("/")[0] if method == "PUT" else path
        if self.refuse.get(door):
            return self.refuse[door].pop(0)
        if method == "PUT":
            return self._part(path.rpartition("/")[2], head, body)
        if method == "GET":
            return (200, self.sheet) if self._device(head) else EXPIRED
        return getattr(self, "_" + path.strip("/").replace("/", "_"))(head, json.loads(body))

    def _device(self, head: Any) -> str | None:
        return self.tokens.get(head.get("Authorization", "").removeprefix("Bearer "))

    def _phone_pair_begin(self, head: Any, told: Any) -> tuple[int, Any]:
        self.nonces = {nonce := secrets.token_hex(16)}
        return 200, {"salt": self.salt.hex(), "nonce": nonce}

    def _phone_pair(self, head: Any, told: Any) -> tuple[int, Any]:
        bound = {"cert": self.pin, "nonce": told["nonce"], "phone_nonce": told["phone_nonce"]}
        salt = hashlib.sha256(canonical({**bound, "salt": self.salt.hex()})).digest()
        secret = hashlib.scrypt(self.code.encode(), salt=salt, n=2**14, r=8, p=1,
                                maxmem=64 * 1024 * 1024, dklen=32)
        if told["proof"] != seal(secret, {"who": "phone", **bound}):
            return 403, {"refused": "the digits are not those", "code": "wrong_code"}
        pairing = {"pairing": 1, "block": BLOCK, "block_name": BLOCK_NAME, "phone": "p3",
                   "key": self.key.hex()}
        total = hashlib.sha256(canonical(pairing)).hexdigest()
        return 200, {"pairing": pairing, "proof": seal(secret, {"who": "shed", **bound,
                                                                "sum": total})}

    def _phone_session_begin(self, head: Any, told: Any) -> tuple[int, Any]:
        self.nonces = {nonce := secrets.token_hex(16)}
        return 200, {"nonce": nonce}

    def _phone_session(self, head: Any, told: Any) -> tuple[int, Any]:
        assert told["nonce"] in self.nonces
        right = seal(self.key, {"who": "phone", "device": told["device"], "block": told["block"],
                                "nonce": told["nonce"]})
        if told["proof"] != right:
            return 403, {"refused": "this phone is not paired here", "code": "unknown"}
        token = secrets.token_urlsafe(24)
        self.tokens[token] = told["device"]
        return 200, {"token": token, "held": self.held(told["device"]),
                     "proof": seal(self.key, {"who": "shed", "device": told["device"],
                                              "nonce": told["nonce"]})}

    def _phone_uploads(self, head: Any, told: Any) -> tuple[int, Any]:
        if not self._device(head):
            return EXPIRED
        self.sizes[told["sha256"]] = told["size"]
        return 200, {"have": len(self.uploads.setdefault(told["sha256"], bytearray()))}

    def _part(self, name: str, head: Any, body: bytes) -> tuple[int, Any]:
        device = self._device(head)
        if device is None:
            return EXPIRED
        have = self.uploads[name]
        if int(head["X-From"]) != len(have):
            return 409, {"refused": "go on from there", "code": "not_so", "have": len(have)}
        have.extend(body)
        self.parts.append(len(body))
        if len(have) < self.sizes[name]:
            return 200, {"have": len(have)}
        assert hashlib.sha256(have).hexdigest() == name
        return self._take(bytes(self.uploads.pop(name)), device)

    def _take(self, data: bytes, device: str) -> tuple[int, Any]:
        handover = unpack(data)
        assert seal_fits(handover.manifest, self.key)
        self.files_taken.append(data)
        records = [parse_line(line) for line in handover.lines]
        new = [one for one in records if (device, one["seq"]) not in self.records]
        self.records.update({(device, one["seq"]): one for one in records})
        return 200, {"have": len(data), "held": self.held(device),
                     "taken": {"new": len(new), "known": len(records) - len(new), "aside": 0}}


EXPIRED = (401, {"refused": "the session has ended", "code": "expired"})


def seal(key: bytes, told: dict[str, Any]) -> str:
    return hmac.new(key, canonical(told), hashlib.sha256).hexdigest()


class _Server(http.server.ThreadingHTTPServer):
    """A server that does not complain when a line is cut."""

    daemon_threads = True

    def handle_error(self, request: Any, client_address: Any) -> None:
        pass


def _handler(shed: SmallShed) -> type[http.server.BaseHTTPRequestHandler]:
    class Handler(http.server.BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"
        timeout = 10
        disable_nagle_algorithm = True

        def log_message(self, *_: Any) -> None:
            pass

        def _do(self) -> None:
            size = int(self.headers.get("Content-Length", 0))
            body = b""
            while len(body) < size:
                piece = self.rfile.read1(size - len(body))
                if not piece:
                    break
                body += piece
            if len(body) < size and self.command != "PUT":
                return
            # As the protocol says: what came of a part before a cut stays.
            status, told = shed.answer(self.command, self.path, self.headers, body)
            content = told if isinstance(told, bytes) else canonical(told)
            kind = "application/zip" if isinstance(told, bytes) else "application/json"
            self.send_response(status)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)

    for method in ("POST", "PUT", "GET"):
        setattr(Handler, f"do_{method}", Handler._do)
    return Handler


@dataclasses.dataclass
class Open:
    """A shed that answers: what it knows, where, and by which pin."""

    shed: SmallShed
    address: Address
    pin: str


@pytest.fixture
def open_shed(shed_papers) -> Iterator[Callable[..., Open]]:
    """Open small sheds that answer over TLS."""
    servers: list[tuple[_Server, threading.Thread]] = []

    def make(papers: Papers = shed_papers) -> Open:
        shed = SmallShed(papers)
        server = _Server(("127.0.0.1", 0), _handler(shed))
        server.socket = papers.context().wrap_socket(server.socket, server_side=True,
                                                     do_handshake_on_connect=False)
        thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
        thread.start()
        servers.append((server, thread))
        return Open(shed, Address("127.0.0.1", server.server_address[1]), papers.pin)
    yield make
    for server, thread in servers:
        server.shutdown()
        thread.join(10)
        server.server_close()


class Cutter:
    """A line between phone and shed that ends after so many bytes, each way together.

    Parameters
    ----------
    there : Address
        The shed.
    after : callable
        Gives for the first, second … connection how many bytes it lets through; None for all.
    """

    def __init__(self, there: Address, after: Callable[[int], int | None]) -> None:
        self._there, self._after = there, after
        self._socket = socket.create_server(("127.0.0.1", 0))
        self.address = Address("127.0.0.1", self._socket.getsockname()[1])
        self.lines = self.bytes = self.cuts = 0
        self._threads = [threading.Thread(target=self._run, daemon=True)]
        self._threads[0].start()

    def _run(self) -> None:
        while True:
            try:
                phone, _ = self._socket.accept()
            except OSError:
                return
            self.lines += 1
            thread = threading.Thread(target=self._pass, args=(phone, self._after(self.lines)),
                                      daemon=True)
            self._threads.append(thread)
            thread.start()

    def _pass(self, phone: socket.socket, left: int | None) -> None:
        shed = socket.create_connection((self._there.host, self._there.port))
        with phone, shed, contextlib.suppress(OSError):
            both = {phone: shed, shed: phone}
            for one in both:
                one.settimeout(0.01)
            while left is None or left > 0:
                for one, other in both.items():
                    with contextlib.suppress(TimeoutError):
                        piece = one.recv(4096 if left is None else min(4096, left))
                        if not piece:
                            return
                        other.sendall(piece)
                        self.bytes += len(piece)
                        left = None if left is None else left - len(piece)
                        if left == 0:
                            break
            self.cuts += 1

    def stop(self) -> None:
        with contextlib.suppress(OSError):
            self._socket.shutdown(socket.SHUT_RDWR)
        self._socket.close()
        for thread in self._threads:
            thread.join(10)


@pytest.fixture
def cutter() -> Iterator[Callable[..., Cutter]]:
    """Make lines that end where the test says."""
    made: list[Cutter] = []

    def make(there: Address, after: Callable[[int], int | None]) -> Cutter:
        made.append(Cutter(there, after))
        return made[-1]
    yield make
    for one in made:
        one.stop()


EAST, NORTH, SIDE = 1_329_400.0, 5_249_300.0, 300.0


def _helper() -> Any:
    """Load the shed's own helper by its path, as test folders are no packages."""
    path = Path(__file__).parents[1] / "sync/shed/running_shed.py"
    spec = importlib.util.spec_from_file_location("running_shed_of_the_phone", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # its dataclasses look themselves up
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def real_shed(tmp_path) -> Iterator[Any]:
    """Open `fallow shed` in a process of its own, on a block of nine cells."""
    from sync.block import Feature
    from sync.disk.create import NewBlock, create_block
    from sync.geometry.crs import projection

    def degrees(x: float, y: float) -> list[float]:
        lat, lon = projection(2193).to_deg(EAST + x, NORTH + y)
        return [float(lon), float(lat)]
    ring = [degrees(*at) for at in ((0, 0), (SIDE, 0), (SIDE, SIDE), (0, SIDE), (0, 0))]
    folder = tmp_path / "block"
    create_block(folder, NewBlock(
        name="Test Mire", block_id="testblok", zone="Pacific/Auckland", rest_months=60,
        outline=(Feature({"type": "Polygon", "coordinates": [ring]}, {}),), recovery_years=5,
        living_layer_mm=40, keep_pct=30, epsg=2193, origin=(EAST, NORTH), closures=()))
    running = _helper().Running(folder)
    try:
        yield running.start()
    finally:
        running.stop()


class Owner:
    """The owner at a browser."""

    def __init__(self, browser: Any) -> None:
        self.browser = browser

    def code_for(self, phone: str = "p3") -> str:
        """Let the owner open a code, and read its digits off the page."""
        self.browser.post("/phones/pair", phone=phone)
        page = self.browser.get("/phones/code").text
        digits = re.search(r'class="digits"[^>]*>(\d{4}) (\d{4})<', page)
        assert digits is not None
        return digits[1] + digits[2]


@pytest.fixture
def owner(real_shed) -> Owner:
    """Sign the owner in at the real shed."""
    browser = sys.modules["running_shed_of_the_phone"].Owner(real_shed)
    browser.sign_in(real_shed.code)
    return Owner(browser)
