"""All that one phone sends to one shed: each journal of the block, then the sheet.

Rule 1: a journal that cannot be read, or that the shed refuses, holds up no other.
Rule 2: what was noted before the phone was paired has no key: it is left for a file, and told.
"""

import dataclasses
import threading
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from pathlib import Path

from fieldapp.device.identity import Install
from fieldapp.device.journal import Journal, JournalError
from fieldapp.device.link.address import address_of
from fieldapp.device.link.hand_over import Load, fetch_sheet, hand_over
from fieldapp.device.link.line import Line, Shed, Who
from fieldapp.device.link.pending import Pending
from fieldapp.device.link.trouble import OF_A_FILE, OUT_OF_REACH, STORAGE, LinkError
from fieldapp.device.link.upload import Tell


@dataclasses.dataclass(frozen=True)
class Trouble:
    """What stood in the way: a `LinkError`'s code, or `storage`, and its sentence."""

    code: str
    why: str


@dataclasses.dataclass(frozen=True)
class Sent:
    """What became of one journal.

    Attributes
    ----------
    device : str
        Whose.
    records : int
        Of it, that the shed holds since this hand-over.
    left : int
        That it is still not known to hold.
    aside : int
        That the shed has set aside until they are mended.
    trouble : Trouble or None
        None if all went well.
    """

    device: str
    records: int
    left: int
    aside: int = 0
    trouble: Trouble | None = None


@dataclasses.dataclass(frozen=True)
class Outcome:
    """What became of sending.

    Attributes
    ----------
    journals : tuple of Sent
        The install in use last; those out of reach after another are left out.
    for_file : int
        Records noted before the phone was paired, that only a file hands over.
    sheet : str
        The sheet's name where it waits to be taken in; empty if none came.
    trouble : Trouble or None
        What stood in the way of the sheet.
    """

    journals: tuple[Sent, ...]
    for_file: int = 0
    sheet: str = ""
    trouble: Trouble | None = None


@dataclasses.dataclass(frozen=True)
class Store:
    """Where a phone keeps what is sent.

    Attributes
    ----------
    journal : callable
        Opens an install's journal.
    photos : callable
        Gives the folder of an install's photos.
    pending : Path
        Folder of the files being sent; it exists.
    bring : callable
        Puts a file where it is taken in, by name and content, and gives the name it lies under.
    """

    journal: Callable[[Install], Journal]
    photos: Callable[[Install], Path]
    pending: Path
    bring: Callable[[str, bytes], str]


def send(installs: Sequence[Install], store: Store, *, now: datetime, program: str, tell: Tell,
         stop: threading.Event) -> Outcome:
    """Send all journals of the block in use, and fetch its sheet.

    Parameters
    ----------
    installs : sequence of Install
        Those with a journal; the last is in use and has key, pin and address.
    store : Store
        Where all lies.
    now : datetime
        Aware.
    program : str
        The program's version.
    tell : callable
        Told how far the file being sent is.
    stop : threading.Event
        Set when the app closes.

    Returns
    -------
    Outcome
        Never raises for what the link or a journal does.

    Raises
    ------
    LinkError
        If the address kept is none.
    """
    used = installs[-1]
    shed = Shed(address_of(used.address or ""), used.pin or "")
    ours = [one for one in installs if one.block == used.block and one.key is not None]
    sent: list[Sent] = []
    sheet = trouble = None
    for install in ours:
        with Line(shed, _who(install), stop=stop) as line:
            sent.append(_journal_sent(line, store, install, now=now, program=program, tell=tell))
            code = sent[-1].trouble.code if sent[-1].trouble else ""
            if code in OUT_OF_REACH:
                break
            if install == used and code in ("", *OF_A_FILE):
                sheet, trouble = _sheet(line, store, install)
    return Outcome(tuple(sent), sum(_unsealed(installs, store)), sheet or "", trouble)


def _who(install: Install) -> Who:
    return Who(install.device, install.block or "", install.key or b"")


def _journal_sent(line: Line, store: Store, install: Install, *, now: datetime, program: str,
                  tell: Tell) -> Sent:
    path = store.pending / f"{install.device}.handover.zip"
    try:
        with store.journal(install) as journal:
            load = Load(journal, store.photos(install), Pending(path, _who(install)), now, program)
            return _counted(line, load, tell)
    except (JournalError, OSError) as error:
        return Sent(install.device, 0, 0, trouble=Trouble(STORAGE, str(error)))


def _counted(line: Line, load: Load, tell: Tell) -> Sent:
    journal, trouble, aside = load.journal, None, 0
    before, last = journal.unsent(), journal.last_seq()
    try:
        aside = sum(one.aside for one in hand_over(line, load, tell=tell))
    except LinkError as error:
        trouble = Trouble(error.code, str(error))
    left, since = journal.unsent(), sum(1 for _ in journal.records(last + 1))
    return Sent(journal.device, max(0, before + since - left), left, aside, trouble)


def _sheet(line: Line, store: Store, install: Install) -> tuple[str, Trouble | None]:
    try:
        content = fetch_sheet(line)
        return store.bring(f"{install.device.partition('-')[0]}.sheet.zip", content), None
    except LinkError as error:
        return "", Trouble(error.code, str(error))
    except OSError as error:  # what went over stays over, and is told
        return "", Trouble(STORAGE, str(error))


def _unsealed(installs: Sequence[Install], store: Store) -> Iterator[int]:
    for install in installs:
        if install.key is None:
            try:
                with store.journal(install) as journal:
                    yield journal.unsent()
            except JournalError:
                yield 0
