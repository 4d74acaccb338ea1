"""GPX from a receiver, read leniently, and GPX for others, written strictly.

Rule 1: a file that declares a document type is refused before any parser sees it.
Rule 2: a point that cannot be right is dropped and named; the sound ones are kept.
Rule 3: text in, text out; files belong to others.
"""

import codecs
import dataclasses
import re
from collections.abc import Sequence
from datetime import UTC, datetime
from xml.sax.saxutils import escape

import gpxpy
from gpxpy.gpx import (
    GPX,
    GPXException,
    GPXRoute,
    GPXRoutePoint,
    GPXTrack,
    GPXTrackPoint,
    GPXTrackSegment,
    GPXWaypoint,
)

from sync.errors import IntakeError
from sync.geometry.gpx_sound import Raw, sound_fixes, sound_instant, sound_place
from sync.geometry.track import Fix

Segment = tuple[Fix, ...]
Track = tuple[Segment, ...]

_DECLARATION = re.compile(r"\s*<\?xml\b[^>]*\?>")
_ENCODING = re.compile(rb"""^\s*<\?xml[^>]*\bencoding\s*=\s*["']([A-Za-z0-9._-]+)["']""")
_ENCODINGS = ("utf-8", "utf8", "us-ascii", "ascii", "iso-8859-1", "latin-1", "windows-1252")
_BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"),
         (codecs.BOM_UTF16_BE, "utf-16"))
_ROOT = re.compile(r"<gpx[\s>]")
_TRICKS = re.compile(r"<!\s*(DOCTYPE|ENTITY)", re.IGNORECASE)
#: Characters that XML 1.0 cannot carry, escaped or not (W3C, XML 1.0, production 2).
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclasses.dataclass(frozen=True)
class Waypoint:
    """A place with a name; `lat`, `lon` in degrees, WGS 84, `at` UTC or None."""

    name: str
    lat: float
    lon: float
    at: datetime | None = None
    note: str | None = None


@dataclasses.dataclass(frozen=True)
class Route:
    """A way to be walked: its name, and of each point name (None of a bend), latitude, longitude.

    Degrees, WGS 84.
    """

    name: str
    points: tuple[tuple[str | None, float, float], ...]


@dataclasses.dataclass(frozen=True)
class GpxRead:
    """What was found in a file.

    Attributes
    ----------
    tracks : tuple of Track
        Tracks of segments of fixes, by instant within each segment; empty ones are left out.
    waypoints : tuple of Waypoint
        In the file's order.
    problems : tuple of str
        What was dropped and where, one sentence each.
    """

    tracks: tuple[Track, ...]
    waypoints: tuple[Waypoint, ...]
    problems: tuple[str, ...]


def read_gpx(text: str | bytes) -> GpxRead:
    """Read a receiver's GPX, of version 1.0 or 1.1.

    Parameters
    ----------
    text : str or bytes
        The whole file; bytes are decoded as they declare, UTF-8 if they do not.

    Returns
    -------
    GpxRead
        The sound part, and what was not. A time without a zone is UTC, as GPX has it.

    Raises
    ------
    IntakeError
        If it cannot be read as GPX at all; one line.

    References
    ----------
    .. [1] TopoGrafix, *GPX 1.1 Schema Documentation*, 2004.
    """
    gpx = _parse(text)
    problems: list[str] = []
    tracks: list[Track] = []
    for t, track in enumerate(gpx.tracks, start=1):
        segments: list[Segment] = []
        for s, segment in enumerate(track.segments, start=1):
            points = [Raw(p.latitude, p.longitude, p.time) for p in segment.points]
            fixes, faults = sound_fixes(points)
            problems += [f"track {t}, segment {s}: {fault}" for fault in faults]
            if fixes:
                segments.append(fixes)
        if segments:
            tracks.append(tuple(segments))
    waypoints = tuple(_waypoints(gpx, problems))
    if not tracks and not waypoints:
        problems.append("no track and no waypoint that can be used")
    return GpxRead(tuple(tracks), waypoints, tuple(problems))


def _waypoints(gpx: GPX, problems: list[str]) -> list[Waypoint]:
    kept: list[Waypoint] = []
    for number, point in enumerate(gpx.waypoints, start=1):
        if not sound_place(point.latitude, point.longitude):
            problems.append(f"waypoint {number}: {point.latitude}, {point.longitude} is no place")
            continue
        note = point.description or point.comment or None
        kept.append(Waypoint(point.name or f"waypoint {number}", point.latitude, point.longitude,
                             sound_instant(point.time), note))
    return kept


def read_line(text: str | bytes) -> tuple[tuple[float, float], ...]:
    """Read the places of a walked line, whatever their times.

    Parameters
    ----------
    text : str or bytes
        The whole file.

    Returns
    -------
    tuple of (float, float)
        Latitude and longitude of all track points in their order, of the route points if there is
        no track; a place twice in a row counts once. [deg]

    Raises
    ------
    IntakeError
        If it cannot be read as GPX at all.
    """
    gpx = _parse(text)
    walked = [p for track in gpx.tracks for segment in track.segments for p in segment.points]
    planned = [p for route in gpx.routes for p in route.points]
    places = [(p.latitude, p.longitude) for p in (walked or planned)
              if sound_place(p.latitude, p.longitude)]
    return tuple(place for i, place in enumerate(places) if i == 0 or place != places[i - 1])


def _parse(text: str | bytes) -> GPX:
    plain = _decoded(text)
    if _TRICKS.search(plain):
        raise IntakeError("GPX: declares a document type or entities; export the file again")
    # the declared encoding no longer holds once the bytes are text
    plain = _DECLARATION.sub("", plain.removeprefix("\ufeff"), count=1)
    if not _ROOT.search(plain):
        raise IntakeError("GPX: no <gpx> element; is this another kind of file?")
    try:
        return gpxpy.parse(plain)
    except (GPXException, ValueError, TypeError, AttributeError, RecursionError) as error:
        reason = " ".join(str(error).split())[:200]
        raise IntakeError(f"GPX: cannot be read ({reason}); export the file again") from error


def _decoded(text: str | bytes) -> str:
    if isinstance(text, str):
        return text
    encoding = next((name for bom, name in _BOMS if text.startswith(bom)), None)
    if encoding is None:
        match = _ENCODING.match(text)
        encoding = match[1].decode("ascii").lower() if match else "utf-8"
        if encoding not in _ENCODINGS:
            raise IntakeError(f"GPX: encoding={encoding!r} is not read; export it as UTF-8")
    try:
        return text.decode(encoding)
    except UnicodeDecodeError as error:
        raise IntakeError(f"GPX: byte {error.start} is no {encoding}; export it again") from error


def write_gpx(
    tracks: Sequence[Sequence[Sequence[Fix]]], waypoints: Sequence[Waypoint], *, creator: str,
    routes: Sequence[Route] = (),
) -> str:
    """Write GPX 1.1.

    Parameters
    ----------
    tracks : sequence of tracks of segments of Fix
        GPX has no field for a 68 % radius: accuracies are left out.
    waypoints : sequence of Waypoint
        Named places.
    creator : str
        The program's name and version.
    routes : sequence of Route
        Ways to be walked.

    Returns
    -------
    str
        The whole file, with its XML declaration.

    References
    ----------
    .. [1] TopoGrafix, *GPX 1.1 Schema Documentation*, 2004.
    """
    gpx = GPX()
    # gpxpy escapes the text of elements, but not of this attribute
    gpx.creator = escape(_xml_text(creator), {'"': "&quot;"})
    for track in tracks:
        written = GPXTrack()
        written.segments = [
            GPXTrackSegment([GPXTrackPoint(fix.lat, fix.lon, time=fix.at.astimezone(UTC))
                             for fix in segment])
            for segment in track
        ]
        gpx.tracks.append(written)
    gpx.waypoints = [
        GPXWaypoint(point.lat, point.lon, name=_xml_text(point.name),
                    time=point.at.astimezone(UTC) if point.at else None,
                    description=_xml_text(point.note) if point.note else None,
                    # a receiver is sent the comment; the description is for whoever reads the file
                    comment=_xml_text(point.note) if point.note else None)
        for point in waypoints
    ]
    for route in routes:
        planned = GPXRoute(name=_xml_text(route.name))
        planned.points = [GPXRoutePoint(lat, lon, name=_xml_text(name) if name else None)
                          for name, lat, lon in route.points]
        gpx.routes.append(planned)
    return str(gpx.to_xml(version="1.1"))


def _xml_text(text: str) -> str:
    return _NOT_XML.sub("\ufffd", text)
