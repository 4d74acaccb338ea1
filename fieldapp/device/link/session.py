"""A session: each side proves to the other that it holds the phone's key.

Rule 1: nothing is handed over, and no number taken for held, before the shed's proof fits.
Rule 2: what the shed says it holds is read strictly: whole numbers, first not past last.
"""

import dataclasses
import hashlib
import hmac
import re
from collections.abc import Mapping
from typing import Any

from fieldapp.device.link.talk import Talk
from fieldapp.device.link.trouble import IMPOSTOR, LinkError, no_shed
from fieldapp.record import canonical
from fieldapp.record.names import LAST_SEQ

Spans = tuple[tuple[int, int], ...]

_NONCE = re.compile(r"\A[0-9A-Za-z_-]{16,128}\Z")
_TOKEN = re.compile(r"\A[0-9A-Za-z._~+/=-]{16,512}\Z")
_PROOF = re.compile(r"\A[0-9a-f]{64}\Z")


@dataclasses.dataclass(frozen=True)
class Session:
    """A session of one device.

    Attributes
    ----------
    talk : Talk
        With the shed.
    token : str
        Goes along with each question.
    held : tuple of (int, int)
        Numbers of this device that are on the shed's disk.
    """

    talk: Talk
    token: str = dataclasses.field(repr=False)
    held: Spans


def begin_session(talk: Talk, *, device: str, block: str, key: bytes) -> Session:
    """Begin a session.

    Parameters
    ----------
    talk : Talk
        With the shed whose pin is kept.
    device, block : str
        Whose journal, of which block.
    key : bytes
        This phone's.

    Returns
    -------
    Session
        With a shed that holds the key.

    Raises
    ------
    LinkError
        As `Talk.ask`; `impostor` if the shed's proof does not fit.
    """
    who = {"device": device, "block": block}
    where = str(talk.address)
    nonce = word(talk.ask("/phone/session/begin", who), "nonce", _NONCE, where)
    answer = talk.ask("/phone/session", {
        **who, "nonce": nonce, "proof": proof(key, {"who": "phone", **who, "nonce": nonce})})
    expected = proof(key, {"who": "shed", "device": device, "nonce": nonce})
    if not hmac.compare_digest(word(answer, "proof", _PROOF, where), expected):
        raise LinkError(IMPOSTOR, f"what answers at {where} does not hold this phone's key: "
                                  "nothing was handed over. Look at the address, or pair again")
    return Session(talk, word(answer, "token", _TOKEN, where), spans_of(answer, where))


def proof(key: bytes, told: Mapping[str, Any]) -> str:
    """Prove that one holds a key: HMAC-SHA256 over canonical JSON, in hex."""
    return hmac.new(key, canonical(told), hashlib.sha256).hexdigest()


def word(answer: Mapping[str, Any], name: str, shape: re.Pattern[str], where: str) -> str:
    """Take a word of a known shape out of an answer.

    Raises
    ------
    LinkError
        If it is not there, or has another shape; it is not shown.
    """
    value = answer.get(name)
    if not isinstance(value, str) or not shape.match(value):
        raise no_shed(where, f"its answer has no sound {name}")
    return value


def spans_of(answer: Mapping[str, Any], where: str) -> Spans:
    """Take the numbers that the shed holds out of an answer.

    Raises
    ------
    LinkError
        If they are no spans of numbers.
    """
    spans = answer.get("held")
    if not isinstance(spans, list) or not all(_is_span(span) for span in spans):
        raise no_shed(where, "its answer has no sound held")
    return tuple((first, last) for first, last in spans)


def _is_span(span: object) -> bool:
    return isinstance(span, list) and len(span) == 2 and all(
        isinstance(number, int) and not isinstance(number, bool) for number in span) and (
        1 <= span[0] <= span[1] <= LAST_SEQ)
