"""The notebook that all capture objects write into, and what has been read of it so far.

Rule 1: a press has happened when `append` has returned, never before; if it raises, nothing has
changed and the same press may be tried again.
Rule 2: what is shown is computed from the book, so that a killed app and a second process see the
same.
Rule 3: each record is read once.
"""

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Any, Protocol

from fieldapp.capture.counts import Settled, Standing, settle, standing
from fieldapp.record import Where, stamp, where_json

Record = dict[str, Any]


class CaptureError(Exception):
    """A step that is not possible now; nothing was written and nothing has changed."""


class Notebook(Protocol):
    """What a journal must offer; the phone's is SQLite, a test's a list."""

    device: str

    def append(self, record: Mapping[str, Any], *, drop_draft: str | None = None) -> Record:
        """Write a record without `device` and `seq`; give it back whole once it is on disk."""
        ...

    def records(self, first: int = 1, last: int | None = None) -> Iterator[Record]:
        """Read records by ascending number, both ends included."""
        ...

    def record(self, seq: int) -> Record | None:
        """Read one record."""
        ...

    def last_seq(self) -> int:
        """Give the highest number given so far, 0 before the first."""
        ...

    def keep_draft(self, name: str, draft: Mapping[str, Any]) -> None:
        """Put what is half noted on disk."""
        ...

    def draft(self, name: str) -> Record | None:
        """Read a draft."""
        ...

    def drop_draft(self, name: str) -> None:
        """Throw a draft away."""
        ...


class Noted:
    """The records of a book but for its tracks, kept up to date.

    Parameters
    ----------
    book : Notebook
        Its own process and others may write into it.

    Attributes
    ----------
    points : int
        How many points of tracks it holds.
    """

    def __init__(self, book: Notebook) -> None:
        self._book = book
        self._read: list[Record] = []
        self._by_seq: dict[int, Record] = {}
        self._settled: Settled | None = None
        self._next = 1
        self.points = 0

    def records(self) -> list[Record]:
        """Give all records but tracks, by ascending number, reading only what is new."""
        for record in self._book.records(self._next):
            self._next = record["seq"] + 1
            if record["kind"] == "track":
                self.points += len(record.get("dt_ms") or ())
            else:
                self._read.append(record)
                self._by_seq[record["seq"]] = record
                self._settled = None
        return self._read

    def settled(self) -> Settled:
        """Say what counts among them now."""
        records = self.records()
        if self._settled is None:
            self._settled = settle(records)
        return self._settled

    def standing(self, wanted: Callable[[Mapping[str, Any]], bool]) -> list[Standing]:
        """Give those that count whose first record is wanted, as `counts.standing` does."""
        settled = self.settled()
        return standing(self._by_seq, settled, wanted)

    def of(self, kind: str, *, within: tuple[str, str] | None = None,
           first_seq: int = 1) -> list[Standing]:
        """Give those of one kind that count.

        Parameters
        ----------
        kind : str
            One of `fieldapp.record.KINDS`, but `track` and `void`.
        within : tuple of str or None
            Instants as `stamp` writes them, the second one past the last; None for ever.
        first_seq : int
            First number asked for.

        Returns
        -------
        list of Standing
            By number.
        """
        def wanted(record: Mapping[str, Any]) -> bool:
            if record["kind"] != kind or record["seq"] < first_seq:
                return False
            return within is None or bool(within[0] <= record["at"] < within[1])
        return self.standing(wanted)


def record_of(kind: str, *, now: datetime, where: Where | None, person: str,
              **fields: Any) -> Record:
    """Make a record that has no number yet.

    Parameters
    ----------
    kind : str
        One of `fieldapp.record.KINDS`.
    now : datetime
        Aware, by the phone's clock.
    where : Where or None
        The place to be kept with it.
    person : str
        Person code.
    **fields
        The kind's own and the common optional ones; those that are None are left out. A name
        that Python keeps for itself carries an underscore: `for_`, `type_`, `from_`.

    Returns
    -------
    dict
        Without `device` and `seq`.
    """
    record: Record = {"kind": kind, "at": stamp(now), "person": person,
                      "where": None if where is None else where_json(where)}
    record.update({name.removesuffix("_"): value for name, value in fields.items()
                   if value is not None})
    return record
