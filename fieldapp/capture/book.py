"""The notebook that all capture objects write into, and what has been read of it so far.

Rule 1: a press has happened when `append` has returned, never before; if it raises, nothing has
changed and the same press may be tried again.
Rule 2: what is shown is computed from the book, so that a killed app and a second process see the
same.
Rule 3: each record is read once, and settles what it touches and no more.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime, tzinfo
from itertools import accumulate
from typing import Any, Protocol

from fieldapp.capture.counts import Settled, Standing
from fieldapp.capture.settling import Settling
from fieldapp.capture.shelf import Shelf
from fieldapp.record import Where, instant, stamp, where_json

Record = dict[str, Any]
#: Points of tracks are counted by quarters of an hour: every zone's midnight falls between two.
_SLOT_S = 900
_MS_A_S = 1000


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
        self._settling = Settling()
        self._shelf = Shelf()
        self._next = 1
        self._points: Counter[int] = Counter()
        self.points = 0

    def records(self) -> list[Record]:
        """Give all records but tracks, by ascending number, reading only what is new."""
        for record in self._book.records(self._next):
            self._next = record["seq"] + 1
            if record["kind"] == "track":
                self._count_points(record)
            else:
                self._read.append(record)
                for first in self._settling.add(record):
                    self._shelf.put(first, self._settling.standing(first))
        return self._read

    def _count_points(self, track: Record) -> None:
        if track.get("t0") is None:  # the phone has let go of its points
            return
        began_s = instant(track["t0"]).timestamp()
        for after_ms in accumulate(track.get("dt_ms") or ()):
            self._points[int((began_s + after_ms / _MS_A_S) // _SLOT_S)] += 1
            self.points += 1

    def points_by_day(self, zone: tzinfo) -> dict[date, int]:
        """Give how many points of tracks it holds of each local day that has any."""
        self.records()
        days: Counter[date] = Counter()
        for slot, points in self._points.items():
            days[datetime.fromtimestamp(slot * _SLOT_S, zone).date()] += points
        return dict(days)

    def settled(self) -> Settled:
        """Say what counts among them now."""
        self.records()
        return self._settling.settled()

    def counts(self, seq: int) -> bool:
        """Say whether a record that `records` gave counts, as of then."""
        return self._settling.counts(seq)

    def first_record(self, seq: int) -> Mapping[str, Any]:
        """Give what a record that `records` gave stands in for in the end; itself if nothing."""
        return self._settling.record(self._settling.first_of(seq))

    def is_mended(self, seq: int) -> bool:
        """Say whether a later record counts in the place of one that `records` gave."""
        return self._settling.is_mended(seq)

    def standing(self, wanted: Callable[[Mapping[str, Any]], bool]) -> list[Standing]:
        """Give those that count whose first record is wanted, as `counts.standing` does."""
        self.records()
        found = [one for one in self._shelf.all() if wanted(self._settling.record(one.first))]
        return sorted(found, key=lambda one: one.first)

    def changes(self, *kinds: str) -> tuple[int, ...]:
        """Count the changes so far among what counts of each kind, to tell when to look again."""
        self.records()
        return tuple(self._shelf.changes(kind) for kind in kinds)

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
        self.records()
        since, until = (None, None) if within is None else (instant(one) for one in within)
        return self._shelf.of(kind, since=since, until=until, first_seq=first_seq)

    def bags_on(self, pile: str, *, within: tuple[str, str]) -> float:
        """Give the bags on the pile of a label, first noted within two instants. [bags]."""
        self.records()
        since, until = (instant(one) for one in within)
        return self._shelf.bags_on(pile, since=since, until=until)


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
