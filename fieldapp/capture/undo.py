"""UNDO and PUT BACK: a void, and a void of that void; nothing is ever taken out of the book.

Rule 1: UNDO says what it will undo before it does; again is the one before.
Rule 2: it reaches back to the last START; what is older is mended in the history.
Rule 3: for 30 s after an undo the same key puts back instead, unless something was noted since.
"""

import dataclasses
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any, Literal

from fieldapp.capture.book import CaptureError, Record
from fieldapp.capture.outing import Outing
from fieldapp.record import Where, instant, name_of, split_name

UNDOABLE = ("bag", "quadrat", "skip", "mark", "work", "batch", "clip")
PUT_BACK_S = 30.0


@dataclasses.dataclass(frozen=True)
class Offer:
    """What the key would do now.

    Attributes
    ----------
    action : str
        undo or put_back.
    record : mapping
        The thing undone or put back, for the key to name.
    void : mapping or None
        The void that putting back would void.
    """

    action: Literal["undo", "put_back"]
    record: Mapping[str, Any]
    void: Mapping[str, Any] | None


class Undo:
    """The undo key of an outing."""

    def __init__(self, outing: Outing) -> None:
        self._outing = outing

    def offer(self, now: datetime) -> Offer | None:
        """Say what a press would do.

        Parameters
        ----------
        now : datetime
            Aware.

        Returns
        -------
        Offer or None
            None if this outing has noted nothing that can be undone.
        """
        return self._put_back(now) or self._undo()

    def undo(self, *, now: datetime, where: Where | None, press_ms: int | None = None) -> Record:
        """Undo the last thing that counts; the void names it and is on disk."""
        return self._void(self._undo(), now=now, where=where, press_ms=press_ms)

    def put_back(self, *, now: datetime, where: Where | None,
                 press_ms: int | None = None) -> Record:
        """Put back what was undone last: void the void."""
        return self._void(self._put_back(now), now=now, where=where, press_ms=press_ms)

    def press(self, *, now: datetime, where: Where | None, press_ms: int | None = None) -> Record:
        """Do what the key offers now."""
        return self._void(self.offer(now), now=now, where=where, press_ms=press_ms)

    def _void(self, offer: Offer | None, *, now: datetime, where: Where | None,
              press_ms: int | None) -> Record:
        if offer is None:
            raise CaptureError("there is nothing to undo or put back")
        return self._outing.note("void", now=now, where=where, press_ms=press_ms,
                                 of=name_of(offer.void or offer.record))

    def _undo(self) -> Offer | None:
        noted, first_seq = self._outing.noted, self._outing.first_seq
        for record in reversed(noted.records()):
            if record["seq"] <= first_seq:
                return None
            if record["kind"] in UNDOABLE and noted.counts(record["seq"]):
                return Offer("undo", record, None)
        return None

    def _put_back(self, now: datetime) -> Offer | None:
        records = self._outing.noted.records()
        last = records[-1] if records else None
        if last is None or last["kind"] != "void":
            return None
        age = now - instant(last["at"])
        if not timedelta(0) <= age < timedelta(seconds=PUT_BACK_S):
            return None
        undone = self._outing.book.record(split_name(last["of"])[1])
        if undone is None or undone["kind"] == "void":
            return None
        return Offer("put_back", undone, last)
