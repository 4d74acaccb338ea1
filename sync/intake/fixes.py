"""The fixes of track records, as arrays: a season has a million and more.

Rule 1: fixes stand by instant, mended by the satellites' time; of two at one instant the first
noted counts.
Rule 2: a fix off the globe or out of the calendar is left out, the others of its record are not.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from fieldapp.record import ACC_UNKNOWN, decode_track, instant
from sync.intake.counted import Counted
from sync.intake.seen import ThinnedSeen, TrackSeen

_E7 = 1e7
_MS = timedelta(milliseconds=1)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
#: The calendar's ends, a day within so that no local time leads out of it. [ms]
_FIRST_MS = (datetime(1, 1, 2, tzinfo=UTC) - _EPOCH) // _MS
_LAST_MS = (datetime(9999, 12, 30, tzinfo=UTC) - _EPOCH) // _MS


def ms_of(at: datetime) -> float:
    """Give an instant as milliseconds since 1970, UTC."""
    return (at - _EPOCH) / _MS


def tracks_of(records: Iterable[Counted]) -> dict[str, TrackSeen]:
    """Join the track records of each phone or receiver.

    Parameters
    ----------
    records : iterable of Counted
        Counting tracks, in the order in which they were noted; thinned ones have no points.

    Returns
    -------
    dict of str to TrackSeen
        By device, none without a fix.
    """
    parts: dict[str, list[TrackSeen]] = defaultdict(list)
    for one in records:
        if one.record.get("thinned") is None and one.record.get("dt_ms") is not None:
            parts[one.device].append(points_of(one.record, one.lag_s))
    tracks = {device: joined(each) for device, each in parts.items()}
    return {device: track for device, track in tracks.items() if len(track)}


def thinned_of(records: Iterable[Counted]) -> dict[str, tuple[ThinnedSeen, ...]]:
    """Give what thinned tracks still tell.

    Parameters
    ----------
    records : iterable of Counted
        Counting tracks.

    Returns
    -------
    dict of str to tuple of ThinnedSeen
        By device, each that holds a walk's trace, by name.
    """
    found: dict[str, list[ThinnedSeen]] = defaultdict(list)
    for one in records:
        thinned = one.record.get("thinned")
        if thinned is not None and thinned.get("walk") is not None:
            found[one.device].append(ThinnedSeen(one.name, one.device, thinned))
    return {device: tuple(sorted(each, key=lambda seen: seen.name))
            for device, each in found.items()}


def points_of(record: Mapping[str, Any], lag_s: float | None) -> TrackSeen:
    """Read the fixes of one track record.

    Parameters
    ----------
    record : mapping
        A track with points and without problems.
    lag_s : float or None
        Phone's clock less the satellites'. [s]

    Returns
    -------
    TrackSeen
        In the order noted.
    """
    late_ms = 0 if lag_s is None else round(1000.0 * lag_s)
    try:
        steps = [np.cumsum(np.array(record[name], dtype=np.int64))
                 for name in ("dt_ms", "lat_e7", "lon_e7")]
        at_ms = steps[0] + ((instant(record["t0"]) - _EPOCH) // _MS - late_ms)
        lat, lon = steps[1] / _E7, steps[2] / _E7
        radii = record.get("acc_m")
        acc_m = np.full(len(at_ms), np.nan) if radii is None else np.array(
            radii, dtype=np.float64)
    except OverflowError:
        return _slowly(record, late_ms)
    acc_m[acc_m >= ACC_UNKNOWN] = np.nan
    sound = (np.abs(lat) <= 90.0) & (np.abs(lon) <= 180.0) & (at_ms >= _FIRST_MS) & (
        at_ms <= _LAST_MS)
    return TrackSeen(at_ms[sound], lat[sound], lon[sound], acc_m[sound])


def _slowly(record: Mapping[str, Any], late_ms: int) -> TrackSeen:
    """Read fixes whose steps are longer than a machine's whole number."""
    fixes = [(ms_of(at) - late_ms, lat, lon, np.nan if acc_m is None else acc_m)
             for at, lat, lon, acc_m in decode_track(record)]
    fixes = [fix for fix in fixes if _FIRST_MS <= fix[0] <= _LAST_MS]
    columns = np.array(fixes, dtype=np.float64).reshape(-1, 4)
    return TrackSeen(columns[:, 0].astype(np.int64), columns[:, 1], columns[:, 2], columns[:, 3])


def joined(parts: Sequence[TrackSeen]) -> TrackSeen:
    """Join fixes in the order in which they were noted."""
    at_ms = np.concatenate([part.at_ms for part in parts])
    # The first of each instant, by instant: `unique` gives the first of equals.
    at, first = np.unique(at_ms, return_index=True)
    return TrackSeen(
        at, *(np.concatenate([getattr(part, name) for part in parts])[first]
              for name in ("lat", "lon", "acc_m")))
