"""The clock: the one place on a phone where the time is read.

Rule 1: all else is handed a moment or a clock; nothing else asks the system.
"""

from datetime import UTC, datetime, timedelta
from typing import Protocol


class Clock(Protocol):
    """Anything that tells the time."""

    def now(self) -> datetime:
        """Give the moment, aware, UTC."""
        ...


class SystemClock:
    """The phone's own clock, right or wrong."""

    def now(self) -> datetime:
        """Give the moment by the phone's clock, aware, UTC."""
        return datetime.now(UTC)


class SetClock:
    """A clock moved by its owner, for replays and the demo.

    Parameters
    ----------
    moment : datetime
        What it shows at first, aware.
    """

    def __init__(self, moment: datetime) -> None:
        self._moment = moment.astimezone(UTC)

    def now(self) -> datetime:
        """Give the moment it was set to, aware, UTC."""
        return self._moment

    def set_to(self, moment: datetime) -> None:
        """Show another moment, earlier or later, as phones' clocks may."""
        self._moment = moment.astimezone(UTC)

    def advance(self, by: timedelta) -> datetime:
        """Move on and give the new moment."""
        self._moment += by
        return self._moment
