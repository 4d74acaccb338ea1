"""Questions about tracks that are not read: which count, when, and by whom.

Rule 1: an answer is what it would be were each of them a record like any.
"""

from collections import Counter
from collections.abc import Collection, Iterator
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from sync.intake.counted import Counted
from sync.intake.fixes import ms_of
from sync.intake.heads import Tracks


def last_track(
    tracks: Tracks, device: str, zone: str, *, since: datetime | None = None,
    until: datetime | None = None, on: date | None = None,
) -> Counted | None:
    """Give the last track of a device.

    Parameters
    ----------
    tracks : Tracks
        Those that are not read.
    device : str
        Whose.
    zone : str
        The block's time zone.
    since, until : datetime, optional
        From when to when, both included.
    on : date, optional
        Last local day.

    Returns
    -------
    Counted or None
        Its record is not read: it has only what its head says.
    """
    heads = tracks.of(device)
    if since is not None:
        heads = heads[heads["at_ms"] >= ms_of(since)]
    if until is not None:
        heads = heads[heads["at_ms"] <= ms_of(until)]
    if on is not None:
        heads = heads[heads["at_ms"] < _start_ms(on + timedelta(days=1), zone)]
    if not len(heads):
        return None
    last: np.void = heads[int(np.lexsort((heads["seq"], heads["at_ms"]))[-1])]
    return _counted(tracks, device, last, zone)


def tracks_named(tracks: Tracks, names: Collection[str], zone: str) -> Iterator[Counted]:
    """Give those tracks that have one of some names."""
    for name in names:
        head = tracks.find(name)
        if head is not None:
            yield _counted(tracks, name.rpartition(":")[0], head, zone)


def tracks_of_people(tracks: Tracks, zone: str, first: date | None, last: date) -> Counter[str]:
    """Count the tracks of each person between two local days, both included."""
    found: Counter[str] = Counter()
    since_ms = -np.inf if first is None else _start_ms(first, zone)
    until_ms = _start_ms(last + timedelta(days=1), zone)
    for heads in tracks.by_device.values():
        here = heads[(heads["at_ms"] >= since_ms) & (heads["at_ms"] < until_ms)]
        numbers = np.bincount(here["person"], minlength=len(tracks.people)).tolist()
        found.update({code: n for code, n in zip(tracks.people, numbers, strict=True) if n})
    return found


def _start_ms(day: date, zone: str) -> float:
    return ms_of(datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone)).astimezone(UTC))


def _counted(tracks: Tracks, device: str, head: np.void, zone: str) -> Counted:
    at, seq = tracks.at(head), int(head["seq"])
    person = tracks.people[int(head["person"])]
    said = {"kind": "track", "device": device, "seq": seq, "person": person, "where": None}
    return Counted(f"{device}:{seq}", said, at, at.astimezone(ZoneInfo(zone)).date(), person, None,
                   device, seq, None)
