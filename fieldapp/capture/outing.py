"""The outing: who carries the phone, as what, and when a place may be kept.

Rule 1: one outing is open at a time; a start ends the one before, with no second record.
Rule 2: a place is kept only between START and END, never in PAUSE, never beyond block + 100 m; a
call for help alone keeps whatever place it is given.
Rule 3: the state is what the journal says, so a killed app and the location service agree.

    step     from              to
    start    none open paused  open
    pause    open              paused
    resume   open paused       open     (while open: the next cell is confirmed)
    end      open paused       none
"""

from collections.abc import Mapping, Sequence
from datetime import datetime
from types import MappingProxyType
from typing import Any, Literal, Self

from fieldapp.capture.book import CaptureError, Notebook, Noted, Record, record_of
from fieldapp.capture.places import beyond_block
from fieldapp.ground import Sheet
from fieldapp.record import Where, instant, stamp

Role = Literal["picker", "surveyor"]
OutingState = Literal["none", "open", "paused"]

_FROM: Mapping[str, tuple[OutingState, ...]] = MappingProxyType({
    "start": ("none", "open", "paused"), "pause": ("open",), "resume": ("open", "paused"),
    "end": ("open", "paused")})
_TO: Mapping[str, OutingState] = MappingProxyType({
    "start": "open", "pause": "paused", "resume": "open", "end": "none"})


class Outing:
    """The outings of this phone, seen from the last one.

    Parameters
    ----------
    book : Notebook
        The phone's journal.
    sheet : Sheet or None
        The ground sheet in use; without one no place is held back for lying outside.
    """

    def __init__(self, book: Notebook, *, sheet: Sheet | None = None) -> None:
        self.book = book
        self.sheet = sheet
        self.noted = Noted(book)
        self._seen = 0
        self._state: OutingState = "none"
        self._start: Record | None = None
        self._opened = ""
        self._cell: str | None = None

    @classmethod
    def reopen(cls, book: Notebook, *, sheet: Sheet | None = None) -> Self | None:
        """Find the outing that was left open, by a killed app or a flat battery; else None."""
        outing = cls(book, sheet=sheet)
        return None if outing.state == "none" else outing

    @property
    def state(self) -> OutingState:
        """Where the outing stands, as the journal says now."""
        self._catch_up()
        return self._state

    @property
    def may_locate(self) -> bool:
        """Whether the phone may ask where it is."""
        return self.state == "open"

    @property
    def person(self) -> str | None:
        """Who carries the phone, or did last; None before the first outing."""
        self._catch_up()
        return None if self._start is None else str(self._start["person"])

    @property
    def role(self) -> Role | None:
        """What the outing is for; None when none is open."""
        if self.state == "none" or self._start is None:
            return None
        return "surveyor" if self._start["role"] == "surveyor" else "picker"

    @property
    def since(self) -> datetime | None:
        """When the open outing was started."""
        if self.state == "none" or self._start is None:
            return None
        return instant(self._start["at"])

    @property
    def first_seq(self) -> int:
        """The number of the last START; 1 before the first."""
        self._catch_up()
        return 1 if self._start is None else int(self._start["seq"])

    @property
    def located_since(self) -> datetime | None:
        """Since when a place may be kept, without a break; None while it may not."""
        return instant(self._opened) if self.may_locate else None

    @property
    def cell(self) -> str | None:
        """The cell confirmed last, while the outing is open."""
        return None if self.state == "none" else self._cell

    def start(self, person: str, role: Role, *, now: datetime, where: Where | None,
              sheet: Sheet | None = None, cell: str | None = None,
              press_ms: int | None = None) -> Record:
        """Start an outing; one still open is ended by it.

        Parameters
        ----------
        person : str
            Person code.
        role : str
            picker or surveyor.
        now, where : datetime, Where or None
            When and where START was pressed.
        sheet : Sheet or None
            The ground sheet on the phone.
        cell : str or None
            Today's cell, confirmed.
        press_ms : int or None
            How long the press was. [ms]

        Returns
        -------
        dict
            The record, on disk.
        """
        told = None if sheet is None else {"id": sheet.sheet_id, "made_at": stamp(sheet.made_at)}
        record = self._write("start", now=now, where=_kept(where, sheet or self.sheet),
                             person=person, role=role, sheet=told, cell=cell, press_ms=press_ms)
        self.sheet = sheet or self.sheet
        return record

    def pause(self, *, now: datetime, where: Where | None, press_ms: int | None = None) -> Record:
        """Pause: from here on no place is kept."""
        return self._step("pause", now=now, where=where, press_ms=press_ms)

    def resume(self, *, now: datetime, where: Where | None, cell: str | None = None,
               press_ms: int | None = None) -> Record:
        """Go on after a pause, or in another cell than the one confirmed before."""
        return self._step("resume", now=now, where=where, role=self.role, cell=cell,
                          press_ms=press_ms)

    def end(self, finished: Sequence[str] = (), *, now: datetime, where: Where | None,
            press_ms: int | None = None) -> Record:
        """End the outing, naming the cells whose pick is over."""
        return self._step("end", now=now, where=where, finished=list(finished), press_ms=press_ms)

    def place(self, where: Where | None) -> Where | None:
        """Give a place back if it may be kept, else None."""
        return _kept(where, self.sheet) if self.may_locate else None

    def note(self, kind: str, *, now: datetime, where: Where | None, drop_draft: str | None = None,
             when_over: bool = False, **fields: Any) -> Record:
        """Write a record for whoever carries the phone.

        Parameters
        ----------
        kind : str
            One of `fieldapp.record.KINDS`.
        now, where : datetime, Where or None
            When and where it was noted; the place is kept only if it may be.
        drop_draft : str or None
            A draft that the record makes needless.
        when_over : bool
            Whether it may be noted with no outing open, in the name of the last person.
        **fields
            As `record_of` takes them.

        Returns
        -------
        dict
            The record, on disk.

        Raises
        ------
        CaptureError
            If nobody carries the phone.
        """
        return self.write(record_of(kind, now=now, where=self.place(where),
                                    person=self.carrier(when_over=when_over), **fields),
                          drop_draft=drop_draft)

    def carrier(self, *, when_over: bool = False) -> str:
        """Give the person in whose name things are noted now.

        Parameters
        ----------
        when_over : bool
            Whether the last person will do when no outing is open.

        Returns
        -------
        str
            Person code.

        Raises
        ------
        CaptureError
            If there is none.
        """
        person = self.person
        if person is None or (self.state == "none" and not when_over):
            raise CaptureError("no outing is open: press START first")
        return person

    def write(self, record: Record, *, drop_draft: str | None = None) -> Record:
        """Write a record as it is; back when it is on disk."""
        return self.book.append(record, drop_draft=drop_draft)

    def _step(self, step: str, *, now: datetime, where: Where | None, **fields: Any) -> Record:
        if self.state not in _FROM[step]:
            raise CaptureError(f"{step}: no outing is there for it: its state is {self.state}")
        kept = _kept(where, self.sheet) if step == "resume" else self.place(where)
        return self._write(step, now=now, where=kept, person=self.carrier(), **fields)

    def _write(self, step: str, *, now: datetime, where: Where | None, person: str,
               **fields: Any) -> Record:
        return self.write(record_of("outing", now=now, where=where, person=person, state=step,
                                    **fields))

    def _catch_up(self) -> None:
        records = self.noted.records()
        for record in records[self._seen:]:
            if record["kind"] == "outing" and record.get("instead_of") is None:
                self._take(record)
        self._seen = len(records)

    def _take(self, record: Record) -> None:
        step = record["state"]
        if step == "start" or self._state != "open":
            self._opened = record["at"]
        self._state = _TO[step]
        if step == "start":
            self._start, self._cell = record, record.get("cell")
        elif record.get("cell") is not None:
            self._cell = record["cell"]


def _kept(where: Where | None, sheet: Sheet | None) -> Where | None:
    """Give a place back unless it lies too far out of the block."""
    too_far = where is not None and sheet is not None and beyond_block(sheet, where)
    return None if too_far else where
