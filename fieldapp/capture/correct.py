"""Mending what was noted: one more record that stands in for the first, or a void.

Rule 1: a mend repeats the kind with all its fields; it names the first record, also when that was
mended before, so that the last mend stands alone.
Rule 2: it says who mended and when; time, place and person of the thing stay the first one's.
Rule 3: it can be done after END too, in the last person's name.
"""

from datetime import datetime
from typing import Any

from fieldapp.capture.book import CaptureError, Record
from fieldapp.capture.counts import Standing
from fieldapp.capture.outing import Outing
from fieldapp.record import Where, name_of

#: What is not a thing noted by hand, or is mended by its own means.
_NOT_MENDED = ("outing", "track", "void", "check_in")
_NOT_REPEATED = ("device", "seq", "kind", "at", "person", "where", "instead_of", "press_ms")


class Correct:
    """Corrections of this phone's own records."""

    def __init__(self, outing: Outing) -> None:
        self._outing = outing

    def change(self, seq: int, *, now: datetime, where: Where | None,
               press_ms: int | None = None, drop_draft: str | None = None,
               **changes: Any) -> Record:
        """Write a record that stands in for another.

        Parameters
        ----------
        seq : int
            Number of the record, or of any that it stands in for.
        now, where : datetime, Where or None
            When and where it was mended.
        press_ms : int or None
            How long the press was. [ms]
        drop_draft : str or None
            A draft that the mend makes needless.
        **changes
            The fields that change, `note` among them; None takes one out.

        Returns
        -------
        dict
            The record, on disk.

        Raises
        ------
        CaptureError
            If no such record counts, or it is of a kind that is not mended.
        """
        old = self.found(seq)
        kept = {name: value for name, value in old.record.items() if name not in _NOT_REPEATED}
        named = {name.removesuffix("_"): value for name, value in changes.items()}
        first = {"device": old.record["device"], "seq": old.first}
        return self._outing.note(old.kind, now=now, where=where, when_over=True,
                                 press_ms=press_ms, instead_of=name_of(first),
                                 drop_draft=drop_draft,
                                 **{**kept, **named})

    def void(self, seq: int, *, now: datetime, where: Where | None,
             press_ms: int | None = None) -> Record:
        """Void a record that counts; if it stood in for another, that one counts again."""
        return self._outing.note("void", now=now, where=where, when_over=True,
                                 of=name_of(self.found(seq).record), press_ms=press_ms)

    def found(self, seq: int) -> Standing:
        """Find what counts and can be mended, by its number or any that it stands in for.

        Parameters
        ----------
        seq : int
            Number of a record.

        Returns
        -------
        Standing
            As it stands now.

        Raises
        ------
        CaptureError
            If no such record counts, or it is of a kind that is not mended.
        """
        settled = self._outing.noted.settled()
        first = settled.first_of(seq)
        found = self._outing.noted.standing(lambda record: record["seq"] == first)
        if not found or found[0].kind in _NOT_MENDED:
            raise CaptureError(f"number {seq} is nothing that counts and can be mended")
        return found[0]
