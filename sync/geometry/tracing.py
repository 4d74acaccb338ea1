"""From the points of a walk to its trace: spells, places of presses, swath.

Rule 1: bags go by the steadied track, swept ground by the fixes as the receiver gave them.
Rule 2: a trace depends on the walk's own points, on what is asked of it and on the ground alone,
so that it may be remembered.
"""

import dataclasses
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import shapely

from sync.geometry.chance import sigma_of
from sync.geometry.crs import Projection
from sync.geometry.ground import Ground
from sync.geometry.picking import (
    GroundTrack,
    Spell,
    cells_under,
    drift_of,
    ground_track,
    moved_shares,
    passes_of,
    spell_of,
    time_by_cell,
)
from sync.geometry.shapes import polygonal
from sync.geometry.steady import LEAST_R68_M, steadied
from sync.geometry.swath import swath_of
from sync.geometry.traces import OnGround, Span, Told, Trace
from sync.geometry.track import position_at
from sync.intake.fixes import ms_of
from sync.intake.seen import Track
from sync.settings import Tunables

_DAY_MS = 86_400_000
_EPOCH = date(1970, 1, 1)


@dataclasses.dataclass(frozen=True)
class Asked:
    """What is asked of one walk.

    Attributes
    ----------
    spells : mapping of (float, float) to date
        Spans of presses and their local days. [ms since 1970]
    fixes : tuple of float
        Instants of presses of the walk's own phone. [ms since 1970]
    sweeps : bool
        Whether its hands swept ground: not those of a surveyor.
    """

    spells: dict[Span, date]
    fixes: tuple[float, ...]
    sweeps: bool


def trace_of(
    track: Track,
    asked: Asked,
    ground_of: Callable[[date], Ground],
    projection: Projection,
    tunables: Tunables,
    *,
    zone: str,
) -> Trace:
    """Work out what a walk's track tells.

    Parameters
    ----------
    track : Track
        The fixes of the walk.
    asked : Asked
        What is asked of it.
    ground_of : callable
        Ground of a local day.
    projection : Projection
        The block's.
    tunables : Tunables
        What a picking fix is, how far hands reach, accuracy of a fix that states none.
    zone : str
        The block's time zone.

    Returns
    -------
    Trace
        Empty of a track without fixes.
    """
    on_ground = ground_track(
        projection, track, worst_m=tunables.worst_fix_m, fastest_m_s=tunables.walking_m_s)
    steady = steadied(on_ground, tunables)
    spells = {}
    for span, day in asked.spells.items():
        spell = spell_of(steady.track, since_ms=span[0], until_ms=span[1],
                         longest_s=tunables.longest_fix_s)
        left = steady.error_between(*span) if len(spell) else None
        told = _told(spell, left, ground_of(day), tunables)
        if told is not None:
            spells[span] = told
    fixes = {}
    for at_ms in asked.fixes:
        place = _place_at(track, at_ms, projection, tunables)
        if place is not None:
            fixes[at_ms] = place
    swept = dict(_swept(on_ground, ground_of, tunables, zone)) if asked.sweeps else {}
    return Trace(spells, fixes, swept)


#: Standard deviation that a spell's places share [m] and the part of its variance that lasts [-];
#: None where nothing was steadied.
_Left = tuple[float, float] | None


def _told(spell: Spell, left: _Left, ground: Ground, tunables: Tunables) -> Told | None:
    """Tell of the bags of a spell; None where it has no time."""
    lasts_s = float(spell.seconds.sum())
    if lasts_s <= 0.0:
        return None
    radii = np.where(np.isnan(spell.acc_m), tunables.unknown_accuracy_m,
                     np.maximum(spell.acc_m, LEAST_R68_M))
    sigma = sigma_of(float(np.average(radii, weights=spell.seconds)))
    shared, lasting = (sigma, 0.0) if left is None else left
    return Told(
        lasts_s, (float(spell.e[-1]), float(spell.n[-1]), sigma), time_by_cell(ground, spell),
        moved_shares(ground, spell, sigma), drift_of(ground, spell, shared, lasting=lasting))


def _place_at(
    track: Track, at_ms: float, projection: Projection, tunables: Tunables
) -> OnGround | None:
    found = position_at(track, at_ms, worst_gap_s=tunables.worst_track_gap_s)
    if found is None:
        return None
    lat, lon, acc_m = found
    e, n = projection.to_m(lat, lon)
    r68_m = max(tunables.unknown_accuracy_m if acc_m is None else acc_m, LEAST_R68_M)
    return float(e), float(n), sigma_of(r68_m)


def _swept(
    track: GroundTrack, ground_of: Callable[[date], Ground], tunables: Tunables, zone: str
) -> Iterator[tuple[tuple[date, str], bytes]]:
    """Give the open ground that hands went over, by local day and cell."""
    for day, since_ms, until_ms in _days(track, zone):
        passes = passes_of(track, since_ms=since_ms, until_ms=until_ms,
                           longest_s=tunables.longest_fix_s)
        swath = swath_of(passes, reach_m=tunables.reach_m)
        if swath.is_empty:
            continue
        ground = ground_of(day)
        for cell in cells_under(ground, swath):
            piece = polygonal(shapely.intersection(swath, cell.open_shape))
            if piece.area > 0.0:
                yield (day, cell.cell), shapely.to_wkb(piece)


def _days(track: GroundTrack, zone: str) -> Iterator[tuple[date, float, float]]:
    """Give each local day of a track, with the instants it is between. [ms since 1970]."""
    local = ZoneInfo(zone)
    for day in days_about(track.at_ms):
        starts, ends = (
            ms_of(datetime(one.year, one.month, one.day, tzinfo=local).astimezone(UTC))
            for one in (day, day + timedelta(days=1)))
        if np.searchsorted(track.at_ms, starts) < np.searchsorted(track.at_ms, ends):
            yield day, starts, ends


def days_about(at_ms: npt.NDArray[np.int64]) -> list[date]:
    """Give the days by UTC of some fixes and those about them; their local days are among them.

    Parameters
    ----------
    at_ms : array of int64, shape (n,)
        Since 1970, UTC; within the calendar by a day. [ms]

    Returns
    -------
    list of date
        Ascending; three a fix at most, though a clock that jumped put fixes ages apart.
    """
    if not len(at_ms):
        return []
    first, last = int(at_ms.min() // _DAY_MS), int(at_ms.max() // _DAY_MS)
    # Most walks are of one day, so that not every fix need be looked at, and fixes stand by time.
    numbers = {first, last} if last - first <= 1 else _runs(at_ms // _DAY_MS)
    about = sorted({_EPOCH.toordinal() + number + off for number in numbers for off in (-1, 0, 1)})
    return [date.fromordinal(one) for one in about
            if date.min.toordinal() < one < date.max.toordinal()]


def _runs(numbers: npt.NDArray[np.int64]) -> set[int]:
    """Give the numbers that are there, looking at the first of each run alone."""
    begins = np.append(True, numbers[1:] != numbers[:-1])
    return set(numbers[begins].tolist())
