"""The phone's motor: patterns that are felt through a glove.

Rule 1: a phone without a motor is no mistake; whether one moved is told, so that the screen can
stand in for it.
"""

from collections.abc import Sequence
from typing import Any, Protocol

from fieldapp.device.plyer_part import plyer_part

_MS_A_S = 1000.0
#: As Android says it: the pattern is run through once.
_ONCE = -1


class Buzz(Protocol):
    """Anything that can be felt."""

    def pattern(self, on_off_ms: Sequence[int]) -> bool:
        """Buzz and pause in turn, beginning with a buzz [ms]; True if a motor moved."""
        ...


class NoBuzz:
    """A phone without a motor, or with the buzz switched off."""

    def pattern(self, on_off_ms: Sequence[int]) -> bool:
        """Do nothing and say so."""
        return False


class PhoneBuzz:
    """The motor of an Android phone, if it has one.

    Parameters
    ----------
    motor : object or None
        Plyer's vibrator; None where there is none. Without it the phone is asked.
    """

    def __init__(self, motor: Any | None = None) -> None:
        self._motor = plyer_part("vibrator") if motor is None else motor

    def pattern(self, on_off_ms: Sequence[int]) -> bool:
        """Buzz and pause in turn.

        Parameters
        ----------
        on_off_ms : sequence of int
            Buzz, pause, buzz and so on; back at once, while it still buzzes. [ms]

        Returns
        -------
        bool
            True if a motor moved.
        """
        if self._motor is None or not on_off_ms:
            return False
        try:
            if not self._motor.exists():
                return False
            # Android's first figure is a wait.
            self._motor.pattern([0.0, *(ms / _MS_A_S for ms in on_off_ms)], _ONCE)
        except Exception:  # whatever the phone's own parts raise, the app goes on
            return False
        return True
