"""Pairing codes: eight digits, ten minutes, three tries, good once.

Rule 1: neither side tells the other anything before both have shown that they know the code and
see the same certificate; who stands between them has another one.
Rule 2: digits are turned into a secret by a slow sum, so that what is shown cannot be tried out
in the ten minutes a code lives.
Rule 3: the sum is over both nonces and the certificate too: whoever stands between and chooses
the salt has no table of all codes made beforehand.
"""

import dataclasses
import hashlib
import hmac
import json
import secrets
from collections.abc import Callable, Mapping
from typing import Any

from fieldapp.device.pairing import Pairing, pairing_json
from fieldapp.record import canonical

CODE_S = 600.0
TRIES = 3
_NONCE_S = 120.0
_DIGITS = 8
_BYTES = 16
#: 2¹⁴ rounds take some 50 ms and 16 MB (RFC 7914); 10⁸ codes take months.
_ROUNDS, _BLOCK, _LANES, _ROOM = 2**14, 8, 1, 64 * 1024 * 1024
_SECRET_BYTES = 32


class NoCodeError(Exception):
    """No code is open: none was made, it is too old, used, or its tries are spent."""


class WrongCodeError(Exception):
    """The digits or the certificate are not those of this shed."""


@dataclasses.dataclass(frozen=True)
class Open:
    """The code that is open: for which phone code, since when, and what was tried."""

    digits: str = dataclasses.field(repr=False)
    phone: str
    until: float
    salt: bytes
    tries: int = 0


@dataclasses.dataclass(frozen=True)
class Used:
    """A code that was used: for which phone code, and the secret that both sides have."""

    phone: str
    secret: bytes = dataclasses.field(repr=False)


class PairingDesk:
    """The one code that may be open at a time.

    Parameters
    ----------
    pin : str
        SHA-256 of the shed's certificate, hex.
    clock : callable
        Monotonic seconds.
    """

    _MOST_NONCES = 200

    def __init__(self, pin: str, *, clock: Callable[[], float]) -> None:
        self._pin = pin
        self._clock = clock
        self._open: Open | None = None
        self._nonces: dict[str, float] = {}
        self.last_paired: str | None = None

    def open_code(self, phone: str) -> None:
        """Make up a code for a phone code; the one before is good no more."""
        digits = f"{secrets.randbelow(10**_DIGITS):0{_DIGITS}d}"
        self._open = Open(digits, phone, self._clock() + CODE_S, secrets.token_bytes(_BYTES))
        self._nonces.clear()
        self.last_paired = None

    def current(self) -> Open | None:
        """Give the open code; None if there is none."""
        found = self._open
        if found is not None and (found.until <= self._clock() or found.tries >= TRIES):
            self._open = found = None
        return found

    def close(self) -> None:
        """Close the open code."""
        self._open = None

    def minutes_left(self) -> int:
        """Give the whole minutes that the open code still lives, at least 1; 0 without one."""
        found = self.current()
        return 0 if found is None else max(1, int((found.until - self._clock()) // 60))

    def begin(self) -> dict[str, str]:
        """Give what a phone needs for its proof.

        Raises
        ------
        NoCodeError
            If no code is open.
        """
        found = self._current()
        now = self._clock()
        self._nonces = {one: until for one, until in self._nonces.items() if until > now}
        if len(self._nonces) >= self._MOST_NONCES:
            raise NoCodeError
        nonce = secrets.token_hex(_BYTES)
        self._nonces[nonce] = now + _NONCE_S
        return {"salt": found.salt.hex(), "nonce": nonce}

    def check(self, nonce: str, phone_nonce: str, proof: str) -> Used:
        """Check a phone's proof; a wrong one is a try spent, a right one closes the code.

        Parameters
        ----------
        nonce, phone_nonce, proof : str
            Hex, from outside.

        Returns
        -------
        Used
            The code that was used.

        Raises
        ------
        NoCodeError
            If no code is open, or the nonce was used or is too old.
        WrongCodeError
            If the proof does not fit.
        """
        found = self._current()
        if self._nonces.pop(nonce, 0.0) <= self._clock():
            raise NoCodeError
        bound = self._bound(nonce, phone_nonce)
        secret = slow_sum(found.digits, found.salt, bound)
        right = _proof(secret, {"who": "phone", **bound})
        if not hmac.compare_digest(right.encode(), proof.encode("utf-8", "replace")):
            self._open = dataclasses.replace(found, tries=found.tries + 1)
            raise WrongCodeError
        self._open = None
        return Used(found.phone, secret)

    def answer(
        self, used: Used, pairing: Pairing, *, nonce: str, phone_nonce: str
    ) -> dict[str, Any]:
        """Give the pairing with the shed's own proof."""
        self.last_paired = pairing.phone
        fields: dict[str, Any] = json.loads(pairing_json(pairing))
        total = hashlib.sha256(canonical(fields)).hexdigest()
        said = {"who": "shed", **self._bound(nonce, phone_nonce), "sum": total}
        return {"pairing": fields, "proof": _proof(used.secret, said)}

    def _current(self) -> Open:
        found = self.current()
        if found is None:
            raise NoCodeError
        return found

    def _bound(self, nonce: str, phone_nonce: str) -> dict[str, str]:
        return {"cert": self._pin, "nonce": nonce, "phone_nonce": phone_nonce}


def slow_sum(digits: str, salt: bytes, bound: Mapping[str, str]) -> bytes:
    """Turn a code into the secret of one try (scrypt, RFC 7914).

    Parameters
    ----------
    digits : str
        The code.
    salt : bytes
        The shed's, as it came.
    bound : mapping
        `cert`, `nonce` and `phone_nonce` of the try; its hash with the salt is scrypt's salt.

    Returns
    -------
    bytes
        32 of them.
    """
    salted = hashlib.sha256(canonical({**bound, "salt": salt.hex()})).digest()
    return hashlib.scrypt(digits.encode(), salt=salted, n=_ROUNDS, r=_BLOCK, p=_LANES,
                          maxmem=_ROOM, dklen=_SECRET_BYTES)


def _proof(secret: bytes, said: Mapping[str, Any]) -> str:
    return hmac.new(secret, canonical(said), hashlib.sha256).hexdigest()
