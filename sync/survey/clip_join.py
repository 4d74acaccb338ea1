"""From clips as they were noted to clips that can be weighed against their layer.

Rule 1: a clip's place and day are its quadrat's, else its first record's.
Rule 2: a clip that is not whole yet, or says two things, waits and is named.
"""

import dataclasses
import statistics
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from typing import Any

from sync.errors import SurveyError
from sync.intake.seen import ClipSeen
from sync.survey.clips import Clip, frame, plug
from sync.survey.quadrats import moss_probes
from sync.survey.readings import Reading


@dataclasses.dataclass(frozen=True)
class JoinedClip:
    """A clip with its cell and day, ready for the density.

    Attributes
    ----------
    names : tuple of str
        Its records.
    depth_mm : float or None
        Mean depth of strand in the quadrat it was cut from; None where no quadrat names it.
    """

    names: tuple[str, ...]
    label: str
    cell: str
    day: date
    clip: Clip
    depth_mm: float | None = None


def join_clips(
    seen: Iterable[ClipSeen],
    readings: Iterable[Reading],
    cell_at: Callable[[ClipSeen], str | None],
    class_of: Mapping[str, str],
    *,
    shed_moisture_pct: float,
    label_days: int,
) -> tuple[tuple[JoinedClip, ...], dict[str, str]]:
    """Join clips with their quadrats.

    Parameters
    ----------
    seen : iterable of ClipSeen
        Clips by label.
    readings : iterable of Reading
        Quadrats; the one that names the label is the clip's.
    cell_at : callable
        Cell of a clip by its own position, or None.
    class_of : mapping
        Ground class by cell.
    shed_moisture_pct : float
        Moisture of shed-dry moss, % of wet basis.
    label_days : int
        How far from its quadrat a clip's first record may lie. [days]

    Returns
    -------
    clips : tuple of JoinedClip
        By day and label.
    waiting : dict of str to str
        Why a clip waits, by label.
    """
    by_label = [(r.clip, r) for r in readings if r.clip is not None]
    joined: list[JoinedClip] = []
    waiting: dict[str, str] = {}
    for one in seen:
        own = [
            r for label, r in by_label
            if label == one.label and abs((r.day - one.day).days) <= label_days
        ]
        reading = own[0] if own else None
        cell = reading.cell if reading else cell_at(one)
        try:
            clip = _whole(one, reading, cell, class_of, shed_moisture_pct)
        except SurveyError as why:
            waiting[one.label] = str(why)
            continue
        day = reading.day if reading else one.day
        names = (*one.names, *((reading.name,) if reading else ()))
        depth = _depth_mm(reading)
        joined.append(JoinedClip(names, one.label, str(cell), day, clip, depth))
    joined.sort(key=lambda j: (j.day, j.label))
    return tuple(joined), waiting


def _depth_mm(reading: Reading | None) -> float | None:
    probes = moss_probes(reading.depth_mm) if reading is not None else ()
    return statistics.fmean(probes) if probes else None


def _whole(
    one: ClipSeen,
    reading: Reading | None,
    cell: str | None,
    class_of: Mapping[str, str],
    shed_moisture_pct: float,
) -> Clip:
    if one.twice:
        raise SurveyError(f"{', '.join(one.twice)} is written with two values; void one")
    ground_class = class_of.get(cell) if cell else None
    if ground_class is None:
        raise SurveyError("no cell is known for it; name it in a quadrat")
    said: dict[str, Any] = dict(one.fields)
    needed = ["cut", "area_m2", "dry_g", "dried"] + ["to_mm"] * (said.get("cut") == "plug")
    missing = [field for field in needed if field not in said]
    if missing:
        raise SurveyError(f"{', '.join(missing)} not written yet")
    common = {
        "area_m2": float(said["area_m2"]), "from_mm": float(said.get("from_mm", 0)),
        "dry_g": float(said["dry_g"]), "dried": said["dried"],
        "shed_moisture_pct": shed_moisture_pct, "cell": cell,
    }
    if said["cut"] == "plug":
        return plug(ground_class, to_mm=float(said["to_mm"]), **common)
    if reading is None:
        raise SurveyError("a whole frame needs the quadrat that names it")
    to_mm = said.get("to_mm")
    return frame(
        ground_class, to_mm=None if to_mm is None else float(to_mm),
        cover_pct=reading.cover_pct, depth_mm=reading.depth_mm, reader=reading.person, **common,
    )
