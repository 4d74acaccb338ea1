"""Pairing over Wi-Fi: eight digits read off the shed's page, bound to its certificate.

Rule 1: the code itself is never sent; what is sent says nothing to who shows another certificate.
Rule 2: nothing is kept before the shed has proved that it knows the code and made this pairing.
Rule 3: the salt may be an impostor's choice: this try's own nonce goes into the slow sum with it,
so that no table of all codes made beforehand fits.
"""

import dataclasses
import hashlib
import hmac
import re
import secrets
from collections.abc import Mapping
from typing import Any

from fieldapp.device.link.address import Address
from fieldapp.device.link.session import proof, word
from fieldapp.device.link.talk import Talk
from fieldapp.device.link.trouble import BAD_CODE, IMPOSTOR, LinkError, no_shed
from fieldapp.device.pairing import Pairing, PairingError, pairing_of
from fieldapp.record import canonical

#: As the shed shows it.
CODE = re.compile(r"\A[0-9]{8}\Z")
_NONCE = re.compile(r"\A[0-9a-f]{32}\Z")
_PROOF = re.compile(r"\A[0-9a-f]{64}\Z")
_NONCE_BYTES = 16
#: So much work that eight digits cannot be tried through while the code is good (RFC 7914).
_N, _R, _P, _MEMORY_BYTES, _SECRET_BYTES = 2**14, 8, 1, 64 * 1024 * 1024, 32


@dataclasses.dataclass(frozen=True)
class Paired:
    """A pairing, and by which certificate the shed is known from now on.

    Attributes
    ----------
    pairing : Pairing
        With the phone's key.
    pin : str
        SHA-256 of the shed's certificate, in hex.
    address : Address
        Where it answered.
    """

    pairing: Pairing
    pin: str
    address: Address


def pair(address: Address, code: str) -> Paired:
    """Pair with the shed.

    Parameters
    ----------
    address : Address
        Where it is.
    code : str
        Eight digits.

    Returns
    -------
    Paired
        Nothing of it is kept yet.

    Raises
    ------
    LinkError
        If the shed is out of reach or refuses the code; `impostor` if what answers does not
        know the code.
    """
    if not CODE.match(code):
        raise LinkError(BAD_CODE, "the code is not eight digits: read it off the shed's page")
    with Talk(address) as talk:
        begun = talk.ask("/phone/pair/begin", {})
        salt, nonce = (word(begun, name, _NONCE, str(address)) for name in ("salt", "nonce"))
        bound = {"cert": talk.pin, "nonce": nonce, "phone_nonce": secrets.token_hex(_NONCE_BYTES)}
        secret = _secret(code, {**bound, "salt": salt})
        answer = talk.ask("/phone/pair", {
            "nonce": nonce, "phone_nonce": bound["phone_nonce"],
            "proof": proof(secret, {"who": "phone", **bound})})
        given = _given(answer, address)
        expected = proof(secret, {"who": "shed", **bound,
                                  "sum": hashlib.sha256(given).hexdigest()})
        if not hmac.compare_digest(word(answer, "proof", _PROOF, str(address)), expected):
            raise LinkError(IMPOSTOR, f"what answers at {address} does not know the code: nothing "
                                      "was kept. Look at the address, and ask for a new code")
        return Paired(_pairing(given, address), talk.pin or "", address)


def _secret(code: str, salted: Mapping[str, Any]) -> bytes:
    salt = hashlib.sha256(canonical(salted)).digest()
    return hashlib.scrypt(code.encode("ascii"), salt=salt, n=_N, r=_R, p=_P,
                          maxmem=_MEMORY_BYTES, dklen=_SECRET_BYTES)


def _given(answer: Mapping[str, Any], address: Address) -> bytes:
    given = answer.get("pairing")
    if not isinstance(given, dict):
        raise no_shed(str(address), "its answer has no pairing")
    return canonical(given)


def _pairing(given: bytes, address: Address) -> Pairing:
    try:
        return pairing_of(given)
    except PairingError as error:
        raise no_shed(str(address), "its pairing is of another form") from error
