"""A trace as bytes, to be remembered: its numbers lie as in memory, its swath as WKB.

Rule 1: read again it is the same to the last bit and in the same order.
Rule 2: it carries its own sum; what is damaged is no trace.
"""

import itertools
from datetime import date

import numpy as np

from sync.errors import IntakeError
from sync.geometry.picking import DRIFTS
from sync.geometry.told_bytes import ToldReader, ToldWriter
from sync.geometry.traces import Told, Trace
from sync.intake.memo_bytes import joined, parted, sound, summed

#: Numbers of a spell: its span, its seconds, its last place; of a fix: its instant, its place.
_OF_SPELL, _OF_FIX = 6, 4
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
    told = ToldWriter()
    spells = [told.parts(each) for each in trace.spells.values()]
    columns = [*((*span, each.seconds, *each.last) for span, each in trace.spells.items()),
               *((at_ms, *place) for at_ms, place in trace.fixes.items())]
    return summed(joined({
        "names": list(told.names), "spells": spells, "fixes": len(trace.fixes),
        "numbers": len(told.numbers), "rows": len(told.rows),
        "swept": [[day.isoformat(), cell, len(wkb)] for (day, cell), wkb in trace.swept.items()],
    }, (*columns, told.numbers, *told.rows), trace.swept.values()))


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
    body = sound(known, "a remembered trace")
    try:
        return _read(body)
    except _DAMAGE as wrong:
        raise IntakeError(f"a remembered trace is damaged: {wrong!r}") from wrong


def _read(body: memoryview) -> Trace:
    said, body = parted(body)
    names, counts = said["names"], (
        _OF_SPELL * len(said["spells"]), _OF_FIX * said["fixes"], said["numbers"],
        DRIFTS * said["rows"])
    # A copy: the arrays that stay must not hold on to the swath, which is copied too.
    values = np.frombuffer(body, "<f8", sum(counts)).copy()
    values.setflags(write=False)
    ends = [0, *itertools.accumulate(counts)]
    of_spells, of_fixes, numbers, rows = (
        values[first:end] for first, end in itertools.pairwise(ends))
    told = ToldReader(names, numbers, rows.reshape(-1, DRIFTS))
    spells = {}
    for (since, until, seconds, e, n, sigma_m), parts in zip(
            of_spells.reshape(-1, _OF_SPELL).tolist(), said["spells"], strict=True):
        shares, moved, drift = told.told(parts)
        spells[since, until] = Told(seconds, (e, n, sigma_m), shares, moved, drift)
    fixes = {at_ms: (e, n, sigma_m)
             for at_ms, e, n, sigma_m in of_fixes.reshape(-1, _OF_FIX).tolist()}
    swept, begins = {}, values.nbytes
    for day, cell, length in said["swept"]:
        swept[date.fromisoformat(day), cell] = bytes(body[begins:begins + length])
        begins += length
    return Trace(spells, fixes, swept)
