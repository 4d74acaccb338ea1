"""What counts, laid out by kind, day and pile, so that a question looks at no more than it must.

Rule 1: an answer is that of going through all of them.
Rule 2: the same question is worked out once until something of its kind changes.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, datetime

from fieldapp.capture.counts import Standing

#: A kind, and a pile or None.
Place = tuple[str, str | None]
Asked = tuple[datetime | None, datetime | None, int]
#: Different questions remembered of one kind; a screen asks a handful.
_REMEMBERED = 50


class Shelf:
    """Things that count, each under the number of its first record."""

    def __init__(self) -> None:
        self._all: dict[int, Standing] = {}
        #: By kind, and by kind and pile; then by the UTC day of the first record.
        self._places: defaultdict[Place, dict[date, dict[int, Standing]]] = defaultdict(dict)
        #: Bags on a pile of a whole UTC day, reckoned anew after a change of that day.
        self._bags: dict[tuple[str, date], float] = {}
        self._answers: defaultdict[str, dict[Asked, list[Standing]]] = defaultdict(dict)
        self._changes: Counter[str] = Counter()

    def put(self, first: int, one: Standing | None) -> None:
        """Put a thing in the place of what counted for it before; None takes it out."""
        old = self._all.pop(first, None)
        if old is not None:
            self._changed(old)
            for place in _places(old):
                del self._places[place][old.at.date()][first]
        if one is not None:
            self._changed(one)
            self._all[first] = one
            for place in _places(one):
                self._places[place].setdefault(one.at.date(), {})[first] = one

    def all(self) -> Iterable[Standing]:
        """Give all, in no order."""
        return self._all.values()

    def changes(self, kind: str) -> int:
        """Count the changes among things of a kind so far."""
        return self._changes[kind]

    def of(self, kind: str, *, since: datetime | None = None, until: datetime | None = None,
           first_seq: int = 1) -> list[Standing]:
        """Give the things of a kind.

        Parameters
        ----------
        kind : str
            One of `fieldapp.record.KINDS`.
        since, until : datetime or None
            Of the first record, the second one past the last; None for ever.
        first_seq : int
            First number asked for.

        Returns
        -------
        list of Standing
            By the number of the first.
        """
        asked = (since, until, first_seq)
        answers = self._answers[kind]
        if asked not in answers:
            if len(answers) >= _REMEMBERED:
                answers.clear()
            found = [one for one in self._days(kind, since, until) if one.first >= first_seq]
            answers[asked] = sorted(found, key=lambda one: one.first)
        return list(answers[asked])

    def bags_on(self, pile: str, *, since: datetime, until: datetime) -> float:
        """Give the bags first noted on a pile within a time, the second one past the last."""
        total = 0.0
        for day, things in self._places.get(("bag", pile), {}).items():
            if day in (since.date(), until.date()):
                total += _bags_in(one for one in things.values() if since <= one.at < until)
            elif since.date() < day < until.date():
                if (pile, day) not in self._bags:
                    self._bags[pile, day] = _bags_in(things.values())
                total += self._bags[pile, day]
        return total

    def _days(self, kind: str, since: datetime | None,
              until: datetime | None) -> Iterator[Standing]:
        """Give the things of a kind within a time, looking only into days that it touches."""
        for day, things in self._places.get((kind, None), {}).items():
            if (since is None or day >= since.date()) and (until is None or day <= until.date()):
                yield from (one for one in things.values() if (since is None or one.at >= since)
                            and (until is None or one.at < until))

    def _changed(self, one: Standing) -> None:
        self._changes[one.kind] += 1
        self._answers[one.kind].clear()
        self._bags.pop((str(one.record.get("pile")), one.at.date()), None)


def _places(one: Standing) -> tuple[Place, ...]:
    pile = one.record.get("pile")
    return ((one.kind, None),) if pile is None else ((one.kind, None), (one.kind, str(pile)))


def _bags_in(things: Iterable[Standing]) -> float:
    return float(sum(one.record["bags"] for one in things))
