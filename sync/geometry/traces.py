"""What a walk's track tells, once it is worked out: of its spells, its presses and its swath.

Rule 1: this is all that the register takes from a track; the points themselves may be let go of.
Rule 2: written down and read again it is the same to the last bit.
Rule 3: a spell that nobody asked for while the points were there is told by those it overlaps.
"""

import base64
import dataclasses
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple

import numpy as np

from sync.errors import GeometryError, IntakeError
from sync.geometry.crs import Floats
from sync.geometry.grid import cell_index
from sync.geometry.picking import DRIFTS
from sync.geometry.placed import NOT_THERE, Drift, Moved

#: Easting, northing and standard deviation of each coordinate. [m]
OnGround = tuple[float, float, float]
#: A spell: from an instant to another. [ms since 1970]
Span = tuple[float, float]
_DAMAGE = (KeyError, TypeError, ValueError, IndexError, AttributeError, GeometryError)


class Told(NamedTuple):
    """What a track tells of the bags of one spell.

    Attributes
    ----------
    seconds : float
        Picking time. [s]
    last : (float, float, float)
        Where its last picking fix was. [m]
    shares : mapping of str to float
        Part of the time by cell. [-]
    moved : mapping of str to (float, float, float, float)
        `shares` with the track moved one standard deviation east, west, north and south. [-]
    drift : Drift
        Shares for each error that the track may have.
    """

    seconds: float
    last: OnGround
    shares: Mapping[str, float]
    moved: Mapping[str, Moved]
    drift: Drift


@dataclasses.dataclass(frozen=True, eq=False)
class Trace:
    """What one walk's track tells.

    Attributes
    ----------
    spells : mapping of (float, float) to Told
        By span; a span without picking time is not there.
    fixes : mapping of float to (float, float, float)
        Where presses of its own phone were, by instant.
    swept : mapping of (date, str) to shape as WKB
        The open ground of a cell that hands went over on a day. [m]
    """

    spells: Mapping[Span, Told]
    fixes: Mapping[float, OnGround]
    swept: Mapping[tuple[date, str], bytes] = dataclasses.field(default_factory=dict)

    def told(self, span: Span) -> Told | None:
        """Give what is told of a spell; None without picking time."""
        return self.spells.get(span)


@dataclasses.dataclass(frozen=True, eq=False)
class Gone:
    """What was written down of a walk before its points went; `swept_m2` is new ground. [m²]."""

    since_ms: float
    trace: Trace
    swept_m2: Mapping[tuple[date, str], float]


def told_of_parts(spells: Mapping[Span, Told], span: Span) -> Told | None:
    """Tell of a spell by those that were asked for while the points were there.

    Parameters
    ----------
    spells : mapping of (float, float) to Told
        As they are known.
    span : (float, float)
        The spell. [ms since 1970]

    Returns
    -------
    Told or None
        The very one where it is known; else the mean of those it overlaps, by the picking time
        that lies in it, taken as even over each; None where it overlaps none. Derived.
    """
    if span in spells:
        return spells[span]
    parts: list[tuple[float, Told]] = []
    for (since, until), told in sorted(spells.items(), key=lambda item: item[0]):
        shared = min(until, span[1]) - max(since, span[0])
        if shared > 0.0 and until > since:
            parts.append((told.seconds * shared / (until - since), told))
    whole = sum(weight for weight, _ in parts)
    if whole <= 0.0:
        return None
    return _mean([(weight / whole, told) for weight, told in parts], whole)


def _mean(parts: Sequence[tuple[float, Told]], seconds: float) -> Told:
    cells = _in_order({cell for _, told in parts for cell in (*told.shares, *told.moved)})
    moved = {
        cell: tuple(sum(w * told.moved.get(cell, NOT_THERE)[way] for w, told in parts)
                    for way in range(len(NOT_THERE)))
        for cell in cells
    }
    shares = {cell: sum(w * told.shares.get(cell, 0.0) for w, told in parts) for cell in cells}
    return Told(
        seconds, parts[-1][1].last, {cell: part for cell, part in shares.items() if part > 0.0},
        {cell: (ways[0], ways[1], ways[2], ways[3]) for cell, ways in moved.items()},
        Drift(_mean_arrays([(w, told.drift.cells) for w, told in parts]),
              _mean_arrays([(w, told.drift.closed) for w, told in parts]),
              np.sum([w * told.drift.outside for w, told in parts], axis=0),
              _mean_arrays([(w, told.drift.held) for w, told in parts])))


def _mean_arrays(parts: Sequence[tuple[float, Mapping[str, Floats]]]) -> dict[str, Floats]:
    names = _in_order({cell for _, arrays in parts for cell in arrays})
    return {cell: np.asarray(sum((w * arrays[cell] for w, arrays in parts if cell in arrays),
                                 np.zeros(DRIFTS))) for cell in names}


def _in_order(cells: set[str]) -> list[str]:
    return sorted(cells, key=cell_index)


def written(trace: Trace) -> dict[str, Any]:
    """Write a trace as JSON values, without its swath.

    Parameters
    ----------
    trace : Trace
        Any.

    Returns
    -------
    dict
        `spells` and `fixes`.
    """
    return {
        "spells": [
            {"since_ms": since, "until_ms": until, "seconds": told.seconds,
             "last": list(told.last), "cells": dict(told.shares),
             "moved": {cell: list(ways) for cell, ways in told.moved.items()},
             "drift": {"cells": _packed(told.drift.cells), "closed": _packed(told.drift.closed),
                       "held": _packed(told.drift.held), "outside": _text(told.drift.outside)}}
            for (since, until), told in sorted(trace.spells.items(), key=lambda item: item[0])
        ],
        "fixes": [[at_ms, *place] for at_ms, place in sorted(trace.fixes.items())],
    }


def read(said: Mapping[str, Any]) -> Trace:
    """Read a trace that was written.

    Parameters
    ----------
    said : mapping
        As `written` gave it, through JSON or not.

    Returns
    -------
    Trace
        The same to the last bit, without swath.

    Raises
    ------
    IntakeError
        If it is damaged.
    """
    try:
        spells = {
            (float(one["since_ms"]), float(one["until_ms"])): Told(
                float(one["seconds"]), _place(one["last"]),
                {cell: float(one["cells"][cell]) for cell in _in_order(set(one["cells"]))},
                {cell: _ways(one["moved"][cell]) for cell in _in_order(set(one["moved"]))},
                Drift(_unpacked(one["drift"]["cells"]), _unpacked(one["drift"]["closed"]),
                      _array(one["drift"]["outside"]), _unpacked(one["drift"]["held"])))
            for one in said["spells"]
        }
        fixes = {float(at_ms): _place(place) for at_ms, *place in said["fixes"]}
    except _DAMAGE as wrong:
        raise IntakeError(f"a trace is damaged: {wrong!r}") from wrong
    return Trace(spells, fixes)


def read_gone(said: Mapping[str, Any]) -> Gone:
    """Read what was written down of a walk whose points are gone.

    Parameters
    ----------
    said : mapping
        The `thinned` of a track record.

    Returns
    -------
    Gone
        Of the walk that it names by its start.

    Raises
    ------
    IntakeError
        If it is damaged.
    """
    try:
        trace = read({"spells": said["spans"], "fixes": said["walk"]["fixes"]})
        swept = {(date.fromisoformat(day), cell): float(m2)
                 for day, by_cell in said["swept_m2"].items() for cell, m2 in by_cell.items()}
        since_ms = float(said["walk"]["since_ms"])
        _in_order({cell for _, cell in swept})
    except _DAMAGE as wrong:
        raise IntakeError(f"swept ground is damaged: {wrong!r}") from wrong
    if not all(0.0 <= m2 < float("inf") for m2 in swept.values()):
        raise IntakeError("swept ground is no area")
    return Gone(since_ms, trace, swept)


def _place(values: Sequence[Any]) -> OnGround:
    e, n, sigma_m = map(float, values)
    return e, n, sigma_m


def _ways(values: Sequence[Any]) -> Moved:
    east, west, north, south = map(float, values)
    return east, west, north, south


def _packed(arrays: Mapping[str, Floats]) -> dict[str, str]:
    return {cell: _text(array) for cell, array in arrays.items()}


def _unpacked(said: Mapping[str, str]) -> dict[str, Floats]:
    return {cell: _array(said[cell]) for cell in _in_order(set(said))}


def _text(array: Floats) -> str:
    """Write numbers as they lie in memory; one number for all where all are the same."""
    if (array == array[0]).all():
        return repr(float(array[0]))
    return base64.b64encode(np.ascontiguousarray(array, dtype="<f8").tobytes()).decode("ascii")


def _array(said: str) -> Floats:
    if len(said) < DRIFTS:  # one number, for numbers in full take eight bytes each
        return np.full(DRIFTS, float(said))
    array = np.frombuffer(base64.b64decode(said, validate=True), dtype="<f8")
    if array.shape != (DRIFTS,):
        raise ValueError(f"{array.shape} numbers instead of {DRIFTS}")
    return array.astype(np.float64)
