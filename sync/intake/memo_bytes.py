"""What is remembered, as bytes: their sum, then a head in JSON, numbers, and whatever else.

Rule 1: numbers lie as in memory, so that they are read again to the last bit.
Rule 2: whatever is remembered carries its own sum; what has another is damaged.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from sync.errors import IntakeError

#: Bytes of the sum, of the head's length, and of a number.
_SUM, _LONG, _WORD = 32, 8, 8


def summed(said: bytes) -> bytes:
    """Put the sum of some bytes before them (SHA-256)."""
    return hashlib.sha256(said).digest() + said


def sound(known: bytes, what: str) -> memoryview:
    """Give the bytes that stand after their sum.

    Parameters
    ----------
    known : bytes
        As `summed` gave them.
    what : str
        What they are, for the message.

    Raises
    ------
    IntakeError
        If the sum is another.
    """
    body = memoryview(known)[_SUM:]
    if hashlib.sha256(body).digest() != known[:_SUM]:
        raise IntakeError(f"{what} is damaged: its sum is another")
    return body


def joined(
    head: Mapping[str, Any], numbers: Iterable[npt.ArrayLike], rest: Iterable[bytes] = ()
) -> bytes:
    """Join a head, numbers and whatever else.

    Parameters
    ----------
    head : mapping
        JSON values.
    numbers : iterable of array
        Any shapes; of their order the reader must know.
    rest : iterable of bytes
        Anything.
    """
    said = json.dumps(head).encode()
    said += b" " * (-len(said) % _WORD)
    return b"".join((len(said).to_bytes(_LONG, "little"), said,
                     *(np.asarray(each, "<f8").tobytes() for each in numbers), *rest))


def parted(body: memoryview) -> tuple[dict[str, Any], memoryview]:
    """Give the head of what `joined` gave, and the bytes after it."""
    begins = _LONG + int.from_bytes(body[:_LONG], "little")
    return json.loads(bytes(body[_LONG:begins])), body[begins:]
