"""Letting go of tracks: which seasons' points may go, and what stands in their place.

Rule 1: a season's tracks go together, some days after it ended, and not while a flag that rests on
one of them is open: the new ground of a walk depends on the walks before it in its season.
Rule 2: in a track's place, under its name and for its sum, stands what the register takes from it.
Rule 3: presses keep their place; they are evidence.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from fieldapp.record import RecordError, instant, stamp
from sync.block import season_end, season_of
from sync.geometry.outings import Name
from sync.geometry.traces import written
from sync.geometry.walks import Walk
from sync.intake.check import Held
from sync.intake.fixes import ms_of
from sync.register.build import Register

_POINTS = frozenset({"t0", "dt_ms", "lat_e7", "lon_e7", "acc_m", "where"})


@dataclasses.dataclass(frozen=True)
class Thinning:
    """What is to be let go of.

    Attributes
    ----------
    seasons : tuple of int
        Those whose tracks go.
    bodies : mapping of (str, str) to mapping
        What stands in place of each track, by name and sum.
    points : int
        Fixes that go.
    kept : tuple of (int, tuple of str)
        Seasons whose time is over and whose tracks stay, and the open flags that rest on them.
    """

    seasons: tuple[int, ...]
    bodies: Mapping[tuple[str, str], Mapping[str, Any]]
    points: int
    kept: tuple[tuple[int, tuple[str, ...]], ...]


def has_points(record: Mapping[str, Any]) -> bool:
    """Say whether a record is a track that still has its points."""
    return record.get("kind") == "track" and record.get("dt_ms") is not None


def _is_over(register: Register, season: int, today: date) -> bool:
    """Say whether the time for which a season's tracks are kept is over."""
    month, first = register.block.season_start
    ended = season_end(date(season, month, first), register.block.season_start)
    return today > ended + timedelta(days=register.tunables.track_keep_days)


def thinning_of(
    register: Register, held: Iterable[Held], kept: Mapping[int, Sequence[str]], today: date
) -> Thinning:
    """Work out what may be let go of.

    Parameters
    ----------
    register : Register
        Of all that is known.
    held : iterable of Held
        Every sound record.
    kept : mapping of int to sequence of str
        Seasons whose tracks must stay, and the open flags that rest on them.
    today : date
        Local day.

    Returns
    -------
    Thinning
        Empty where nothing is due.
    """
    walks = _Walks(register)
    bodies: dict[tuple[str, str], Mapping[str, Any]] = {}
    over: dict[int, list[Held]] = defaultdict(list)
    for one in held:
        season = walks.season_of(one) if has_points(one.record) else None
        if season is not None and _is_over(register, season, today):
            over[season].append(one)
    due = [one for season in sorted(set(over) - set(kept)) for one in over[season]]
    points = 0
    first_of = walks.first_tracks(due)
    for one in due:
        points += len(one.record["dt_ms"])
        rest = {key: value for key, value in one.record.items() if key not in _POINTS}
        rest.update(_clock_of(one.record))
        walk = first_of.get((one.name, one.total))
        told = {"spans": [], "swept_m2": {}} if walk is None else _told(register, walk)
        bodies[one.name, one.total] = {**rest, "thinned": {"sum": one.total, **told}}
    stays = tuple((season, tuple(kept[season])) for season in sorted(set(over) & set(kept)))
    return Thinning(tuple(sorted(set(over) - set(kept))), bodies, points, stays)


def _clock_of(record: Mapping[str, Any]) -> dict[str, Any]:
    """Give the clock error that a track's place alone states, for the place goes."""
    where = record.get("where")
    if record.get("lag_s") is not None or not isinstance(where, dict):
        return {}
    return {} if where.get("lag_s") is None else {"lag_s": where["lag_s"]}


def _told(register: Register, walk: Walk) -> dict[str, Any]:
    """Write down what a walk tells."""
    walkers = register.known.walkers
    assert walkers is not None
    said = written(walkers.trace(walk))
    swept: dict[str, dict[str, float]] = defaultdict(dict)
    for cell, each in register.known.swept.by_cell.items():
        for fresh in each:
            if fresh.piece.walk == walk.name and fresh.piece.total is not None:
                swept[fresh.piece.day.isoformat()][cell] = fresh.m2
    spans = [{"from": _stamp(one["since_ms"]), "to": _stamp(one["until_ms"]), **one}
             for one in said["spells"]]
    return {"spans": spans, "swept_m2": dict(swept),
            "walk": {"since_ms": walk.carried.since_ms, "fixes": said["fixes"]}}


def _stamp(ms: float) -> str:
    return stamp(datetime(1970, 1, 1, tzinfo=UTC) + timedelta(milliseconds=ms))


class _Walks:
    """Which walk a track record is of."""

    def __init__(self, register: Register) -> None:
        self._register = register
        self._by_device: dict[str, list[Walk]] = defaultdict(list)
        walkers = register.known.walkers
        for walk in walkers.walks() if walkers is not None else ():
            self._by_device[walk.carried.device].append(walk)

    def season_of(self, one: Held) -> int | None:
        """Give the season of a track's walk, else of its own day; None where no time is known."""
        walk = self._of(one)
        at_ms = self._at_ms(one) if walk is None else walk.carried.since_ms
        if at_ms is None:
            return None
        block = self._register.block
        at = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(milliseconds=at_ms)
        return season_of(at.astimezone(ZoneInfo(block.zone)).date(), block.season_start)

    def first_tracks(self, due: Sequence[Held]) -> dict[tuple[str, str], Walk]:
        """Give, of each walk, the first of its tracks that counts: what it tells stands there."""
        counts = {(c.name, id(c.record)) for c in self._register.merged.counted}
        first: dict[Name, tuple[float, Held, Walk]] = {}
        for one in due:
            walk, at_ms = self._of(one), self._at_ms(one)
            if walk is None or at_ms is None or (one.name, id(one.record)) not in counts:
                continue
            before = first.get(walk.name)
            if before is None or (at_ms, one.name) < (before[0], before[1].name):
                first[walk.name] = (at_ms, one, walk)
        return {(one.name, one.total): walk for _, one, walk in first.values()}

    def _of(self, one: Held) -> Walk | None:
        at_ms = self._at_ms(one)
        if at_ms is None:
            return None
        return next((walk for walk in self._by_device.get(one.record["device"], ())
                     if walk.carried.since_ms <= at_ms <= walk.carried.until_ms), None)

    def _at_ms(self, one: Held) -> float | None:
        """Give the instant of a track's first fix, mended as its record is. [ms since 1970]."""
        try:
            late = instant(one.record["at"]) - self._register.merged.times[one.name]
            return ms_of(instant(one.record["t0"]) - late)
        except (KeyError, RecordError, OverflowError):
            return None
