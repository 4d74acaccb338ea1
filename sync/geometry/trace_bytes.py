"""A trace as bytes, to be remembered: its numbers lie as in memory, its swath as WKB.

Rule 1: read again it is the same to the last bit and in the same order.
Rule 2: it carries its own sum; what is damaged is no trace.
"""

import functools
import hashlib
import itertools
import json
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

import numpy as np

from sync.errors import IntakeError
from sync.geometry.crs import Floats
from sync.geometry.picking import DRIFTS
from sync.geometry.placed import Drift, Moved
from sync.geometry.traces import Told, Trace

_SUM, _LONG, _WORD = 32, 8, 8
#: Numbers of a spell: its span, its seconds, its last place; of a fix: its instant, its place.
_OF_SPELL, _OF_FIX = 6, 4
#: Of a spell: shares, shares moved, drift.
_OfSpell = tuple[Mapping[str, float], Mapping[str, Moved], Drift]
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
        Sum, length of the head, head (JSON), numbers of spells, of fixes, single numbers, rows of
        numbers, swath.
    """
    names: dict[str, int] = {}
    numbers: list[float] = []
    rows: list[Floats] = []
    spells = [_parts_of(told, names, numbers, rows) for told in trace.spells.values()]
    columns = [*((*span, told.seconds, *told.last) for span, told in trace.spells.items()),
               *((at_ms, *place) for at_ms, place in trace.fixes.items())]
    head = json.dumps({
        "names": list(names), "spells": spells, "fixes": len(trace.fixes),
        "numbers": len(numbers), "rows": len(rows),
        "swept": [[day.isoformat(), cell, len(wkb)] for (day, cell), wkb in trace.swept.items()],
    }).encode()
    head += b" " * (-len(head) % _WORD)
    body = b"".join((
        len(head).to_bytes(_LONG, "little"), head,
        *(np.array(each, "<f8").tobytes() for each in (*columns, numbers, *rows)),
        *trace.swept.values()))
    return hashlib.sha256(body).digest() + body


#: Of a spell: the place of the name of the cell that it was surely in; else of shares, of shares
#: moved, and of each kind of arrays the places of the names, with what `_write` says of an array.
_Parts = int | list[list[int]]


def _parts_of(
    told: Told, names: dict[str, int], numbers: list[float], rows: list[Floats]
) -> _Parts:
    surely = _surely_in(told)
    if surely is not None:
        return names.setdefault(surely, len(names))
    numbers += told.shares.values()
    for ways in told.moved.values():
        numbers += ways
    parts = [[names.setdefault(cell, len(names)) for cell in each]
             for each in (told.shares, told.moved)]
    for arrays in _arrays_of(told.drift):
        parts.append([])
        for cell, array in arrays.items():
            parts[-1] += [names.setdefault(cell, len(names)), _write(array, numbers, rows)]
    return parts


def _surely_in(told: Told) -> str | None:
    """Give the cell that a spell was in whatever the error of its track; None if in doubt."""
    drift = told.drift
    if len(drift.cells) != 1 or drift.closed or drift.held:
        return None
    (cell, parts), = drift.cells.items()
    shares, ways, whole = _whole_in(cell)
    same = (told.shares, told.moved) == (shares, ways) and all(
        _bits(mine) == _bits(other) for mine, other in (
            (parts, whole.cells[cell]), (drift.outside, whole.outside)))
    return cell if same else None


def _bits(array: Floats) -> bytes:
    """Give numbers as they lie in memory, where -0 is another number."""
    return np.asarray(array, "<f8").tobytes()


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
    names, counts = said["names"], (
        _OF_SPELL * len(said["spells"]), _OF_FIX * said["fixes"], said["numbers"],
        DRIFTS * said["rows"])
    # A copy: the arrays that stay must not hold on to the swath, which is copied too.
    values = np.frombuffer(body, "<f8", sum(counts), begins).copy()
    values.setflags(write=False)
    ends = [0, *itertools.accumulate(counts)]
    of_spells, of_fixes, numbers, rows = (
        values[first:end] for first, end in itertools.pairwise(ends))
    arrays = _Arrays(names, iter(numbers.tolist()), iter(rows.reshape(-1, DRIFTS)))
    spells = {}
    for (since, until, seconds, e, n, sigma_m), parts in zip(
            of_spells.reshape(-1, _OF_SPELL).tolist(), said["spells"], strict=True):
        shares, moved, drift = (
            _whole_in(names[parts]) if isinstance(parts, int) else arrays.told(*parts))
        spells[since, until] = Told(seconds, (e, n, sigma_m), shares, moved, drift)
    fixes = {at_ms: (e, n, sigma_m)
             for at_ms, e, n, sigma_m in of_fixes.reshape(-1, _OF_FIX).tolist()}
    swept, begins = {}, begins + values.nbytes
    for day, cell, length in said["swept"]:
        swept[date.fromisoformat(day), cell] = bytes(body[begins:begins + length])
        begins += length
    return Trace(spells, fixes, swept)


@functools.lru_cache(maxsize=1024)
def _whole_in(cell: str) -> _OfSpell:
    """Give what is told of a spell that was surely in a cell; all walks share it."""
    return {cell: 1.0}, {cell: (1.0, 1.0, 1.0, 1.0)}, Drift({cell: _even(1.0)}, {}, _even(0.0))


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

    def told(
        self, shares: Sequence[int], moved: Sequence[int], cells: Sequence[int],
        closed: Sequence[int], held: Sequence[int], outside: Sequence[int],
    ) -> _OfSpell:
        """Read what is told of a spell."""
        names, take = self._names, self._numbers.__next__
        shared = {names[cell]: take() for cell in shares}
        ways = {names[cell]: (take(), take(), take(), take()) for cell in moved}
        here, of_closed, of_held = self._read(cells), self._read(closed), self._read(held)
        return shared, ways, Drift(here, of_closed, self._read(outside)[""], of_held)

    def _read(self, said: Sequence[int]) -> dict[str, Floats]:
        """Read arrays: of each the place of its cell, and whether it is a row."""
        found = {}
        for place in range(0, len(said), 2):
            found[self._names[said[place]]] = (
                next(self._rows) if said[place + 1] else _even(next(self._numbers)))
        return found
