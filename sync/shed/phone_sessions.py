"""The phones that are talking with the shed just now.

Rule 1: a phone shows that it holds its key without saying it.
Rule 2: what a phone holds for its session is kept here only as its SHA-256.
"""

import dataclasses
import hashlib
import hmac
import secrets
from collections.abc import Callable, Mapping

from fieldapp.record import canonical

_NONCE_S = 120.0
_BYTES = 16
_TOKEN_BYTES = 32


@dataclasses.dataclass(frozen=True)
class PhoneSession:
    """One phone's: its device, the pairing it proved (code and when it was made), until when."""

    device: str
    phone: str
    since: str
    until: float


class PhoneSessions:
    """Nonces given and sessions open.

    Parameters
    ----------
    clock : callable
        Monotonic seconds.
    lasts_s : float
        How long a session lasts. [s]
    """

    _MOST_NONCES = 1000
    _MOST_SESSIONS = 1000

    def __init__(self, *, clock: Callable[[], float], lasts_s: float) -> None:
        self._clock = clock
        self._lasts_s = lasts_s
        self._nonces: dict[str, float] = {}
        self._sessions: dict[bytes, PhoneSession] = {}

    def nonce(self) -> str:
        """Give a nonce, good once; if far too many are out, the oldest is good no more.

        So nobody who fetches nonces keeps the others out: those use theirs at once.
        """
        now = self._clock()
        self._nonces = {one: until for one, until in self._nonces.items() if until > now}
        while len(self._nonces) >= self._MOST_NONCES:
            del self._nonces[next(iter(self._nonces))]
        made = secrets.token_hex(_BYTES)
        self._nonces[made] = now + _NONCE_S
        return made

    def use(self, nonce: str) -> bool:
        """Use a nonce up; false if it never was, was used, or is too old."""
        return self._nonces.pop(nonce, 0.0) > self._clock()

    def open(self, device: str, phone: str, since: str) -> str:
        """Open a session and give its token."""
        now = self._clock()
        live = {key: one for key, one in self._sessions.items() if one.until > now}
        self._sessions = dict(list(live.items())[-self._MOST_SESSIONS:])
        token = secrets.token_urlsafe(_TOKEN_BYTES)
        self._sessions[_sum(token)] = PhoneSession(device, phone, since, now + self._lasts_s)
        return token

    def of(self, token: str) -> PhoneSession | None:
        """Give the session of a token; None if there is none or it has ended."""
        found = self._sessions.get(_sum(token))
        return found if found is not None and found.until > self._clock() else None


def proof_of(key: bytes, said: Mapping[str, str]) -> str:
    """Prove that one holds a key: HMAC-SHA256 (RFC 2104) over canonical JSON, hex."""
    return hmac.new(key, canonical(said), hashlib.sha256).hexdigest()


def _sum(token: str) -> bytes:
    return hashlib.sha256(token.encode("utf-8", "replace")).digest()
