"""The merge: from all records that are held to those that count, whatever order they came in.

Rule 1: the result is a function of the set of names and contents alone.
Rule 2: nothing is dropped; what does not count is still held and still fills its number.
Rule 3: a name with two contents counts once: sealed before unsealed, then the smaller sum.
"""

import bisect
import dataclasses
import functools
import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, Literal
from zoneinfo import ZoneInfo

import numpy as np

from fieldapp.record import is_known_kind, problems, split_name, where_of
from sync.intake.again import Again
from sync.intake.check import Aside, Held
from sync.intake.clock import Timed, is_phone, mended_times
from sync.intake.counted import Counted
from sync.intake.counts import Judged, links_of, what_counts
from sync.intake.heads import NO_TRACKS, Tracks, beside_of

__all__ = ["Counted", "Merged", "Times", "Undone", "merge"]


class Times:
    """The mended time of every sound record that has one, by name, UTC.

    Parameters
    ----------
    read : mapping of str to datetime
        Of the records that were read.
    tracks : Tracks
        Those that were not.
    """

    def __init__(self, read: Mapping[str, datetime], tracks: Tracks = NO_TRACKS) -> None:
        self._read = read
        self._tracks = tracks

    def __len__(self) -> int:
        return len(self._read) + sum(map(len, self._tracks.by_device.values()))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Times) and (
            self._read == other._read and self._tracks is other._tracks)

    __hash__ = None  # type: ignore[assignment]

    def __contains__(self, name: str) -> bool:
        return self.get(name) is not None

    def __getitem__(self, name: str) -> datetime:
        at = self.get(name)
        if at is None:
            raise KeyError(name)
        return at

    def get(self, name: str) -> datetime | None:
        """Give the time of a record; None of one that is not there or has none."""
        head = None if name in self._read else self._tracks.find(name)
        return self._read.get(name) if head is None else self._tracks.at(head)


@dataclasses.dataclass(frozen=True)
class Undone:
    """A sound record that does not count, and why.

    Attributes
    ----------
    said : Counted
        The record as it would count: with the time, person and place of the first it stands for.
    how : {"mended", "void", "paper"}
        Another stands in for it, a void takes it away, or a paper count whose records came.
    by : str
        The record that did it; of a paper count the phone whose records came.
    """

    said: Counted
    how: Literal["mended", "void", "paper"]
    by: str


@dataclasses.dataclass(frozen=True)
class Merged:
    """All that the held records say.

    Attributes
    ----------
    counted : tuple of Counted
        By time, then device and number.
    numbers : mapping of str to tuple of int
        The numbers received of each device, set aside or not, ascending.
    times : mapping of str to datetime
        Mended time of every sound record that has one, by name.
    twice : mapping of str to tuple of str
        Names with more than one content, and their sums.
    undone : tuple of Undone
        What does not count of the known kinds, by time; voids are left out.
    tracks : Tracks
        Plain tracks that count and are not read; they are not among `counted`.
    """

    counted: tuple[Counted, ...]
    numbers: Mapping[str, tuple[int, ...]]
    times: Times
    twice: Mapping[str, tuple[str, ...]]
    undone: tuple[Undone, ...] = ()
    tracks: Tracks = NO_TRACKS

    @functools.cached_property
    def names(self) -> frozenset[str]:
        """Names of the records that count, of tracks that are not read apart."""
        return frozenset(one.name for one in self.counted)

    def counts(self, name: str) -> bool:
        """Say whether the record of a name counts."""
        return name in self.names or self.tracks.find(name) is not None


def merge(
    held: Iterable[Held],
    aside: Iterable[Aside] = (),
    *,
    zone: str,
    clock_off_s: float,
    aliases: Mapping[tuple[str, str], str] | None = None,
    tracks: Tracks = NO_TRACKS,
    again: Again | None = None,
) -> Merged:
    """Merge the held records.

    Parameters
    ----------
    held : iterable of Held
        Every sound record, in any order, repeats allowed.
    aside : iterable of Aside
        What waits; it counts as received, and a `shed` record may stand in for it.
    zone : str
        The block's time zone: days are its days.
    clock_off_s : float
        The most by which phone and satellite time may differ. [s]
    aliases : mapping, optional
        Person codes of letters that a phone used without a sheet, by (device, letter).
    tracks : Tracks, optional
        Plain tracks that nothing else names and whose time needs no mending.
    again : Again, optional
        What counted before; what is the same is given again.

    Returns
    -------
    Merged
        The records that count, and the numbers that were received.
    """
    lines = tuple(aside)
    chosen, twice = _one_of_each(held)
    waiting = _readable_aside(lines, chosen)
    times = _times(chosen.values(), clock_off_s, tracks)
    waiting_times = _times(
        (*waiting.values(), *chosen.values()), clock_off_s, tracks) if waiting else {}
    said, waits = ({name: one.record for name, one in each.items()} for each in (chosen, waiting))
    links = links_of(said, waits)
    again = again or Again()
    view = _View(chosen, waits, {**waiting_times, **times}, links, ZoneInfo(zone), aliases or {},
                 again)
    numbers = _numbers(chosen.values(), lines, tracks)
    judged = what_counts(said, links)
    counted = [view.counted(name) for name in judged.counts]
    again.keep_counted(counted)
    overtaken = [c for c in counted if _paper_overtaken(c, numbers)]
    kept = [c for c in counted if not _paper_overtaken(c, numbers)] if overtaken else counted
    kept.sort(key=_in_time)
    undone = [Undone(c, "paper", c.record["covers"][0]) for c in overtaken]
    undone += view.taken_back(judged)
    undone.sort(key=lambda one: _in_time(one.said))
    return Merged(
        tuple(kept), numbers, Times({n: t.at for n, t in times.items()}, tracks), twice,
        tuple(undone), _with_aliases(tracks, aliases or {}))


def _with_aliases(tracks: Tracks, aliases: Mapping[tuple[str, str], str]) -> Tracks:
    """Give the tracks with the person code of whoever a letter stands for."""
    if not any(device in tracks.by_device for device, _ in aliases):
        return tracks
    people = list(tracks.people)
    by_device = dict(tracks.by_device)
    for (device, letter), code in aliases.items():
        if device in by_device and letter in tracks.people:
            mine = by_device[device] = by_device[device].copy()
            mine["person"][tracks.by_device[device]["person"] == people.index(letter)] = (
                len(people))
            people.append(code)
    return dataclasses.replace(tracks, people=tuple(people), by_device=by_device)


def _in_time(one: Counted) -> tuple[datetime, str, int, str]:
    return one.at, one.device, one.seq, one.name


def _one_of_each(held: Iterable[Held]) -> tuple[dict[str, Held], dict[str, tuple[str, ...]]]:
    chosen: dict[str, Held] = {}
    sums: dict[str, set[str]] = {}
    for one in held:
        other = chosen.setdefault(one.name, one)
        if other is not one:
            sums.setdefault(one.name, {other.total}).add(one.total)
            chosen[one.name] = min(other, one, key=lambda each: (not each.sealed, each.total))
    twice = {name: tuple(sorted(each)) for name, each in sorted(sums.items()) if len(each) > 1}
    return chosen, twice


def _readable_aside(aside: Iterable[Aside], chosen: Mapping[str, object]) -> dict[str, Held]:
    """Read what can be read of lines that wait, so that a mend can take their time and place."""
    waiting: dict[str, Held] = {}
    for one in sorted(aside, key=lambda a: a.raw):
        if one.name is None or one.name in chosen or one.name in waiting:
            continue
        try:
            record = json.loads(one.raw)
        except (ValueError, RecursionError):
            record = None
        waiting[one.name] = Held(
            one.name, "", record if isinstance(record, dict) else {}, sealed=False)
    return waiting


def _times(said: Iterable[Held], clock_off_s: float, tracks: Tracks) -> dict[str, Timed]:
    """Mend the times of records of many devices, by name."""
    own: dict[str, dict[int, datetime]] = defaultdict(dict)
    lags: dict[str, dict[int, float]] = defaultdict(dict)
    for one in said:
        device, seq, at, _, lag_s = one.said
        if at is not None:
            own[device][seq] = at
        if lag_s is not None:
            lags[device][seq] = lag_s
    return {
        f"{device}:{seq}": timed
        for device, mine in own.items()
        for seq, timed in mended_times(
            mine, lags[device], phone=is_phone(device), clock_off_s=clock_off_s,
            beside=beside_of(tracks.of(device)),
        ).items()
    }


def _numbers(
    chosen: Iterable[Held], aside: Iterable[Aside], tracks: Tracks
) -> dict[str, tuple[int, ...]]:
    by_device: dict[str, set[int]] = defaultdict(set)
    for device, seq in (*(one.said[:2] for one in chosen),
                        *(split_name(one.name) for one in aside if one.name is not None)):
        by_device[device].add(seq)
    return {
        device: tuple(np.sort(np.append(
            tracks.of(device)["seq"],
            np.fromiter(by_device[device], np.int64, len(by_device[device])))).tolist())
        for device in sorted({*by_device, *tracks.by_device})}


def _paper_overtaken(counted: Counted, numbers: Mapping[str, Sequence[int]]) -> bool:
    """Say whether a paper count is void because a record of its hole has come after all."""
    covers = counted.record.get("covers") if counted.kind == "bag" else None
    if not covers:
        return False
    device, first, last = covers
    received = numbers.get(device, ())
    place = bisect.bisect_left(received, first)
    return place < len(received) and received[place] <= last


@dataclasses.dataclass(frozen=True)
class _View:
    """What is needed to see a record as the first one it stands for."""

    chosen: Mapping[str, Held]
    waiting: Mapping[str, Mapping[str, Any]]
    times: Mapping[str, Timed]
    links: Mapping[str, str]
    zone: ZoneInfo
    aliases: Mapping[tuple[str, str], str]
    again: Again

    def counted(self, name: str) -> Counted:
        first = sound = name
        while first in self.links:
            first = self.links[first]
            sound = first if first in self.chosen else sound
        origin = self.chosen[sound]
        person, where = origin.record["person"], origin.said.where
        if first != sound:
            mended = self._mended(first, sound)
            person, where = mended["person"], where_of(mended)
        timed = self.times.get(first) or self.times[sound]
        device, seq = origin.said[:2] if first == sound else split_name(first)
        record, person = self._with_alias(name), self._person(device, person)
        known = self.again.counted(name)
        if known is not None and known.record is record and known.where is where and (
                known.at, known.person, known.device, known.seq, known.lag_s) == (
                timed.at, person, device, seq, timed.lag_s) and (
                known.day == timed.at.astimezone(self.zone).date()):
            return known
        return Counted(
            name=name,
            record=record,
            at=timed.at,
            day=timed.at.astimezone(self.zone).date(),
            person=person,
            where=where,
            device=device,
            seq=seq,
            lag_s=timed.lag_s,
        )

    def taken_back(self, judged: Judged) -> list[Undone]:
        """Give the records that a void or another record takes away."""
        stands = {first: name for name, first in judged.first_of.items()}
        found = []
        for name, one in self.chosen.items():
            record = one.record
            if (name in judged.first_of or record["kind"] == "void"
                    or not is_known_kind(record)):
                continue
            said = self.counted(name)
            other = stands.get(f"{said.device}:{said.seq}")
            if other is not None:
                found.append(Undone(said, "mended", other))
            elif name in judged.voided:
                found.append(Undone(said, "void", judged.voided[name]))
        return found

    def _person(self, device: str, code: str) -> str:
        return self.aliases.get((device, code), code)

    def _with_alias(self, name: str) -> Mapping[str, Any]:
        """Give a record with the person code of whoever a letter in `for` stands for."""
        record = self.chosen[name].record
        whose = record.get("for") if record["kind"] == "bag" else None
        if whose is None or self._person(split_name(name)[0], whose) == whose:
            return record
        return {**record, "for": self._person(split_name(name)[0], whose)}

    def _mended(self, first: str, sound: str) -> Mapping[str, Any]:
        """Take place and person of a waiting record where they can be read."""
        own, said = self.chosen[sound].record, self.waiting[first]
        readable = {key: said[key] for key in ("person", "where") if key in said}
        wrong = {p.field for p in problems({**own, **readable})}
        return {**own, **{k: v for k, v in readable.items() if k not in wrong}}
