"""Heads of track records: what a register asks of a track that it need not read.

A season has a hundred thousand track records and more. Their bodies are read only for walks that
were not worked out before.
Rule 1: only plain tracks have heads: with points of one day or thinned to nothing, without a
place, a mend or a wrong clock of their own. All others are records like any.
Rule 2: a head says nothing that is not in its record; it may be thrown away at any time.
Rule 3: a track that anything else names, or of whose name there is another, is read in full.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import numpy.typing as npt

from fieldapp.record import RecordError, instant
from sync.intake.check import Aside, Held
from sync.intake.clock import EARLIEST, Beside, is_phone, may_be_off, nearest_lags
from sync.intake.fixes import ms_of, points_of

Heads = npt.NDArray[np.void]
Ints = npt.NDArray[np.int64]
#: Number; the phone's `at`, its earliest and latest fix [ms since 1970, phone's clock]; its clock
#: error [s], NaN where none is said; how many fixes; whose, by place in a list; sum; journal row.
HEAD = np.dtype([
    ("seq", "<i8"), ("at_ms", "<i8"), ("since_ms", "<i8"), ("until_ms", "<i8"), ("lag_s", "<f8"),
    ("points", "<i4"), ("person", "<i4"), ("device", "<i4"), ("total", "V32"), ("row", "<i8")])
_DAY_MS = 86_400_000
#: Digits of the longest number of a record.
_LONGEST = 16
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_EARLIEST_MS = round(ms_of(EARLIEST))
#: Far from the calendar's ends, where a mended clock could lead out of it.
_LATEST_MS = round(ms_of(datetime(2200, 1, 1, tzinfo=UTC)))


@dataclasses.dataclass(frozen=True, eq=False)
class Tracks:
    """The plain tracks of a block.

    Attributes
    ----------
    people : tuple of str
        Person codes that the heads count in.
    by_device : mapping of str to array of HEAD
        By number, all different.
    read : callable
        Gives the records that stand in some rows of the journal.
    """

    people: tuple[str, ...] = ()
    by_device: Mapping[str, Heads] = dataclasses.field(default_factory=dict)
    read: Callable[[Sequence[int]], Sequence[Mapping[str, Any]]] = lambda rows: ()

    def of(self, device: str) -> Heads:
        """Give the heads of a device, none where it has none."""
        return self.by_device.get(device, NO_HEADS)

    def find(self, name: str) -> np.void | None:
        """Give the head of a record's name; None where there is no such track."""
        device, _, number = name.rpartition(":")
        mine = self.of(device)
        if not len(mine):
            return None
        seq = int(number)
        place = int(np.searchsorted(mine["seq"], seq))
        return mine[place] if place < len(mine) and mine["seq"][place] == seq else None

    def at(self, head: np.void) -> datetime:
        """Give the instant of a head, UTC."""
        return _EPOCH + timedelta(milliseconds=int(head["at_ms"]))


NO_HEADS = np.empty(0, HEAD)
NO_TRACKS = Tracks()


def head_of(record: Mapping[str, Any]) -> tuple[int, int, int, int, float, int] | None:
    """Give what a plain track's head says, but for device, person, sum and row.

    Parameters
    ----------
    record : mapping
        A sound record.

    Returns
    -------
    tuple or None
        The first six fields of `HEAD`; None of any other record.
    """
    if record.get("kind") != "track" or record.get("instead_of") is not None:
        return None
    lag_s, thinned = record.get("lag_s"), record.get("thinned")
    if record.get("where") is not None or isinstance(lag_s, bool):
        return None
    if thinned is not None and (thinned.get("walk") is not None or record.get("dt_ms")):
        return None
    try:
        at_ms = round(ms_of(instant(record["at"])))
        at = np.empty(0, np.int64) if thinned is not None else points_of(record, None).at_ms
    except (KeyError, RecordError):
        return None
    since_ms, until_ms = (int(at.min()), int(at.max())) if len(at) else (at_ms, at_ms)
    inside = all(_EARLIEST_MS <= one <= _LATEST_MS for one in (at_ms, since_ms, until_ms))
    if not inside or until_ms - since_ms > _DAY_MS:
        return None
    lag = float("nan") if lag_s is None else float(lag_s)
    return int(record["seq"]), at_ms, since_ms, until_ms, lag, len(at)


def numbers_named(others: Iterable[Held]) -> dict[str, frozenset[int]]:
    """Say which numbers some records bear or name, by device.

    Parameters
    ----------
    others : iterable of Held
        Records that are no plain tracks.

    Returns
    -------
    dict of str to frozenset of int
        Their own and those in `of` and `instead_of`, of whatever device.
    """
    named: dict[str, set[int]] = defaultdict(set)
    for one in others:
        named[one.device].add(one.seq)
        for field in ("of", "instead_of"):
            if field in one.record:
                _note(named, one.record[field])
    return {device: frozenset(numbers) for device, numbers in named.items()}


def numbers_waiting(aside: Iterable[Aside]) -> dict[str, frozenset[int]]:
    """Say which numbers lines that wait bear, by device."""
    named: dict[str, set[int]] = defaultdict(set)
    for line in aside:
        _note(named, line.name)
    return {device: frozenset(numbers) for device, numbers in named.items()}


def to_read(
    device: str, heads: Heads, others: Sequence[Held], named: Iterable[Collection[int]], *,
    clock_off_s: float,
) -> Ints:
    """Say which plain tracks of a device must be read in full after all.

    Parameters
    ----------
    device : str
        Whose.
    heads : Heads
        Of its plain tracks, by number; numbers may stand twice.
    others : sequence of Held
        All other records of it.
    named : iterable of collection of int
        Its numbers that its own or other records and lines bear or name.
    clock_off_s : float
        The most by which phone and satellite time may differ. [s]

    Returns
    -------
    array of int64
        Numbers: those that are named, those that are there twice, and those whose time may be
        mended.
    """
    names = np.concatenate([_NO_NUMBERS, *(np.fromiter(one, np.int64) for one in named)])
    return np.unique(heads["seq"][
        _doubled(heads["seq"]) | np.isin(heads["seq"], names)
        | _mended(device, heads, others, clock_off_s)])


def _doubled(seq: Ints) -> npt.NDArray[np.bool_]:
    same = np.concatenate([[False], seq[1:] == seq[:-1], [False]])
    doubled: npt.NDArray[np.bool_] = same[1:] | same[:-1]
    return doubled[:len(seq)]


def _mended(
    device: str, heads: Heads, others: Sequence[Held], clock_off_s: float
) -> npt.NDArray[np.bool_]:
    """Say of which heads the time may be mended: the nearest number's clock is too far off.

    Of a number with two contents it is not known here which counts: who goes by it is read.
    """
    if not is_phone(device):
        return np.zeros(len(heads), np.bool_)
    every = np.sort(np.append(heads["seq"], np.array([one.seq for one in others], np.int64)))
    twice = every[_doubled(every)]
    said = ~np.isnan(heads["lag_s"])
    if not (len(twice) or (np.abs(heads["lag_s"][said]) > clock_off_s).any()
            or any(may_be_off(one.record, clock_off_s) for one in others)):
        return np.zeros(len(heads), np.bool_)
    lags = [(one.seq, one.said.lag_s) for one in others if one.said.lag_s is not None]
    numbers = np.append(heads["seq"][said], np.array([seq for seq, _ in lags], np.int64))
    known = np.append(heads["lag_s"][said], np.array([lag_s for _, lag_s in lags], np.float64))
    known[np.isin(numbers, twice)] = np.inf
    order = np.argsort(numbers, kind="stable")
    off: npt.NDArray[np.bool_] = (
        np.abs(nearest_lags(heads["seq"], numbers[order], known[order])) > clock_off_s)
    return off


def beside_of(heads: Heads) -> Beside:
    """Give what the heads of a device tell of when its other records were made."""
    said = ~np.isnan(heads["lag_s"])
    return Beside(heads["seq"], heads["at_ms"], heads["seq"][said], heads["lag_s"][said])


def without(heads: Heads, read: Ints) -> Heads:
    """Leave out the heads of tracks that are read in full."""
    return heads[~np.isin(heads["seq"], read)] if len(read) else heads


_NO_NUMBERS = np.empty(0, np.int64)


def _note(named: dict[str, set[int]], name: object) -> None:
    """Note a name that a record says; what is no name names nothing."""
    if not isinstance(name, str):
        return
    device, _, number = name.rpartition(":")
    if number.isascii() and number.isdigit() and len(number) <= _LONGEST:
        named[device].add(int(number))
