"""Handing one journal over to the shed, and fetching the sheet that comes back.

Rule 1: a number counts as held only because the shed said so, in a session that it has proved.
Rule 2: with nothing unsent nothing is sent.
Rule 3: what a former try left is finished first, so that no number goes over in two files at once.
"""

import dataclasses
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from fieldapp.device import files
from fieldapp.device.inbox import LARGEST_IN
from fieldapp.device.journal import Journal
from fieldapp.device.link.line import Line
from fieldapp.device.link.pending import Pending
from fieldapp.device.link.session import Session
from fieldapp.device.link.trouble import UNREADABLE, LinkError
from fieldapp.device.link.upload import Taken, Tell, send_rest

#: A large block's sheet is some 2 MB, and the shed works it out when it is asked. [s]
SHEET_S = 180.0


@dataclasses.dataclass(frozen=True)
class Load:
    """What is to be handed over.

    Attributes
    ----------
    journal : Journal
        Open.
    photos : Path
        Folder of its photos.
    pending : Pending
        The place of the file being sent.
    now : datetime
        Aware; stands in the file as when it was made.
    program : str
        The program's version.
    """

    journal: Journal
    photos: Path
    pending: Pending
    now: datetime
    program: str


def hand_over(line: Line, load: Load, *, tell: Tell) -> tuple[Taken, ...]:
    """Hand a journal over.

    Parameters
    ----------
    line : Line
        This journal's device to the shed.
    load : Load
        The journal; what the shed holds is noted in it as soon as the shed says so.
    tell : callable
        Told how far the file being sent is.

    Returns
    -------
    tuple of Taken
        What the shed made of each file; none if it held all already.

    Raises
    ------
    LinkError
        What stood in the way; what went over before stays over.
    JournalError, OSError
        If the phone's own files failed it.
    """
    line.do(lambda session: load.journal.acknowledge(session.held))
    left = load.pending.left(load.journal.acknowledged())
    taken = [] if left is None else [_send(line, load, left, tell)]
    if load.journal.unsent():
        taken.extend(_send(line, load, data, tell) for data in _made(load))
    return tuple(one for one in taken if one is not None)


def fetch_sheet(line: Line) -> bytes:
    """Fetch this phone's ground sheet; its seal is still to be tried.

    Raises
    ------
    LinkError
        What stood in the way.
    """
    return line.do(lambda session: session.talk.fetch(
        "/phone/sheet", token=session.token, most=LARGEST_IN, within_s=SHEET_S))


def _made(load: Load) -> Iterator[bytes]:
    who = load.pending.who
    for span in files.parts(load.journal, load.photos):
        yield load.pending.keep(files.hand_over(
            load.journal, span, block=who.block, program=load.program, made_at=load.now,
            key=who.key, photos=load.photos))


def _send(line: Line, load: Load, data: bytes, tell: Tell) -> Taken | None:
    """Send a file that is kept as pending; None if a cut hid that the shed had taken it."""
    def step(session: Session) -> Taken | None:
        load.journal.acknowledge(session.held)
        if load.pending.left(load.journal.acknowledged()) is None:
            return None
        return send_rest(line, session, data, tell=tell)

    line.far = 0
    try:
        taken = line.do(step)
    except LinkError as error:
        if error.code == UNREADABLE:  # the same bytes would be refused again
            load.pending.drop()
        raise
    if taken is not None:
        load.journal.acknowledge(taken.held)
    load.pending.drop()
    return taken
