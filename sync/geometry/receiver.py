"""A handheld receiver's GPX as records: an outing, its tracks, and waypoints as marks.

Rule 1: the same file gives the same records, whoever takes it and when.
Rule 2: fixes beyond the block and its margin are not kept; where a person goes elsewhere is
nobody's business here.
Rule 3: a waypoint that the shed gave out itself comes back as nothing.
"""

import itertools
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from fieldapp.record import encode_track, stamp
from sync.errors import IntakeError
from sync.geometry.gpx import GpxRead, Waypoint
from sync.geometry.track import Fix

#: What the note of a waypoint begins with that the shed gave out; a receiver keeps the note.
GIVEN_OUT = "Fallow: "
#: Fixes in one track record at the most.
_FIXES = 1000


def receiver_records(
    read: GpxRead,
    *,
    device: str,
    person: str,
    role: str,
    near: Callable[[float, float], bool],
) -> tuple[list[dict[str, Any]], int]:
    """Turn a receiver's file into records.

    Parameters
    ----------
    read : GpxRead
        What was found in the file.
    device : str
        `gpx-` and eight hex digits of the file's sum.
    person : str
        Person code of who carried it.
    role : str
        `picker` or `surveyor`.
    near : callable
        Whether a latitude and longitude [deg] is on the block or within its margin.

    Returns
    -------
    records : list of dict
        Numbered from 1; a track record for each stretch of a segment.
    beyond : int
        Fixes left out since they are beyond the margin.

    Raises
    ------
    IntakeError
        If nothing of it is near the block.
    """
    stretches = list(_stretches(read, near))
    marks = [point for point in own_waypoints(read) if near(point.lat, point.lon)]
    every = sum(len(segment) for track in read.tracks for segment in track)
    kept = sum(len(stretch) for stretch in stretches)
    dated = [point for point in marks if point.at is not None or stretches]
    if not stretches and not dated:
        found = "; ".join(read.problems)
        raise IntakeError("no dated fix or waypoint of it is near the block"
                          + (f" ({found})" if found else ""))
    bodies = [*_outing(stretches, role), *(_mark(point, stretches) for point in dated)]
    records = [
        {**body, "device": device, "seq": seq, "person": person}
        for seq, body in enumerate(bodies, 1)
    ]
    return records, every - kept


def own_waypoints(read: GpxRead) -> tuple[Waypoint, ...]:
    """Give the waypoints that were made with the receiver, not given out by the shed."""
    return tuple(point for point in read.waypoints
                 if not (point.note or "").startswith(GIVEN_OUT))


def _stretches(
    read: GpxRead, near: Callable[[float, float], bool]
) -> Iterator[Sequence[Fix]]:
    for track in read.tracks:
        for segment in track:
            for kept, run in itertools.groupby(segment, lambda fix: near(fix.lat, fix.lon)):
                if kept:
                    fixes = list(run)
                    yield from (fixes[i : i + _FIXES] for i in range(0, len(fixes), _FIXES))


def _outing(stretches: Sequence[Sequence[Fix]], role: str) -> Iterator[dict[str, Any]]:
    if not stretches:
        return
    first = min(stretch[0].at for stretch in stretches)
    last = max(stretch[-1].at for stretch in stretches)
    yield {"kind": "outing", "at": stamp(first), "where": None, "state": "start", "role": role}
    for stretch in stretches:
        fixes = [(fix.at, fix.lat, fix.lon, fix.acc_m) for fix in stretch]
        yield {
            "kind": "track", "at": stamp(stretch[-1].at), "where": None, **encode_track(fixes)
        }
    yield {"kind": "outing", "at": stamp(last), "where": None, "state": "end", "finished": []}


def _mark(point: Waypoint, stretches: Sequence[Sequence[Fix]]) -> dict[str, Any]:
    """Note a waypoint; one without a time is dated by the end of the track."""
    at = point.at if point.at is not None else stretches[-1][-1].at
    mark = {
        "kind": "mark", "at": stamp(at), "what": "other", "name": point.name or "waypoint",
        "where": {"lat": point.lat, "lon": point.lon, "age_s": 0},
    }
    return mark if point.note is None else {**mark, "note": point.note[:2000]}
