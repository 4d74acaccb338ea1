"""What counts of records that hang together, as bytes, to be remembered: all but the records.

Rule 1: read again beside the same records it is the same to the last bit, and in the same order
but for the times.
Rule 2: it carries its own sum, and that of all it was made of, which names the records in their
order; anything else is nothing.
"""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np

from fieldapp.record import Where, where_of
from sync.errors import IntakeError
from sync.intake.check import Held
from sync.intake.counted import Counted
from sync.intake.memo_bytes import joined, parted, sound, summed
from sync.intake.part import PartMerged, Undone
from sync.intake.parts import Part

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)
#: Numbers of a row: place of its record, instant [µs since 1970], day, and whose.
_OF_ROW = 4
_DAMAGE = (KeyError, TypeError, ValueError, IndexError, OverflowError)


def to_bytes(merged: PartMerged, part: Part) -> bytes | None:
    """Write what counts of a part.

    Parameters
    ----------
    merged : PartMerged
        What counts.
    part : Part
        The records.

    Returns
    -------
    bytes or None
        None where nobody summed up what it is made of, or where records are not found again by
        their names, or do not count as they stand.
    """
    said = [*merged.counted, *(one.said for one in merged.undone)]
    places = {one.name: place for place, one in enumerate(part.held)}
    plain = len(places) == len(part.held) and all(
        part.held[places[one.name]].record is one.record for one in said)
    if merged.total is None or not plain:
        return None
    people: dict[str, int] = {}
    rows = np.array([
        (places[one.name], _us(one.at), one.day.toordinal(),
         people.setdefault(one.person, len(people))) for one in said], dtype="<i8")
    at = {one.name: one.at for one in merged.counted}
    papers = {one.name for one in merged.papers}
    return summed(joined({
        "made_of": merged.total, "people": list(people), "counted": len(merged.counted),
        "first": [(place, one.device, one.seq) for place, one in enumerate(said)
                  if one.name != f"{one.device}:{one.seq}"],
        "lag_s": [(place, one.lag_s) for place, one in enumerate(said) if one.lag_s is not None],
        "where": [(place, one.where) for place, one in enumerate(said)
                  if one.where != where_of(one.record)],
        "papers": [place for place, one in enumerate(merged.counted) if one.name in papers],
        "undone": [(one.how, one.by) for one in merged.undone],
        "others": [(places[name], _us(time)) for name, time in merged.times.items()
                   if at.get(name) != time],
    }, (), (rows.tobytes(),)))


def _us(at: datetime) -> int:
    return (at - _EPOCH) // _MICROSECOND


def from_bytes(known: bytes, total: str, part: Part) -> PartMerged:
    """Read what counts of a part.

    Parameters
    ----------
    known : bytes
        As `to_bytes` gave it.
    total : str
        A sum of all that it must be made of.
    part : Part
        The records.

    Returns
    -------
    PartMerged
        The same.

    Raises
    ------
    IntakeError
        If it is damaged, or made of anything else.
    """
    body = sound(known, "what counts of a device")
    try:
        said, body = parted(body)
        if said["made_of"] != total:
            raise ValueError("it is of other records")
        return _read(said, body, total, part)
    except _DAMAGE as wrong:
        raise IntakeError(f"what counts of a device cannot be read: {wrong!r}") from wrong


def _read(said: dict[str, Any], body: memoryview, total: str, part: Part) -> PartMerged:
    count = said["counted"] + len(said["undone"])
    numbers = np.frombuffer(body, "<i8", _OF_ROW * count)
    days = {day: date.fromordinal(day) for day in set(numbers[2::_OF_ROW].tolist())}
    held, people = part.held, said["people"]
    found = [_counted(held[place], _at(us), days[day], people[person])
             for place, us, day, person in numbers.reshape(-1, _OF_ROW).tolist()]
    for place, device, seq in said["first"]:
        found[place] = found[place]._replace(device=device, seq=seq)
    for place, lag_s in said["lag_s"]:
        found[place] = found[place]._replace(lag_s=lag_s)
    for place, where in said["where"]:
        found[place] = found[place]._replace(where=None if where is None else Where(*where))
    rows = tuple(found)
    counted, undone = rows[:said["counted"]], rows[said["counted"]:]
    times = {one.name: one.at for one in counted}
    times |= {part.held[place].name: _at(us) for place, us in said["others"]}
    return PartMerged(
        counted, tuple(counted[place] for place in said["papers"]),
        tuple(Undone(one, how, by) for one, (how, by) in zip(
            undone, said["undone"], strict=True)),
        times, {}, part.devices, total)


def _at(us: int) -> datetime:
    return _EPOCH + timedelta(0, 0, us)


def _counted(held: Held, at: datetime, day: date, person: str) -> Counted:
    """Give a record as it counts if it stands for itself, at the place that it says."""
    record = held.record
    device, _, seq = held.name.rpartition(":")
    return Counted(
        held.name, record, at, day, person, where_of(record), device, int(seq), None)
