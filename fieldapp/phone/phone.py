"""The phone: its clock, places, journal and ground sheet, and the capture objects over them.

Rule 1: one install is in use at a time; turning to another closes the one before.
Rule 2: nothing here shows anything; the other files of this package say what a screen shows.
"""

import dataclasses
from collections.abc import Callable
from contextlib import suppress
from datetime import date, datetime, timedelta, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from fieldapp.capture.check_in import CheckIn
from fieldapp.capture.correct import Correct
from fieldapp.capture.notes import Notes
from fieldapp.capture.outing import Outing
from fieldapp.capture.tally import Tally
from fieldapp.capture.track import Track
from fieldapp.capture.undo import Undo
from fieldapp.capture.walk import Walk
from fieldapp.device.clock import Clock
from fieldapp.device.identity import Install
from fieldapp.device.journal import Journal, JournalError
from fieldapp.device.location import Location
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.device.settings import PhoneSettings
from fieldapp.device.store import StoreError
from fieldapp.ground import Answer, Sheet, answer
from fieldapp.phone.link import Link
from fieldapp.record import Where, instant


@dataclasses.dataclass(frozen=True)
class Parts:
    """What a phone is made of; a test or a desktop window brings its own.

    Attributes
    ----------
    folder : PhoneFolder
        All that it keeps.
    clock : Clock
        Right or wrong.
    location : Location
        Where it is.
    battery_pct : callable
        Charge left [%]; None where nothing tells.
    program : str
        The program's version.
    zone : tzinfo
        For days, before a sheet says the block's.
    free_mb : callable or None
        Room left [MB], if not the folder's own.
    """

    folder: PhoneFolder
    clock: Clock
    location: Location
    battery_pct: Callable[[], int | None]
    program: str
    zone: tzinfo
    free_mb: Callable[[], float | None] | None = None


class Phone:
    """One phone at work.

    Parameters
    ----------
    parts : Parts
        Its parts; the install in use is opened.

    Attributes
    ----------
    settings : PhoneSettings
        How it looks, sounds and feels.
    sheet : Sheet or None
        The newest for the block in use.
    zone : tzinfo
        The block's.
    link : Link
        What goes on between it and the shed.
    """

    def __init__(self, parts: Parts) -> None:
        self.parts = parts
        self.link = Link(parts.folder, self.reopen)
        self.settings: PhoneSettings = parts.folder.settings()
        install = parts.folder.in_use()
        self._open(install, parts.folder.journal(install))

    def _open(self, install: Install, journal: Journal) -> None:
        self.install = install
        self.journal = journal
        self._lay(self.parts.folder.sheet(install))
        self._forget()

    def _forget(self) -> None:
        """Let go of old tracks that the shed holds; not while somebody is out and waits for it."""
        with suppress(JournalError, StoreError):
            if self.outing.state != "none":
                return
            if self.parts.folder.forget_old_tracks(now=self.now()):
                self._lay(self.sheet)

    def _lay(self, sheet: Sheet | None) -> None:
        self.sheet = sheet
        self.zone = zone_of(sheet, self.parts.zone)
        self.outing = Outing(self.journal, sheet=sheet)
        self.tally = Tally(self.outing, zone=self.zone)
        self.undo = Undo(self.outing)
        self.notes = Notes(self.outing, zone=self.zone)
        self.check_in = CheckIn(self.outing)
        self.correct = Correct(self.outing)
        self.track = Track(self.outing)
        self.walk = None if sheet is None else Walk(self.outing, sheet)

    def use(self, device: str) -> None:
        """Turn to another block that this phone serves, by the phone's device name there.

        Raises
        ------
        JournalError, StoreError, OSError
            If it cannot be opened; the one in use stays open.
        KeyError
            If this phone never had that device name.
        """
        if device == self.install.device:
            return
        self.track.flush(self.now())
        found = {one.device: one for one in self.parts.folder.installs()}
        journal = self.parts.folder.journal(found[device])
        install = self.parts.folder.use(device)
        self.journal.close()
        self._open(install, journal)

    def reopen(self) -> None:
        """Read install and sheet anew, after files were taken in.

        Raises
        ------
        JournalError, StoreError, OSError
            If they cannot be read, or the track gathered not be written; all stays as it was.
        """
        self.track.flush(self.now())
        install = self.parts.folder.in_use()
        if install.device == self.install.device:
            self.install = install
            self._lay(self.parts.folder.sheet(install))
            self._forget()
        else:
            journal = self.parts.folder.journal(install)
            self.journal.close()
            self._open(install, journal)

    def close(self) -> None:
        """Let go of the link and the journal."""
        self.link.end()
        self.journal.close()

    def change(self, **settings: object) -> None:
        """Change settings and keep them."""
        changed = dataclasses.replace(self.settings, **settings)  # type: ignore[arg-type]
        self.parts.folder.save_settings(changed)
        self.settings = changed

    def now(self) -> datetime:
        """Give the moment by the phone's clock."""
        return self.parts.clock.now()

    def today(self) -> date:
        """Give the local day."""
        return self.now().astimezone(self.zone).date()

    def where(self) -> Where | None:
        """Give the newest fix of the open outing; None while none may be kept."""
        if not self.outing.may_locate:
            return None
        return self.outing.place(self.fix())

    def fix(self) -> Where | None:
        """Give the newest fix to show, none in a pause; whether it may be kept is `where`'s."""
        return None if self.outing.state == "paused" else self.parts.location.at(self.now())

    def answer(self) -> Answer | None:
        """Answer "may I pick here?"; None without a sheet."""
        if self.sheet is None:
            return None
        return answer(self.sheet, self.fix(), now=self.now(), zone=self.zone)

    def call(self, person: str | None) -> str:
        """Give what people call a person; the code where no sheet tells."""
        people = () if self.sheet is None else self.sheet.people
        return next((one.call for one in people if one.code == person), person or "")

    def recent_people(self) -> list[str]:
        """Give the codes of who started outings on this phone, the last first, each once."""
        starts = [record["person"] for record in reversed(self.outing.noted.records())
                  if record["kind"] == "outing" and record["state"] == "start"]
        return list(dict.fromkeys(starts))

    def people(self) -> list[tuple[str, str]]:
        """Give code and call of all who may carry the phone: the last two first, then A to Z."""
        if self.sheet is None or not self.sheet.people:
            everyone = [(letter, letter) for letter in "ABCDEFGH"]
        else:
            everyone = sorted(((one.code, one.call) for one in self.sheet.people),
                              key=lambda one: one[1])
        last = [code for code in self.recent_people() if code in dict(everyone)][:2]
        return ([(code, dict(everyone)[code]) for code in last]
                + [one for one in everyone if one[0] not in last])

    def free_mb(self) -> float | None:
        """Give the room left. [MB]."""
        return (self.parts.free_mb or self.parts.folder.free_mb)()

    def clock_off_s(self) -> float | None:
        """Give how far the clock is from the satellites'; None where nothing tells. [s]."""
        fix = self.fix()
        return None if fix is None else fix.lag_s

    def oldest_unsent(self) -> timedelta | None:
        """Give the age of the oldest record that the shed is not known to hold."""
        seq = self.journal.first_unsent()
        record = self.journal.record(seq)
        return None if record is None else self.now() - instant(record["at"])


def zone_of(sheet: Sheet | None, usual: tzinfo) -> tzinfo:
    """Give the block's time zone, or the usual one if no sheet names a known one."""
    if sheet is None:
        return usual
    try:
        return ZoneInfo(sheet.zone)
    except (ZoneInfoNotFoundError, ValueError):
        return usual
