"""What can go wrong between phone and shed, in one error.

Rule 1: a message is a plain sentence or two that say what to do, with no key, code or token.
Rule 2: nothing is lost by any of it: what is noted stays in the journal until the shed holds it.
"""

#: Of the phone's own finding; all others are words that the shed refuses with.
NO_ANSWER, CUT, SLOW, OTHER_SHED = "no_answer", "cut", "slow", "other_shed"
NO_SHED, TOO_LARGE, STOPPED, BAD_ADDRESS = "no_shed", "answer_too_large", "stopped", "bad_address"
BAD_CODE, IMPOSTOR, STORAGE = "bad_code", "impostor", "storage"
#: Words of the shed that the phone acts upon.
EXPIRED, UNREADABLE, BUSY = "expired", "unreadable", "busy"
#: What may pass by itself, so that it is tried again after a pause.
PASSES = (NO_ANSWER, CUT, SLOW, BUSY, "not_so", EXPIRED)
#: Of one file or journal; the shed is in reach and gives its sheet all the same.
OF_A_FILE = (UNREADABLE, "too_large", STORAGE)
#: There is no use in trying another journal of the same shed.
OUT_OF_REACH = (NO_ANSWER, CUT, SLOW, OTHER_SHED, NO_SHED, TOO_LARGE, STOPPED)


class LinkError(Exception):
    """The link did not do what was asked; nothing is lost.

    Parameters
    ----------
    code : str
        One word: the phone's own finding, or the shed's.
    message : str
        What is so and what to do.
    """

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code


def no_shed(where: str, what: str) -> LinkError:
    """Make the error of an answer that no shed of this form gives."""
    return LinkError(NO_SHED, f"what answers at {where} is no shed of this form ({what}): look at "
                              "the address, or bring both programs up to date; nothing is lost")
