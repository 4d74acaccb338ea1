"""Where the phone is: a fixed point, or a receiver's GPX played again.

Rule 1: a place never comes without its age; how old is too old is the reader's to say.
Rule 2: `acc_m` is the 68 % radius, None where the source states none.
Rule 3: a source that gives no places says why (`trouble`).
"""

from bisect import bisect_right
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Literal, Protocol, Self

import gpxpy
import gpxpy.gpx

from fieldapp.record import Fix, Where

_DEGREE_DIGITS = 7
#: Nothing; the person did not allow the app to know; it did give places and stopped.
Trouble = Literal["", "refused", "stopped"]


class LocationError(Exception):
    """A file gives no places in time; the message says what to do."""


class Location(Protocol):
    """Anything that knows where the phone is."""

    def at(self, now: datetime) -> Where | None:
        """Give the latest place known at a moment; None if there is none yet."""
        ...

    def between(self, after: datetime, until: datetime) -> list[Fix]:
        """Give the fixes later than one moment and not later than another."""
        ...

    @property
    def trouble(self) -> Trouble:
        """Why no places come; empty if nothing is amiss."""
        ...


class NoLocation:
    """A phone that may not or cannot know where it is: never a place.

    Parameters
    ----------
    trouble : str
        refused or stopped.
    """

    def __init__(self, trouble: Literal["refused", "stopped"]) -> None:
        self._trouble: Trouble = trouble

    @property
    def trouble(self) -> Trouble:
        """Why no places come."""
        return self._trouble

    def at(self, now: datetime) -> Where | None:
        """Give no place."""
        return None

    def between(self, after: datetime, until: datetime) -> list[Fix]:
        """Give no fixes."""
        return []


class FixedPoint:
    """A phone that lies still.

    Parameters
    ----------
    lat, lon : float
        WGS 84. [deg]
    acc_m : float or None
        68 % radius. [m]
    """

    def __init__(self, lat: float, lon: float, acc_m: float | None) -> None:
        self._lat, self._lon, self._acc_m = lat, lon, acc_m

    @property
    def trouble(self) -> Trouble:
        """Nothing is ever amiss."""
        return ""

    def at(self, now: datetime) -> Where | None:
        """Give the point, as fresh as can be."""
        return Where(self._lat, self._lon, 0.0, self._acc_m)

    def between(self, after: datetime, until: datetime) -> list[Fix]:
        """Give one fix at the end of the span, as of a receiver that stands still."""
        if until <= after:
            return []
        return [(until.astimezone(UTC), self._lat, self._lon, self._acc_m)]


class ReplayedGpx:
    """A receiver's track, played again by the clock that asks.

    Parameters
    ----------
    fixes : sequence of (datetime, float, float, float or None)
        Instant, latitude and longitude [deg], 68 % radius [m]; in any order.
    """

    def __init__(self, fixes: Sequence[Fix]) -> None:
        self._fixes = sorted(fixes, key=lambda fix: fix[0])
        self._times = [fix[0] for fix in self._fixes]

    @property
    def trouble(self) -> Trouble:
        """Nothing is ever amiss."""
        return ""

    def shifted_to(self, moment: datetime) -> Self:
        """Move the whole track in time, to try an old walk out today.

        Parameters
        ----------
        moment : datetime
            Aware; when the first fix shall be.

        Returns
        -------
        ReplayedGpx
            Another one; the same places, as far apart in time.
        """
        if not self._fixes:
            return type(self)(())
        by = moment.astimezone(UTC) - self._times[0]
        return type(self)([(at + by, lat, lon, acc_m) for at, lat, lon, acc_m in self._fixes])

    def at(self, now: datetime) -> Where | None:
        """Give the last place at or before a moment, with its age."""
        place = bisect_right(self._times, now)
        if place == 0:
            return None
        moment, lat, lon, acc_m = self._fixes[place - 1]
        return Where(lat, lon, (now - moment).total_seconds(), acc_m)

    def between(self, after: datetime, until: datetime) -> list[Fix]:
        """Give the fixes later than one moment and not later than another."""
        return self._fixes[bisect_right(self._times, after):bisect_right(self._times, until)]


def replayed(gpx: str, *, acc_m: float | None = None) -> ReplayedGpx:
    """Read a GPX file's track points for replay.

    Parameters
    ----------
    gpx : str
        GPX 1.0 or 1.1; points without a time are left out, a time without a zone is UTC.
    acc_m : float or None
        68 % radius to give each fix: GPX has no field for it. [m]

    Returns
    -------
    ReplayedGpx
        All tracks and their segments, by time.

    Raises
    ------
    LocationError
        If it is no GPX, or none of its points has a time.
    """
    try:
        tracks = gpxpy.parse(gpx).tracks
    except (gpxpy.gpx.GPXException, ValueError) as error:
        raise LocationError(f"the file is no GPX: {error}") from error
    points = [point for track in tracks for segment in track.segments for point in segment.points]
    fixes: list[Fix] = [
        (_utc(point.time), round(point.latitude, _DEGREE_DIGITS),
         round(point.longitude, _DEGREE_DIGITS), acc_m)
        for point in points if point.time is not None]
    if not fixes:
        raise LocationError("the GPX has no track point with a time: export it with times")
    return ReplayedGpx(fixes)


def _utc(moment: datetime) -> datetime:
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
