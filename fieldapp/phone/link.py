"""What goes on between this phone and the shed while the screens go on.

Rule 1: no press waits for the shed; what came of it is taken up once, by the screens' own thread.
Rule 2: one thing at a time: while the phone talks with the shed it begins nothing else there.
"""

import dataclasses
from collections.abc import Callable
from datetime import datetime
from threading import Event

from fieldapp.device.identity import Install
from fieldapp.device.inbox import TakenIn
from fieldapp.device.journal import JournalError
from fieldapp.device.link.errand import Errand
from fieldapp.device.link.sending import Outcome
from fieldapp.device.link.trouble import LinkError
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.device.store import StoreError
from fieldapp.phone.keys import Done
from fieldapp.phone.link_words import is_whole, outcome_words, trouble_words
from fieldapp.phone.say import NOTHING, Say, figure, joined, raw, say
from fieldapp.record import RecordError


@dataclasses.dataclass(frozen=True)
class _Paired:
    """A pairing, and what came of the first exchange after it."""

    install: Install
    outcome: Outcome
    sheet: TakenIn | None


_Came = tuple[Outcome, TakenIn | None] | Install | _Paired


class Link:
    """The link of one phone.

    Parameters
    ----------
    folder : PhoneFolder
        All that the phone keeps.
    reopen : callable
        Reads install and sheet anew.

    Attributes
    ----------
    told : tuple of Say
        What came of the last thing; empty before there was one.
    """

    def __init__(self, folder: PhoneFolder, reopen: Callable[[], None]) -> None:
        self._folder = folder
        self._reopen = reopen
        self._errand: Errand[_Came] | None = None
        self._address = ""
        self._share: float | None = None
        self.told: tuple[Say, ...] = ()

    @property
    def running(self) -> bool:
        """Whether something goes on, or waits to be taken up."""
        return self._errand is not None

    @property
    def ended(self) -> bool:
        """Whether there is something to take up."""
        return self._errand is not None and self._errand.ended

    def send(self, install: Install, *, now: datetime, program: str) -> None:
        """Begin to hand over and to fetch the sheet."""
        self._begin(install.address or "", lambda stop: self._exchanged(stop, now, program))

    def pair(self, address: str, code: str, *, now: datetime, program: str) -> None:
        """Begin to pair, to hand over what there is, and to fetch the first sheet."""
        def work(stop: Event) -> _Came:
            install = self._folder.pair_over_wifi(address, code)
            try:
                outcome, sheet = self._exchanged(stop, now, program)
            except LinkError:
                return install  # paired it is; the sheet comes with the next sending
            return _Paired(install, outcome, sheet)
        self._begin(address, work)

    def _exchanged(
        self, stop: Event, now: datetime, program: str
    ) -> tuple[Outcome, TakenIn | None]:
        outcome = self._folder.send_to_shed(now=now, program=program, tell=self._far, stop=stop)
        taken = self._folder.take_in() if outcome.sheet else ()
        return outcome, next((one for one in taken if one.name == outcome.sheet), None)

    def going(self) -> Say:
        """Say what goes on now; nothing if nothing does."""
        if not self.running:
            return NOTHING
        asking = say("talking with the shed at {address} …", address=self._address)
        share = self._share
        return asking if share is None else joined(
            asking, say("{pct} sent", pct=figure("pct", 100.0 * share)))

    def take_up(self) -> Done:
        """Take up what came of it, once `ended`; doing it again after trouble is harmless.

        Raises
        ------
        JournalError, StoreError, OSError
            If the phone could not turn to what came; it is still there to be taken up.
        """
        if self._errand is None:
            return Done()
        try:
            came = self._errand.result()
        except LinkError as error:
            return self._over(Done("B3", said=say("Not done. Nothing is lost.")),
                              trouble_words(error.code, str(error), self._address))
        except (JournalError, StoreError, OSError, RecordError) as error:
            return self._over(Done("B3", said=say("Not done. Nothing is lost.")),
                              raw(str(error)))
        self._reopen()
        if isinstance(came, Install):
            return self._paired()
        if isinstance(came, _Paired):
            told = say("paired with {block} as {phone}", block=came.install.block_name or "",
                       phone=came.install.device.partition("-")[0])
            return self._paired(told, *outcome_words(came.outcome, came.sheet, self._address),
                                whole=is_whole(came.outcome, came.sheet))
        return self._sent(*came)

    def end(self) -> None:
        """Ask what goes on to stop, as the app closes."""
        if self._errand is not None:
            self._errand.end()

    def _begin(self, address: str, work: Callable[[Event], _Came]) -> None:
        if self._errand is None:
            self._address, self._share = address, None
            self.told = ()
            self._errand = Errand(work)

    def _far(self, have: int, size: int) -> None:
        self._share = have / size if size else None

    def _paired(self, *told: Say, whole: bool = True) -> Done:
        done = Done("B1" if whole else "B3", "hand_over", joined(say("pairing"), say("taken in")))
        return self._over(done, *told)

    def _sent(self, outcome: Outcome, sheet: TakenIn | None) -> Done:
        whole = is_whole(outcome, sheet)
        said = say("Handed over. The sheet is new.") if whole else say(
            "Not all done. Nothing is lost.")
        return self._over(Done("B1" if whole else "B3", said=said),
                          *outcome_words(outcome, sheet, self._address))

    def _over(self, done: Done, *told: Say) -> Done:
        self._errand, self.told = None, told
        return done
