"""Where a thing was noted, and a track as it stands in a record.

Rule 1: place never costs a record: a `where` out of its limits is read as none.
Rule 2: `acc_m` is the radius that holds 68 % of fixes, whatever the receiver calls it.
Rule 3: a track is written in whole steps (ms, 1e-7 degree), so that writing it twice changes
nothing.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from fieldapp.record.names import RecordError, instant, stamp

#: Largest 68 % radius that still says something of the place. [m]
WORST_ACC_M = 500.0
#: In a track: this radius or more, or unknown. [m]
ACC_UNKNOWN = 255
_E7 = 10_000_000
_MS = timedelta(milliseconds=1)

#: Instant, latitude and longitude [deg, WGS 84], 68 % radius [m] or None.
Fix = tuple[datetime, float, float, float | None]


class Where(NamedTuple):
    """A place as the phone knew it when a thing was noted.

    Attributes
    ----------
    lat, lon : float
        WGS 84. [deg]
    age_s : float
        How old the fix was. [s]
    acc_m : float or None
        68 % horizontal radius; None if the receiver states none. [m]
    lag_s : float or None
        Phone's clock less the satellites' at that fix. [s]
    mock : bool
        True if the platform says that a program made the fix up.
    """

    lat: float
    lon: float
    age_s: float
    acc_m: float | None = None
    lag_s: float | None = None
    mock: bool = False


def where_of(record: Mapping[str, Any]) -> Where | None:
    """Read a record's `where`, leniently.

    Parameters
    ----------
    record : mapping
        Any record.

    Returns
    -------
    Where or None
        None if there is none or any part of it is out of its limits.
    """
    where = record.get("where")
    if not isinstance(where, Mapping):
        return None
    lat, lon = _within(where.get("lat"), -90, 90), _within(where.get("lon"), -180, 180)
    age_s, mock = _within(where.get("age_s"), 0, math.inf), where.get("mock")
    if lat is None or lon is None or age_s is None or not (mock is None or isinstance(mock, bool)):
        return None
    said_acc_m, said_lag_s = where.get("acc_m"), where.get("lag_s")
    acc_m = None if said_acc_m is None else _within(said_acc_m, 0, WORST_ACC_M)
    lag_s = None if said_lag_s is None else _within(said_lag_s, -math.inf, math.inf)
    if (acc_m is None) != (said_acc_m is None) or (lag_s is None) != (said_lag_s is None):
        return None
    return Where(lat, lon, age_s, acc_m, lag_s, mock is True)


def where_json(where: Where) -> dict[str, Any]:
    """Write a place as a record's `where`; what is unknown is left out."""
    fields: dict[str, Any] = {"lat": where.lat, "lon": where.lon, "age_s": where.age_s}
    if where.acc_m is not None:
        fields["acc_m"] = where.acc_m
    if where.lag_s is not None:
        fields["lag_s"] = where.lag_s
    if where.mock:
        fields["mock"] = True
    return fields


def encode_track(fixes: Sequence[Fix], *, lag_s: float | None = None) -> dict[str, Any]:
    """Write fixes as the fields of a `track` record.

    Parameters
    ----------
    fixes : sequence of (datetime, float, float, float or None)
        Instant by the phone's clock, latitude and longitude [deg], 68 % radius [m].
    lag_s : float or None
        Phone's clock less the satellites'. [s]

    Returns
    -------
    dict
        `t0`, `dt_ms`, `lat_e7`, `lon_e7`, `acc_m`, `lag_s`: the first entry of latitude and
        longitude absolute, then differences; radii rounded up, so that none looks better than
        it was. `acc_m` is None if no fix states a radius.

    Raises
    ------
    RecordError
        If there is no fix, or one has no finite place.
    """
    if not fixes:
        raise RecordError("fixes=[] makes no track: write none")
    for fix in fixes:
        if not (math.isfinite(fix[1]) and math.isfinite(fix[2])):
            raise RecordError(f"fix={fix!r} has no finite place: leave it out")
    t0 = instant(stamp(fixes[0][0]))
    known = any(fix[3] is not None for fix in fixes)
    return {
        "t0": stamp(t0),
        "dt_ms": _differences([0, *(round((fix[0] - t0) / _MS) for fix in fixes[1:])]),
        "lat_e7": _differences([round(fix[1] * _E7) for fix in fixes]),
        "lon_e7": _differences([round(fix[2] * _E7) for fix in fixes]),
        "acc_m": [_whole_radius(fix[3]) for fix in fixes] if known else None,
        "lag_s": lag_s,
    }


def decode_track(record: Mapping[str, Any]) -> list[Fix]:
    """Read the fixes of a `track` record without problems.

    Parameters
    ----------
    record : mapping
        A track; a thinned one without points gives none.

    Returns
    -------
    list of (datetime, float, float, float or None)
        Instant by the phone's clock, latitude and longitude [deg], 68 % radius [m] or None. A fix
        off the globe or out of the calendar is left out.
    """
    if record.get("dt_ms") is None:
        return []
    t0 = instant(record["t0"])
    radii = record.get("acc_m") or [ACC_UNKNOWN] * len(record["dt_ms"])
    fixes: list[Fix] = []
    ms = lat = lon = 0
    steps = zip(record["dt_ms"], record["lat_e7"], record["lon_e7"], radii, strict=True)
    for dt_ms, dlat, dlon, radius in steps:
        ms, lat, lon = ms + int(dt_ms), lat + int(dlat), lon + int(dlon)
        moment = _later(t0, ms)
        if moment is not None and abs(lat) <= 90 * _E7 and abs(lon) <= 180 * _E7:
            acc_m = None if radius >= ACC_UNKNOWN else float(radius)
            fixes.append((moment, lat / _E7, lon / _E7, acc_m))
    return fixes


def _within(value: object, low: float, high: float) -> float | None:
    if type(value) is float:  # most are, and a season has a hundred thousand of them
        return value if low <= value <= high and math.isfinite(value) else None
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def _differences(values: Sequence[int]) -> list[int]:
    return [values[0], *(here - before for before, here in itertools.pairwise(values))]


def _whole_radius(acc_m: float | None) -> int:
    if acc_m is None or not 0 <= acc_m < ACC_UNKNOWN:
        return ACC_UNKNOWN
    return math.ceil(acc_m)


def _later(t0: datetime, ms: int) -> datetime | None:
    try:
        return t0 + ms * _MS
    except OverflowError:
        return None
