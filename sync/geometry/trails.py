"""The stretches of track within the time that some bags were picked in, and no others.

Rule 1: a stretch lasts from the press before a bag, or the start or the going on of the outing, to
the press of that bag: the time that its cell was told by. What came before and after stays out.
Rule 2: it is the track of the phone that was pressed; nobody else's.
"""

import dataclasses
from collections.abc import Iterable, Sequence

from sync.geometry.crs import Floats, Projection
from sync.geometry.outings import Carried, outings_of, since_of, times_by_picker
from sync.geometry.picking import ground_track
from sync.intake.fixes import ms_of
from sync.intake.seen import BagSeen, Events
from sync.settings import Tunables

Span = tuple[float, float]


@dataclasses.dataclass(frozen=True, eq=False)
class Trail:
    """One stretch of a phone's track: its fixes [m] and when it lasts [ms since 1970]."""

    device: str
    since_ms: float
    until_ms: float
    e: Floats
    n: Floats


def trails_of(
    bags: Sequence[BagSeen], events: Events, projection: Projection, tunables: Tunables
) -> tuple[Trail, ...]:
    """Give the stretches of track that some bags were picked in.

    Parameters
    ----------
    bags : sequence of BagSeen
        The bags asked about.
    events : Events
        All presses, outings and tracks.
    projection : Projection
        The block's.
    tunables : Tunables
        The worst fix that tells a place, and what one tally is.

    Returns
    -------
    tuple of Trail
        By device and time; stretches that touch are one. None of a phone without a track.
    """
    outings = [one for each in outings_of(events.outings).values() for one in each]
    times = times_by_picker(events.bags)
    spans: dict[str, list[Span]] = {}
    for bag in bags:
        if bag.device in events.tracks:
            spans.setdefault(bag.device, []).append(_span(
                bag, outings, times.get(bag.picker, ()), 1000.0 * tunables.one_tally_s))
    found = []
    for device, each in sorted(spans.items()):
        for begun, ended in _joined(each):
            track = ground_track(
                projection, events.tracks[device].within(begun, ended),
                worst_m=tunables.worst_fix_m, fastest_m_s=tunables.walking_m_s)
            if len(track.at_ms):
                found.append(Trail(device, begun, ended, track.e, track.n))
    return tuple(found)


def _span(
    bag: BagSeen, outings: Iterable[Carried], times: Sequence[float], one_tally_ms: float
) -> Span:
    """Give the time that a press counts; of a press within no outing that instant alone."""
    at_ms = ms_of(bag.at)
    for one in outings:
        if one.device == bag.device and one.since_ms <= at_ms <= one.until_ms:
            return since_of(at_ms, times, one, one_tally_ms), at_ms
    return at_ms, at_ms


def _joined(spans: Iterable[Span]) -> list[Span]:
    joined: list[Span] = []
    for begun, ended in sorted(spans):
        if joined and begun <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(joined[-1][1], ended)
        else:
            joined.append((begun, ended))
    return joined
