"""A trace as bytes, to be remembered: its numbers lie as in memory, its swath as WKB.

Rule 1: read again it is the same to the last bit and in the same order.
Rule 2: it carries its own sum; what is damaged is no trace.
"""

import functools
import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from itertools import islice
from typing import Any

import numpy as np

from sync.errors import IntakeError
from sync.geometry.crs import Floats
from sync.geometry.picking import DRIFTS
from sync.geometry.placed import Drift
from sync.geometry.traces import Told, Trace

_SUM, _LONG, _WORD = 32, 8, 8
_DAMAGE = (KeyError, TypeError, ValueError, IndexError, StopIteration, OverflowError)


def to_bytes(trace: Trace) -> bytes:
    """Write a trace.

    Parameters
    ----------
    trace : Trace
        Any.

    Returns
    -------
    bytes
        Sum, length of the head, head (JSON), single numbers, rows of numbers, swath.
    """
    names: dict[str, int] = {}
    numbers: list[float] = []
    rows: list[Floats] = []
    spells = []
    for span, told in trace.spells.items():
        numbers += [*span, told.seconds, *told.last, *told.shares.values()]
        for ways in told.moved.values():
            numbers += ways
        parts = [[names.setdefault(cell, len(names)) for cell in each]
                 for each in (told.shares, told.moved)]
        for arrays in _arrays_of(told.drift):
            parts.append([])
            for cell, array in arrays.items():
                parts[-1] += [names.setdefault(cell, len(names)), _write(array, numbers, rows)]
        spells.append(parts)
    for at_ms, place in trace.fixes.items():
        numbers += [at_ms, *place]
    head = json.dumps({
        "names": list(names), "spells": spells, "fixes": len(trace.fixes),
        "numbers": len(numbers), "rows": len(rows),
        "swept": [[day.isoformat(), cell, len(wkb)] for (day, cell), wkb in trace.swept.items()],
    }).encode()
    head += b" " * (-len(head) % _WORD)
    body = b"".join((
        len(head).to_bytes(_LONG, "little"), head, np.array(numbers, "<f8").tobytes(),
        *(np.asarray(row, "<f8").tobytes() for row in rows), *trace.swept.values()))
    return hashlib.sha256(body).digest() + body


def _arrays_of(drift: Drift) -> tuple[Mapping[str, Floats], ...]:
    return drift.cells, drift.closed, drift.held, {"": drift.outside}


def _write(array: Floats, numbers: list[float], rows: list[Floats]) -> int:
    """Write a row, 1; or one number for all where all are the same, 0."""
    if (array == array[0]).all() and not np.signbit(array).any():  # −0 is another number
        numbers.append(float(array[0]))
        return 0
    rows.append(array)
    return 1


def from_bytes(known: bytes) -> Trace:
    """Read a trace that was written.

    Parameters
    ----------
    known : bytes
        As `to_bytes` gave it.

    Returns
    -------
    Trace
        The same to the last bit; its arrays cannot be written to.

    Raises
    ------
    IntakeError
        If it is damaged.
    """
    body = memoryview(known)[_SUM:]
    if hashlib.sha256(body).digest() != known[:_SUM]:
        raise IntakeError("a remembered trace is damaged: its sum is another")
    try:
        return _read(body)
    except _DAMAGE as wrong:
        raise IntakeError(f"a remembered trace is damaged: {wrong!r}") from wrong


def _read(body: memoryview) -> Trace:
    begins = _LONG + int.from_bytes(body[:_LONG], "little")
    said: dict[str, Any] = json.loads(bytes(body[_LONG:begins]))
    values = np.frombuffer(body, "<f8", said["numbers"] + DRIFTS * said["rows"], begins)
    numbers = iter(values[:said["numbers"]].tolist())
    arrays = _Arrays(said["names"], numbers, iter(values[said["numbers"]:].reshape(-1, DRIFTS)))
    names, take = said["names"], numbers.__next__
    spells = {}
    for shares, moved, cells, closed, held, outside in said["spells"]:
        since, until, seconds, e, n, sigma_m = islice(numbers, 6)
        shared = {names[cell]: take() for cell in shares}
        ways = {names[cell]: (take(), take(), take(), take()) for cell in moved}
        parts = arrays.read(cells), arrays.read(closed), arrays.read(held)
        drift = Drift(parts[0], parts[1], arrays.read(outside)[""], parts[2])
        spells[since, until] = Told(seconds, (e, n, sigma_m), shared, ways, drift)
    fixes = {take(): (take(), take(), take()) for _ in range(said["fixes"])}
    swept, begins = {}, begins + values.nbytes
    for day, cell, length in said["swept"]:
        swept[date.fromisoformat(day), cell] = bytes(body[begins:begins + length])
        begins += length
    return Trace(spells, fixes, swept)


@functools.lru_cache(maxsize=256)
def _even(value: float) -> Floats:
    """Give one number for all; most are nought or one, and all walks share these."""
    even = np.full(DRIFTS, value)
    even.setflags(write=False)
    return even


class _Arrays:
    """Reads arrays by cell, one after the other."""

    def __init__(
        self, names: Sequence[str], numbers: Iterator[float], rows: Iterator[Floats]
    ) -> None:
        self._names, self._numbers, self._rows = names, numbers, rows

    def read(self, said: Sequence[int]) -> dict[str, Floats]:
        """Read arrays: of each the place of its cell, and whether it is a row."""
        found = {}
        for place in range(0, len(said), 2):
            found[self._names[said[place]]] = (
                next(self._rows) if said[place + 1] else _even(next(self._numbers)))
        return found
