"""What came of the link to the shed, in words: what is so, that nothing is lost, what to do.

Rule 1: each finding has one sentence; what the shed says beyond these is shown as it said it.
"""

from collections.abc import Iterator

from fieldapp.device.inbox import TakenIn
from fieldapp.device.link import trouble
from fieldapp.device.link.sending import Outcome, Sent
from fieldapp.phone.say import Say, count, joined, raw, say

_CUT = say("The link to the shed was cut. Nothing is lost: go nearer and try again; it goes on "
           "where it stopped.")
_NOT_KNOWN = say("The shed does not know this phone any more. Nothing is lost: ask the owner, "
                 "then pair by code again.")


def trouble_words(code: str, why: str, address: str) -> Say:
    """Say what stood in the way.

    Parameters
    ----------
    code, why : str
        Of a `LinkError`.
    address : str
        Where the shed was looked for.

    Returns
    -------
    Say
        A sentence or three.
    """
    at_fault = say("What answers at {address} is no shed of this version. Nothing is lost: look "
                   "at the address.", address=address)
    told = {
        trouble.NO_ANSWER: say("The shed does not answer at {address}. Nothing is lost: try "
                               "again, or make a file.", address=address),
        **dict.fromkeys((trouble.CUT, trouble.SLOW, trouble.EXPIRED, "not_so"), _CUT),
        trouble.OTHER_SHED: say("At {address} is not the shed that this phone knows: nothing was "
                                "sent. Look at the address, or pair by code again.",
                                address=address),
        trouble.IMPOSTOR: say("What answers at {address} does not know what the shed knows: "
                              "nothing was sent or kept. Look at the address, or ask for a new "
                              "code.", address=address),
        trouble.NO_SHED: at_fault, trouble.TOO_LARGE: at_fault,
        trouble.BUSY: say("The shed is busy. Nothing is lost: try again in a minute."),
        trouble.UNREADABLE: say("The shed refused the file: {why}. Nothing is lost: make a file.",
                                why=why),
        trouble.BAD_ADDRESS: say("That is no address. Read it off the shed's page."),
        "wrong_code": say("These are not the digits on the shed's page, or this is not its Wi-Fi. "
                          "Look at both and type them again."),
        "no_code": say("No code is open at the shed, or it is too old. Ask for a new one."),
        "too_many": say("Too many tries. Wait a minute."),
        **dict.fromkeys(("unknown", "not_paired", "revoked"), _NOT_KNOWN),
        "other_block": say("That shed is of another block. Nothing is lost: hand over at your "
                           "own."),
    }
    return told.get(code, raw(why))


def outcome_words(outcome: Outcome, sheet: TakenIn | None, address: str) -> tuple[Say, ...]:
    """Say what came of sending.

    Parameters
    ----------
    outcome : Outcome
        Of the records.
    sheet : TakenIn or None
        What became of the sheet that came; None if none came.
    address : str
        The shed's.

    Returns
    -------
    tuple of Say
        A line each: the records, what is left, what stood in the way, the sheet.
    """
    records = (_records(outcome.journals), *_left(outcome, address))
    if any(one.trouble for one in outcome.journals):
        return records  # as much as a page holds; the sheet is as it was
    return (*records, *_sheet(outcome, sheet, address))


def is_whole(outcome: Outcome, sheet: TakenIn | None) -> bool:
    """Say whether all went over and a sheet came back."""
    return not any(one.left or one.trouble for one in outcome.journals) and (
        sheet is not None and sheet.kind == "sheet")


def _records(journals: tuple[Sent, ...]) -> Say:
    over = sum(one.records for one in journals)
    if any(one.left or one.trouble for one in journals):
        return count(over, "Handed over: {n} record", "Handed over: {n} records")
    if not over:
        return say("Nothing new: all is handed over")
    return count(over, "All handed over: {n} record", "All handed over: {n} records")


def _left(outcome: Outcome, address: str) -> Iterator[Say]:
    aside = sum(one.aside for one in outcome.journals)
    if aside:
        yield count(aside, "{n} record waits at the shed to be mended",
                    "{n} records wait at the shed to be mended")
    troubles = {one.trouble.code: trouble_words(one.trouble.code, one.trouble.why, address)
                for one in outcome.journals if one.trouble}
    yield from troubles.values()
    if outcome.for_file:
        yield count(outcome.for_file, "{n} record noted before pairing: make a file of it",
                    "{n} records noted before pairing: make a file of them")


def _sheet(outcome: Outcome, sheet: TakenIn | None, address: str) -> Iterator[Say]:
    if sheet is not None and sheet.kind == "refused":
        yield joined(raw(sheet.name), raw(sheet.why))
    elif sheet is not None:
        yield joined(say("sheet"), say("taken in"))
    elif outcome.trouble is not None:
        yield trouble_words(outcome.trouble.code, outcome.trouble.why, address)
