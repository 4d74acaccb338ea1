"""Dates mended by satellite time: what a phone's wrong clock wrote is put right, and said so.

Rule 1: only phones have clocks that can be wrong; the shed, forms and receivers are believed.
Rule 2: a record without a satellite time of its own takes that of the nearest number.
Rule 3: within `clock_off_s` the phone's own time stands.
Rule 4: no clock, however wrong, costs a record or stops the others.
"""

import bisect
import dataclasses
import re
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from fieldapp.record import RecordError, instant, where_of

#: Before this no phone of this program existed; a clock that says so is wrong.
EARLIEST = datetime(2020, 1, 1, tzinfo=UTC)
#: So near the ends of the calendar an instant has no local day in some zones.
_CALENDAR = (datetime(1, 1, 3, tzinfo=UTC), datetime(9999, 12, 29, tzinfo=UTC))
_PHONE = re.compile(r"[a-z][a-z0-9]{0,7}-[a-z2-7]{4}")


@dataclasses.dataclass(frozen=True)
class Timed:
    """When a record was made, as mended.

    Attributes
    ----------
    at : datetime
        The instant, UTC.
    lag_s : float or None
        Phone clock less true time, where that was used to mend it. [s]
    """

    at: datetime
    lag_s: float | None


def is_phone(device: str) -> bool:
    """Say whether a device is a phone (not the shed, a form or a receiver's file)."""
    return _PHONE.fullmatch(device) is not None and not device.startswith(("form-", "gpx-"))


def mended_times(
    records: Mapping[int, Mapping[str, Any]], *, phone: bool, clock_off_s: float
) -> dict[int, Timed]:
    """Mend the times of one device's records.

    Parameters
    ----------
    records : mapping of int to mapping
        The device's records by number.
    phone : bool
        False leaves every time as it is.
    clock_off_s : float
        The most by which phone and satellite time may differ. [s]

    Returns
    -------
    dict of int to Timed
        By number. A record of an unknown kind may have no time that can be read; it is left out.
    """
    own = {seq: at for seq, record in records.items() if (at := _own_time(record)) is not None}
    if not phone:
        return {seq: Timed(at, None) for seq, at in own.items()}
    lags = {seq: lag for seq, r in records.items() if (lag := _lag_of(r)) is not None}
    with_lag = sorted(lags)
    timed: dict[int, Timed] = {}
    for seq, at in own.items():
        near = _nearest(with_lag, seq)
        lag = lags[near] if near is not None else 0.0
        mended = _earlier(at, lag) if abs(lag) > clock_off_s else None
        timed[seq] = Timed(at, None) if mended is None else Timed(mended, lag)
    return _dated_by_neighbours(timed, own)


def _own_time(record: Mapping[str, Any]) -> datetime | None:
    """Read what the record says; at the ends of the calendar what every zone has a day for."""
    try:
        at = instant(record["at"])
    except (KeyError, RecordError):
        return None
    return min(max(at, _CALENDAR[0]), _CALENDAR[1])


def _earlier(at: datetime, seconds: float) -> datetime | None:
    """Go back in time; None where that leads out of the calendar."""
    try:
        moved = at - timedelta(seconds=seconds)
    except OverflowError:
        return None
    return moved if _CALENDAR[0] <= moved <= _CALENDAR[1] else None


def _dated_by_neighbours(
    timed: Mapping[int, Timed], own: Mapping[int, datetime]
) -> dict[int, Timed]:
    """Give a record whose time is before any phone the time of the nearest number."""
    sound = sorted(seq for seq, t in timed.items() if t.at >= EARLIEST)
    mended = dict(timed)
    for seq, t in timed.items():
        near = _nearest(sound, seq)
        if t.at < EARLIEST and near is not None:
            there = timed[near].at
            mended[seq] = Timed(there, (own[seq] - there).total_seconds())
    return mended


def _lag_of(record: Mapping[str, Any]) -> float | None:
    lag = record.get("lag_s") if record.get("kind") == "track" else None
    if isinstance(lag, int | float) and not isinstance(lag, bool):
        return float(lag)
    where = where_of(record)
    return where.lag_s if where is not None else None


def _nearest(numbers: Sequence[int], seq: int) -> int | None:
    """Give the number nearest to `seq`; of two as near, the lower."""
    place = bisect.bisect_left(numbers, seq)
    around = numbers[max(0, place - 1) : place + 1]
    return min(around, key=lambda n: (abs(n - seq), n), default=None)
