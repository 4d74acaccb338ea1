"""Doing what a press asks for, and trying again what could not be written.

Rule 1: a press that could not be written waits, alone; it is tried again as the same press until
it is on disk or the person has it on paper.
Rule 2: while one waits no other is taken, so that nothing is counted twice or out of order.
"""

import dataclasses
from collections.abc import Callable
from datetime import datetime

from fieldapp.capture.book import CaptureError
from fieldapp.device.journal import JournalError
from fieldapp.device.store import StoreError
from fieldapp.phone.keys import Act, Done, stay
from fieldapp.phone.say import Say, raw, say
from fieldapp.phone.tunables import RETRY_S
from fieldapp.record import RecordError


@dataclasses.dataclass(frozen=True)
class Waiting:
    """A press that is not on disk.

    Attributes
    ----------
    what : Say
        What waits, as it would be written on paper.
    act : Act
        Running it writes it.
    since, tried : datetime
        When it was pressed, and tried last.
    why : str
        As the journal says.
    full : bool
        Whether the phone has no room.
    """

    what: Say
    act: Act
    since: datetime
    tried: datetime
    why: str
    full: bool


class Doing:
    """What is being done.

    Parameters
    ----------
    now : callable
        Gives the moment.
    """

    def __init__(self, now: Callable[[], datetime]) -> None:
        self._now = now
        self.waiting: Waiting | None = None

    def run(self, what: Say, act: Act) -> Done | None:
        """Run an act.

        Parameters
        ----------
        what : Say
            What waits if it cannot be written.
        act : Act
            From a screen.

        Returns
        -------
        Done or None
            None if it waits, or another one does.
        """
        if self.waiting is not None:
            return None
        since = self._now()
        try:
            return act()
        except JournalError as error:
            self._wait(what, act, since, error, full=error.cause == "full")
        except (OSError, StoreError) as error:
            self._wait(what, act, since, error, full=False)
        except (CaptureError, RecordError) as error:
            return Done("B3", said=raw(str(error)))
        return None

    def _wait(self, what: Say, act: Act, since: datetime, error: Exception, *,
              full: bool) -> None:
        # A journal may take seconds to say no: the next try comes so long after that.
        self.waiting = Waiting(what, act, since, self._now(), str(error), full)

    def cannot_read(self, error: JournalError) -> None:
        """Wait for a journal that cannot be read: nothing could be shown or counted."""
        if self.waiting is None:
            now = self._now()
            self.waiting = Waiting(say("reading the journal"), stay, now, now, str(error),
                                   error.cause == "full")

    def due(self) -> bool:
        """Say whether it is time to try again."""
        if self.waiting is None:
            return False
        return abs((self._now() - self.waiting.tried).total_seconds()) >= RETRY_S

    def retry(self) -> Done | None:
        """Try again; what it has done once it is on disk, else None."""
        before = self.waiting
        if before is None:
            return None
        self.waiting = None
        done = self.run(before.what, before.act)
        if self.waiting is not None:
            self.waiting = dataclasses.replace(self.waiting, since=before.since)
        return done

    def on_paper(self) -> None:
        """Let go of what waits: the person has it on paper."""
        self.waiting = None
