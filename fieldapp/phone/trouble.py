"""The trouble panel: a press that is not on disk, why not, and the two ways on.

Rule 1: it stands over every screen, that of a call for help too; so it tells the place, to be
read out, and of a call that waits that nobody has been told.
Rule 2: in a pause the place is asked for a call for help alone.
"""

import dataclasses

from fieldapp.device.journal import JournalError
from fieldapp.phone.doing import Waiting
from fieldapp.phone.help import CALL, read_out
from fieldapp.phone.keys import Key
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, figure, joined, say
from fieldapp.record import Where

_AGAIN = Key("try_again", say("TRY AGAIN"), tone="framed")
_PAPER = Key("on_paper", say("IT IS ON PAPER"), sub=say("hold 2 s: this phone lets go of it"),
             kind="hold", tone="framed")


@dataclasses.dataclass(frozen=True)
class TroubleShown:
    """What the panel shows.

    Attributes
    ----------
    what : Say
        What waits.
    why : Say
        Why, and when it was tried last; of a call for help, that nobody has been told.
    place : Say
        Where one is, in digits; empty if it is not known, or not to be asked for.
    again, paper : Key
        TRY AGAIN, IT IS ON PAPER.
    """

    what: Say
    why: Say
    place: Say
    again: Key = _AGAIN
    paper: Key = _PAPER


def trouble(phone: Phone, waiting: Waiting | None) -> TroubleShown | None:
    """Give what the trouble panel shows now.

    Parameters
    ----------
    phone : Phone
        The phone.
    waiting : Waiting or None
        What is not on disk.

    Returns
    -------
    TroubleShown or None
        None if nothing waits.
    """
    if waiting is None:
        return None
    is_call = waiting.what == CALL
    fix = phone.parts.location.at(phone.now()) if is_call else _fix(phone)
    return TroubleShown(
        what=say("{thing} waits. Do not press again.", thing=waiting.what),
        why=say("Nobody has been told yet. Use the radio or beacon.") if is_call else joined(
            say("The phone has no room: free some.") if waiting.full
            else say("The phone cannot write."),
            say("Trying again, {clock}", clock=figure("clock", waiting.tried)), by="\n"),
        place=NOTHING if fix is None else read_out(fix))


def _fix(phone: Phone) -> Where | None:
    """Give the fix, none where a journal that cannot be read does not say if it may be asked."""
    try:
        return phone.fix()
    except JournalError:
        return None
