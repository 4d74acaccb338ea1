"""Questions to the shed and its answers: JSON over HTTP/1.1, on a connection whose pin fits.

Rule 1: nothing is sent on a connection whose certificate is not the pinned one; the first
certificate of a talk begun without a pin is the pin of all that follows.
Rule 2: an answer is read to a size and within a time, and no further.
Rule 3: a refusal is the shed's own sentence, cut short and cleaned; anything else is no shed.
"""

import http.client
from collections.abc import Mapping
from typing import Any, Self

from fieldapp.device.link.address import Address
from fieldapp.device.link.timed import Timed
from fieldapp.device.link.tls import open_pinned, open_unpinned
from fieldapp.device.link.trouble import BUSY, CUT, SLOW, TOO_LARGE, LinkError, no_shed
from fieldapp.record import FileError, LineError, canonical
from fieldapp.record.lines import parse_object

#: Spans of numbers that the shed holds need some 20 bytes each. [bytes]
LONGEST_ANSWER = 1_000_000
#: For a question of a few bytes. [s]
ANSWER_S = 20.0
_LONGEST_SENTENCE = 300
_LONGEST_CODE = 20
_GOOD, _REFUSED, _ITS_OWN, _LAST = 200, 400, 500, 600
JSON = "application/json"


class Talk:
    """A talk with one shed; the connection is opened when first needed, and again if it ended.

    Parameters
    ----------
    address : Address
        Where the shed is.
    pin : str or None
        SHA-256 of its certificate in hex; None only to pair.

    Attributes
    ----------
    pin : str or None
        As given, or that of the certificate first seen.
    """

    def __init__(self, address: Address, pin: str | None = None) -> None:
        self.address = address
        self.pin = pin
        self._line: Timed | None = None
        self._connection: http.client.HTTPConnection | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Hang up; the next question opens anew."""
        if self._line is not None:
            self._line.hang_up()
        self._line = self._connection = None

    def ask(self, path: str, question: Mapping[str, Any], *, token: str = "") -> dict[str, Any]:
        """Ask, both ways in JSON.

        Parameters
        ----------
        path : str
            As `/phone/session`.
        question : mapping
            JSON values.
        token : str
            Of the session; empty before there is one.

        Returns
        -------
        dict
            The answer, its fields unchecked.

        Raises
        ------
        LinkError
            If there is no answer of a shed, or it refuses.
        """
        headers = {"Content-Type": JSON, **_bearer(token)}
        body = self._exchange("POST", path, canonical(question), headers, most=LONGEST_ANSWER,
                              within_s=ANSWER_S)
        return self._object(body)

    def put(self, path: str, part: bytes, *, offset: int, token: str,
            within_s: float) -> dict[str, Any]:
        """Send bytes of a file; as `ask`.

        Parameters
        ----------
        path : str
            Of the upload.
        part : bytes
            From `offset` on.
        offset : int
            How many bytes lie before. [bytes]
        token : str
            Of the session.
        within_s : float
            How long it may take, with the answer. [s]
        """
        headers = {"Content-Type": "application/octet-stream", "X-From": str(offset),
                   **_bearer(token)}
        return self._object(self._exchange("PUT", path, part, headers, most=LONGEST_ANSWER,
                                           within_s=within_s))

    def fetch(self, path: str, *, token: str, most: int, within_s: float) -> bytes:
        """Fetch a file of at most so many bytes [bytes], within a time [s]; as `ask`."""
        return self._exchange("GET", path, None, _bearer(token), most=most, within_s=within_s)

    def _exchange(self, method: str, path: str, body: bytes | None, headers: Mapping[str, str],
                  *, most: int, within_s: float) -> bytes:
        connection, line = self._open()
        line.allow(within_s)
        try:
            connection.request(method, path, body=body, headers=dict(headers))
            status, content = self._answer(connection, most)
        except (OSError, http.client.HTTPException) as error:
            self.close()
            raise self._broken(error) from error
        except LinkError:
            self.close()
            raise
        if line.ended:
            self.close()
        return content if status == _GOOD else self._refused(status, content)

    def _open(self) -> tuple[http.client.HTTPConnection, Timed]:
        if self._line is not None and self._connection is not None:
            return self._connection, self._line
        if self.pin is None:
            opened, self.pin = open_unpinned(self.address)
        else:
            opened = open_pinned(self.address, self.pin)
        self._line = Timed(opened)
        self._connection = http.client.HTTPConnection(self.address.host, self.address.port)
        self._connection.auto_open = 0  # it would open again without TLS
        self._connection.sock = self._line  # all it needs of one
        return self._connection, self._line

    def _answer(self, connection: http.client.HTTPConnection, most: int) -> tuple[int, bytes]:
        response = connection.getresponse()
        if (response.length or 0) > most:
            raise self._too_large(most)
        content = response.read(most + 1)
        if len(content) > most:
            raise self._too_large(most)
        if response.length:
            raise http.client.IncompleteRead(content)
        response.close()
        return response.status, content

    def _too_large(self, most: int) -> LinkError:
        return LinkError(TOO_LARGE, f"what answers at {self.address} sends more than "
                                    f"{most // 1000} kB: no shed of this form does; look at the "
                                    "address. Nothing is lost")

    def _broken(self, error: Exception) -> LinkError:
        if isinstance(error, TimeoutError):
            return LinkError(SLOW, f"the shed at {self.address} is too slow, or the phone is too "
                                   "far from it. Nothing is lost: go nearer and try again")
        if isinstance(error, OSError | http.client.IncompleteRead):
            return LinkError(CUT, f"the link to the shed at {self.address} was cut. Nothing is "
                                  "lost: go nearer and try again")
        return no_shed(str(self.address), "its answer is no HTTP")

    def _object(self, content: bytes) -> dict[str, Any]:
        try:
            return parse_object(content, longest=LONGEST_ANSWER)
        except (LineError, FileError) as error:
            raise no_shed(str(self.address), "its answer is no JSON object") from error

    def _refused(self, status: int, content: bytes) -> bytes:
        if not _REFUSED <= status < _LAST:
            raise no_shed(str(self.address), f"it answers {status}")
        try:
            told = self._object(content)
        except LinkError:
            told = {}
        why, code = told.get("refused"), told.get("code")
        if isinstance(why, str) and isinstance(code, str):
            raise LinkError(_clean(code)[:_LONGEST_CODE], _clean(why)[:_LONGEST_SENTENCE])
        if status >= _ITS_OWN:
            raise LinkError(BUSY, f"the shed at {self.address} could not do it now. Nothing is "
                                  "lost: try again in a minute")
        raise no_shed(str(self.address), f"it answers {status}")


def _bearer(token: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {token}"} if token else {}


def _clean(text: str) -> str:
    return "".join(letter if letter.isprintable() else " " for letter in text).strip()
