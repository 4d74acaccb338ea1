"""A line that is kept up: cut or not, it goes on, with a session of its own after each cut.

Rule 1: what may pass by itself is tried again a few times, after short pauses; each byte more on
the shed's disk counts as a new beginning.
Rule 2: a session that is over is renewed once; over again at once, it is told.
"""

import dataclasses
import threading
from collections.abc import Callable
from typing import Self, TypeVar

from fieldapp.device.link.address import Address
from fieldapp.device.link.session import Session, begin_session
from fieldapp.device.link.talk import Talk
from fieldapp.device.link.trouble import EXPIRED, PASSES, STOPPED, LinkError

#: Before the second, third and fourth try. [s]
PAUSES_S = (0.5, 1.0, 2.0)
_T = TypeVar("_T")


@dataclasses.dataclass(frozen=True)
class Shed:
    """The shed as a phone knows it: where it is, and the SHA-256 of its certificate in hex."""

    address: Address
    pin: str


@dataclasses.dataclass(frozen=True)
class Who:
    """Whose line: the device, its block, and the phone's key there."""

    device: str
    block: str
    key: bytes = dataclasses.field(repr=False)


class Line:
    """One device's line to the shed.

    Parameters
    ----------
    shed : Shed
        Whom to reach.
    who : Who
        Whose line it is.
    stop : threading.Event
        Set when the app closes; then nothing is tried again.
    pauses_s : tuple of float
        Before each further try. [s]

    Attributes
    ----------
    far : int
        Bytes of the upload that are on the shed's disk; steps set it. [bytes]
    """

    def __init__(self, shed: Shed, who: Who, *, stop: threading.Event,
                 pauses_s: tuple[float, ...] = PAUSES_S) -> None:
        self._talk = Talk(shed.address, shed.pin)
        self._who = who
        self._stop = stop
        self._pauses_s = pauses_s
        self._session: Session | None = None
        self.far = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._talk.close()

    def do(self, step: Callable[[Session], _T]) -> _T:
        """Do a step, again from its beginning if it did not come through.

        Parameters
        ----------
        step : callable
            Takes the session; it asks the shed where to go on, so that doing it twice is
            harmless.

        Returns
        -------
        What the step gives.

        Raises
        ------
        LinkError
            What stood in the way of the last try.
        """
        tries, renewed = 0, False
        while True:
            before = self.far
            try:
                return step(self._begun())
            except LinkError as error:
                self._drop()
                if self.far > before:
                    tries, renewed = 0, False
                over = error.code == EXPIRED
                if error.code not in PASSES or tries >= len(self._pauses_s) or (over and renewed):
                    raise
                if not over:
                    self._pause(self._pauses_s[tries])
                tries, renewed = tries + 1, renewed or over

    def go_on(self) -> None:
        """Do nothing, or end the step if the app closes.

        Raises
        ------
        LinkError
            With code `stopped`.
        """
        if self._stop.is_set():
            raise _stopped()

    def _begun(self) -> Session:
        self.go_on()
        if self._session is None:
            who = self._who
            self._session = begin_session(self._talk, device=who.device, block=who.block,
                                          key=who.key)
        return self._session

    def _drop(self) -> None:
        self._session = None
        self._talk.close()

    def _pause(self, seconds: float) -> None:
        if self._stop.wait(seconds):
            raise _stopped()


def _stopped() -> LinkError:
    return LinkError(STOPPED, "the app was closed. Nothing is lost: hand over again")
