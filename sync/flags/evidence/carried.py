"""Which ground sheet was on the phone of each outing behind a flag, and how old it was.

Rule 1: an outing's sheet is the one its START names, or a later RESUME of the same outing; what a
phone took in between without saying so is not known.
Rule 2: the age is told for the day of the outing, from the time that the phone's clock, mended,
shows.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta

from fieldapp.record import RecordError, instant
from sync.flags.evidence.presses import Press
from sync.intake.clock import is_phone
from sync.intake.merge import Counted

_BEGINS = frozenset({"start", "resume"})


@dataclasses.dataclass(frozen=True)
class Carried:
    """One outing of one phone and the sheet it was on.

    Attributes
    ----------
    record : str
        Name of its START.
    person, role : str
        Who carried it, by person code, and as what.
    began, ended : datetime, datetime or None
        UTC; None where no END is known.
    sheet_id : str or None
        None where the phone had no sheet.
    made_at, good_until : datetime or None
        Of the sheet, UTC.
    days_old : int or None
        Whole days from its making to the start.
    bags : float
        Of the flag, tallied in it.
    presses : tuple of Press
        Those bags.
    """

    device: str
    record: str
    person: str
    role: str
    day: date
    began: datetime
    ended: datetime | None
    sheet_id: str | None
    made_at: datetime | None
    good_until: datetime | None
    days_old: int | None
    bags: float
    presses: tuple[Press, ...]

    @property
    def is_stale(self) -> bool:
        """Whether it had no sheet, or one past its last good moment at the start."""
        return self.good_until is None or self.began > self.good_until


def carried_in(
    counted: Iterable[Counted], presses: Sequence[Press], starts: Iterable[str], *,
    sheet_days: int,
) -> tuple[Carried, ...]:
    """Give the outings that some bags were tallied in, or that some STARTs began.

    Parameters
    ----------
    counted : iterable of Counted
        All records that count.
    presses : sequence of Press
        Bags of a flag.
    starts : iterable of str
        Names of STARTs asked about besides.
    sheet_days : int
        How long a sheet is good. [days]

    Returns
    -------
    tuple of Carried
        By start, then phone; bags that a phone tallied in no outing are in none.
    """
    steps: dict[str, list[Counted]] = defaultdict(list)
    for one in counted:
        if one.kind == "outing" and is_phone(one.device):
            steps[one.device].append(one)
    asked = set(starts)
    mine: dict[str, list[Press]] = defaultdict(list)
    whole: dict[str, tuple[Counted, ...]] = {}
    for device, each in steps.items():
        outings = _outings(sorted(each, key=lambda one: one.seq))
        for outing in outings:
            if outing[0].name in asked:
                whole[outing[0].name] = outing
        for press in presses:
            if press.placed.bag.device == device:
                outing = _at(outings, press.placed.bag.seq)
                if outing:
                    whole[outing[0].name] = outing
                    mine[outing[0].name].append(press)
    found = [_carried(outing, mine[name], sheet_days) for name, outing in whole.items()]
    return tuple(sorted(found, key=lambda one: (one.began, one.device)))


def _outings(steps: Sequence[Counted]) -> list[tuple[Counted, ...]]:
    """Part a phone's presses into outings; a START ends the one before."""
    found: list[list[Counted]] = []
    for one in steps:
        if one.record["state"] == "start":
            found.append([one])
        elif found and found[-1][-1].record["state"] != "end":
            found[-1].append(one)
    return [tuple(each) for each in found]


def _at(outings: Sequence[tuple[Counted, ...]], seq: int) -> tuple[Counted, ...]:
    """Give the outing that a number falls into; none for one after an END."""
    before = [one for one in outings if one[0].seq < seq]
    if not before:
        return ()
    last = before[-1][-1]
    return () if last.record["state"] == "end" and last.seq < seq else before[-1]


def _carried(
    outing: Sequence[Counted], presses: Sequence[Press], sheet_days: int
) -> Carried:
    first, last = outing[0], outing[-1]
    sheet = _sheet(outing)
    made_at = None if sheet is None else _made_at(sheet)
    return Carried(
        device=first.device, record=first.name, person=first.person,
        role=str(first.record.get("role") or ""), day=first.day, began=first.at,
        ended=last.at if last.record["state"] == "end" else None,
        sheet_id=None if sheet is None else str(sheet.get("id")), made_at=made_at,
        good_until=_good_until(made_at, sheet_days),
        days_old=None if made_at is None else max(0, (first.at - made_at).days),
        bags=sum(one.placed.bag.bags for one in presses), presses=tuple(presses),
    )


def _sheet(outing: Sequence[Counted]) -> Mapping[str, object] | None:
    said = [one.record.get("sheet") for one in outing if one.record["state"] in _BEGINS]
    known = [one for one in said if one]
    return known[-1] if known else None


def _made_at(sheet: Mapping[str, object]) -> datetime | None:
    try:
        return instant(str(sheet.get("made_at")))
    except RecordError:
        return None


def _good_until(made_at: datetime | None, sheet_days: int) -> datetime | None:
    if made_at is None:
        return None
    try:
        return made_at + timedelta(days=sheet_days)
    except OverflowError:  # a sheet dated at the calendar's end
        return made_at
