"""Check-ins: "I'm fine" at a time agreed, or a call for help.

Rule 1: nothing here disables either: both can be pressed in any state, in the last person's name.
Rule 2: a call for help keeps whatever place it is given, in a pause and off the block too: it is
the one thing noted in order to be found.
Rule 3: help runs until somebody presses I'M OK NOW, whatever is started or ended meanwhile.
"""

from datetime import datetime, timedelta
from typing import Literal

from fieldapp.capture.book import Record, record_of
from fieldapp.capture.outing import Outing
from fieldapp.record import Where

DueState = Literal["off", "ok", "soon", "overdue", "help"]
#: How long before the time the key turns yellow. [min]
SOON_MIN = 5
#: Time between check-ins where no sheet says otherwise. [min]
CHECK_IN_MIN = 60


class CheckIn:
    """The check-ins of this phone."""

    def __init__(self, outing: Outing) -> None:
        self._outing = outing

    def fine(self, *, now: datetime, where: Where | None, press_ms: int | None = None) -> Record:
        """Note that all is well; a call for help that runs is over."""
        return self._outing.note("check_in", now=now, where=where, state="fine", when_over=True,
                                 press_ms=press_ms)

    def help(self, *, now: datetime, where: Where | None, press_ms: int | None = None) -> Record:
        """Call for help, with the place as it is."""
        person = self._outing.carrier(when_over=True)
        return self._outing.write(record_of("check_in", now=now, where=where, person=person,
                                            state="help", press_ms=press_ms))

    @property
    def help_since(self) -> datetime | None:
        """Since when help is called for; None if it is not."""
        since: datetime | None = None
        for one in self._outing.noted.of("check_in"):
            if one.record["state"] == "fine":
                since = None
            elif since is None:
                since = one.at
        return since

    @property
    def due_at(self) -> datetime | None:
        """By when the next is due; None with no outing open, or where none is asked for."""
        sheet = self._outing.sheet
        minutes = sheet.check_in_min if sheet else CHECK_IN_MIN
        since = self._outing.since
        if minutes == 0 or since is None:
            return None
        pressed = self._outing.noted.of("check_in", first_seq=self._outing.first_seq)
        return (pressed[-1].at if pressed else since) + timedelta(minutes=minutes)

    def state(self, now: datetime) -> DueState:
        """Say how the check-in stands.

        Parameters
        ----------
        now : datetime
            Aware.

        Returns
        -------
        str
            help while help runs; else off, ok, soon (5 min before) or overdue.
        """
        if self.help_since is not None:
            return "help"
        due = self.due_at
        if due is None:
            return "off"
        if now >= due:
            return "overdue"
        return "soon" if now >= due - timedelta(minutes=SOON_MIN) else "ok"
