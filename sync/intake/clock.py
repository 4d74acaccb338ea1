"""Dates mended by satellite time: what a phone's wrong clock wrote is put right, and said so.

Rule 1: only phones have clocks that can be wrong; the shed, forms and receivers are believed.
Rule 2: a record without a satellite time of its own takes that of the nearest number.
Rule 3: within `clock_off_s` the phone's own time stands.
Rule 4: no clock, however wrong, costs a record or stops the others.
"""

import bisect
import contextlib
import dataclasses
import re
from collections.abc import Collection, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from fieldapp.record import RecordError, Where, instant

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
#: Before this no phone of this program existed; a clock that says so is wrong.
EARLIEST = datetime(2020, 1, 1, tzinfo=UTC)
#: So near the ends of the calendar an instant has no local day in some zones.
_CALENDAR = (datetime(1, 1, 3, tzinfo=UTC), datetime(9999, 12, 29, tzinfo=UTC))
_NUMBERS = (float, int)
_PHONE = re.compile(r"[a-z][a-z0-9]{0,7}-[a-z2-7]{4}")


class Timed(NamedTuple):
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


@dataclasses.dataclass(frozen=True, eq=False)
class Beside:
    """What records of a device say that are not read in full; none of their times is mended.

    Attributes
    ----------
    numbers : array of int64, shape (n,)
        Ascending.
    at_ms : array of int64, shape (n,)
        Their time. [ms since 1970]
    with_lag : array of int64, shape (m,)
        Those of them that say how far the clock was off.
    lag_s : array of float64, shape (m,)
        How far. [s]
    """

    numbers: Ints
    at_ms: Ints
    with_lag: Ints
    lag_s: Floats


def is_phone(device: str) -> bool:
    """Say whether a device is a phone (not the shed, a form or a receiver's file)."""
    return _PHONE.fullmatch(device) is not None and not device.startswith(("form-", "gpx-"))


def mended_times(
    own: Mapping[int, datetime], lags: Mapping[int, float], *, phone: bool, clock_off_s: float,
    beside: Beside | None = None,
) -> dict[int, Timed]:
    """Mend the times of one device's records.

    Parameters
    ----------
    own : mapping of int to datetime
        The times that its records say, by number, UTC.
    lags : mapping of int to float
        How far its clock was off by those records that say so, by number. [s]
    phone : bool
        False leaves every time as it is.
    clock_off_s : float
        The most by which phone and satellite time may differ. [s]
    beside : Beside, optional
        What other records of the device say, whose own time needs no mending.

    Returns
    -------
    dict of int to Timed
        By number.
    """
    if not phone:
        return {seq: Timed(at, None) for seq, at in own.items()}
    timed: dict[int, Timed] = {}
    for (seq, at), lag in zip(own.items(), _near_lags(own, lags, beside), strict=True):
        mended = _earlier(at, lag) if abs(lag) > clock_off_s else None
        timed[seq] = Timed(at, None) if mended is None else Timed(mended, lag)
    return _dated_by_neighbours(timed, own, beside)


def _near_lags(
    own: Collection[int], lags: Mapping[int, float], beside: Beside | None
) -> list[float]:
    """Give of each number the clock error that the nearest one says, 0 where none does. [s]."""
    numbers = np.fromiter(lags, np.int64, len(lags))
    known = np.fromiter(lags.values(), np.float64, len(lags))
    if beside is not None:
        numbers, known = np.append(numbers, beside.with_lag), np.append(known, beside.lag_s)
    order = np.argsort(numbers, kind="stable")
    seqs = np.fromiter(own, np.int64, len(own))
    found: list[float] = nearest_lags(seqs, numbers[order], known[order]).tolist()
    return found


def nearest_lags(seqs: Ints, numbers: Ints, lags: Floats) -> Floats:
    """Give the clock errors of the nearest numbers; of two as near, the lower's; 0 without any.

    Parameters
    ----------
    seqs : array of int64, shape (n,)
        Numbers asked about.
    numbers : array of int64, shape (m,)
        Numbers that say how far the clock was off, ascending.
    lags : array of float64, shape (m,)
        How far. [s]

    Returns
    -------
    array of float64, shape (n,)
        [s]
    """
    if not len(numbers):
        return np.zeros(len(seqs))
    after = np.minimum(np.searchsorted(numbers, seqs), len(numbers) - 1)
    before = np.maximum(after - 1, 0)
    lower = np.abs(numbers[before] - seqs) <= np.abs(numbers[after] - seqs)
    found: Floats = lags[np.where(lower, before, after)]
    return found


def own_time(record: Mapping[str, Any]) -> datetime | None:
    """Read when a record says it was made, UTC.

    At the ends of the calendar it is what every zone has a day for. A record of an unknown kind
    may have no time that can be read.
    """
    try:
        at = instant(record["at"])
    except (KeyError, RecordError):
        return None
    return at if _CALENDAR[0] <= at <= _CALENDAR[1] else min(max(at, _CALENDAR[0]), _CALENDAR[1])


def _earlier(at: datetime, seconds: float) -> datetime | None:
    """Go back in time; None where that leads out of the calendar."""
    try:
        moved = at - timedelta(seconds=seconds)
    except OverflowError:
        return None
    return moved if _CALENDAR[0] <= moved <= _CALENDAR[1] else None


def _dated_by_neighbours(
    timed: Mapping[int, Timed], own: Mapping[int, datetime], beside: Beside | None
) -> dict[int, Timed]:
    """Give a record whose time is before any phone the time of the nearest number."""
    mended = dict(timed)
    if all(t.at >= EARLIEST for t in timed.values()):
        return mended
    sound_at = {seq: t.at for seq, t in timed.items() if t.at >= EARLIEST}
    if beside is not None:
        sound_at.update({int(seq): _EPOCH + timedelta(milliseconds=int(at_ms))
                         for seq, at_ms in zip(beside.numbers, beside.at_ms, strict=True)})
    sound = sorted(sound_at)
    for seq, t in timed.items():
        near = _nearest(sound, seq)
        if t.at < EARLIEST and near is not None:
            there = sound_at[near]
            mended[seq] = Timed(there, (own[seq] - there).total_seconds())
    return mended


def lag_of(record: Mapping[str, Any], where: Where | None) -> float | None:
    """Read how far a phone's clock was off by what a record and its place say; else None. [s]."""
    lag = record.get("lag_s") if record.get("kind") == "track" else None
    if isinstance(lag, int | float) and not isinstance(lag, bool):
        with contextlib.suppress(OverflowError):  # a line that waits may say any number
            return float(lag)
    return where.lag_s if where is not None else None


def may_be_off(record: Mapping[str, Any], most_s: float) -> bool:
    """Say whether a record may say that its clock was off by more than so much; at a glance. [s].

    Whatever `lag_of` gives of the record and its place is at most that where this says no.
    """
    where = record.get("where")
    for said in (record.get("lag_s"), where.get("lag_s") if isinstance(where, dict) else None):
        if said is not None and not (type(said) in _NUMBERS and -most_s <= said <= most_s):
            return True
    return False


def _nearest(numbers: Sequence[int], seq: int) -> int | None:
    """Give the number nearest to `seq`; of two as near, the lower."""
    place = bisect.bisect_left(numbers, seq)
    around = numbers[max(0, place - 1) : place + 1]
    return min(around, key=lambda n: (abs(n - seq), n), default=None)
