"""Answers that every door gives alike: refusals in plain words, and the heads on all of them.

Rule 1: a refusal says what to do and tells a stranger nothing of the block.
"""

import json
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from starlette.responses import Response

from fieldapp.record import canonical

#: Only what the shed itself serves; nothing is stored, framed or sent on.
HEADS: Mapping[str, str] = MappingProxyType({
    "Content-Security-Policy": (
        "default-src 'self'; base-uri 'none'; object-src 'none'; frame-ancestors 'none'; "
        "form-action 'self'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
})


class RefusalError(Exception):
    """A phone's request is refused.

    Parameters
    ----------
    status : int
        Of HTTP.
    code : str
        One word for the phone.
    sentence : str
        What to do.
    **more
        Other fields of the answer.
    """

    def __init__(self, status: int, code: str, sentence: str, **more: Any) -> None:
        super().__init__(sentence)
        self.status, self.code, self.more = status, code, more

    def answer(self) -> Response:
        """Give it as an answer."""
        return said({"refused": str(self), "code": self.code, **self.more}, status=self.status)


class TooLargeError(Exception):
    """More came than the door lets in."""


def said(fields: Mapping[str, Any], *, status: int = 200) -> Response:
    """Answer a phone in canonical JSON."""
    return Response(canonical(fields), status, media_type="application/json")


def asked(body: bytes) -> dict[str, Any]:
    """Read what a phone asks.

    Parameters
    ----------
    body : bytes
        From outside, already bounded.

    Returns
    -------
    dict
        An object of JSON.

    Raises
    ------
    RefusalError
        If it is none.
    """
    try:
        fields = json.loads(body)
    except (ValueError, RecursionError):
        fields = None
    if not isinstance(fields, dict):
        raise RefusalError(400, "bad_request", "this is not what a phone of Fallow says: bring "
                                               "both programs up to date")
    return fields


def text_of(fields: Mapping[str, Any], name: str, *, longest: int = 200) -> str:
    """Give a text that a phone's question must have; RefusalError if it lacks or is none."""
    value = fields.get(name)
    if not isinstance(value, str) or not 0 < len(value) <= longest:
        raise RefusalError(400, "bad_request", f"{name} is missing or no text: bring both "
                                               "programs up to date")
    return value
