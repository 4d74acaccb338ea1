"""The history: all that the phone holds on an outing, for the person to see and mend.

Rule 1: nothing is hidden: what was undone or mended stays in sight, marked as such.
Rule 2: of a track it says how many points are kept, and never a pace or a pause.
"""

import dataclasses
from collections.abc import Mapping
from typing import Any, Literal

from fieldapp.capture.counts import Settled
from fieldapp.capture.outing import Outing

Standing = Literal["stands", "undone", "mended"]


@dataclasses.dataclass(frozen=True)
class Line:
    """One line of the history.

    Attributes
    ----------
    record : mapping
        As written.
    standing : str
        stands, undone (a void names it) or mended (another stands in for it).
    mends : int or None
        Number of the first record that it stands in for.
    """

    record: Mapping[str, Any]
    standing: Standing
    mends: int | None


def history(outing: Outing) -> tuple[Line, ...]:
    """Give the lines of the last outing.

    Parameters
    ----------
    outing : Outing
        Open or over.

    Returns
    -------
    tuple of Line
        The newest first; voids show by what they name, tracks by `points_kept`.
    """
    settled = outing.noted.settled()
    return tuple(_line(record, settled) for record in reversed(outing.noted.records())
                 if record["seq"] >= outing.first_seq and record["kind"] != "void")


def points_kept(outing: Outing) -> int:
    """Give how many points of tracks the phone holds."""
    outing.noted.records()
    return outing.noted.points


def _line(record: Mapping[str, Any], settled: Settled) -> Line:
    seq = record["seq"]
    first = settled.first_of(seq)
    mends = None if first == seq else first
    if seq in settled.counts:
        return Line(record, "stands", mends)
    return Line(record, "mended" if seq in settled.stands_for.values() else "undone", mends)
