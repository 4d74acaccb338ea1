"""A connection that is given up at a moment, even if it goes on little by little.

Rule 1: the time is for the whole of a question and its answer, not for each byte of it.
"""

import io
import ssl
import time
from typing import BinaryIO

#: Sent at one go; the time left is looked at in between. [bytes]
_PIECE = 16_384


class Timed:
    """What `http.client` needs of a socket, with an end to its patience.

    Parameters
    ----------
    line : ssl.SSLSocket
        Open; closed by `hang_up`.

    Attributes
    ----------
    ended : bool
        No other question may be asked on it.
    """

    def __init__(self, line: ssl.SSLSocket) -> None:
        self._line = line
        self._until_s = 0.0
        self.ended = False

    def allow(self, seconds: float) -> None:
        """Give the next question and answer so long. [s]."""
        self._until_s = time.monotonic() + seconds

    def sendall(self, data: bytes) -> None:
        """Send all of it.

        Raises
        ------
        TimeoutError
            If the time is over.
        OSError
            If the connection is.
        """
        left = memoryview(data)
        while left:
            self._hurry()
            left = left[self._line.send(left[:_PIECE]):]

    def read_into(self, buffer: memoryview) -> int:
        """Read what is there, at least a byte; 0 at the end. Raises as `sendall`."""
        self._hurry()
        return self._line.recv_into(buffer)

    def makefile(self, mode: str) -> BinaryIO:
        """Give the answer's bytes as a file; closing it leaves the connection open."""
        return io.BufferedReader(_Bytes(self))

    def close(self) -> None:
        """Ask for no more after this answer, which is still to be read."""
        self.ended = True

    def hang_up(self) -> None:
        """Close the connection."""
        self._line.close()

    def _hurry(self) -> None:
        left_s = self._until_s - time.monotonic()
        if left_s <= 0.0:
            raise TimeoutError
        self._line.settimeout(left_s)


class _Bytes(io.RawIOBase):
    """The bytes of one answer, as the buffer over it asks for them."""

    def __init__(self, timed: Timed) -> None:
        super().__init__()
        self._timed = timed

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override]  # what io passes
        return self._timed.read_into(buffer)
