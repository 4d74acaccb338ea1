"""The merge of records that hang together, device by device.

Rule 1: a name with two contents counts once: sealed before unsealed, then the smaller sum.
Rule 2: a record that stands in for others is seen as the first of them: its time, person, place.
"""

import dataclasses
import operator
from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, Literal
from zoneinfo import ZoneInfo

from fieldapp.record import is_known_kind, problems, split_name, where_of
from sync.intake.check import Aside, Held, Said
from sync.intake.clock import Timed, is_phone, lag_of, mended_times
from sync.intake.counted import Counted
from sync.intake.counts import Judged, links_of, what_counts
from sync.intake.heads import Tracks, beside_of
from sync.intake.parts import Part, record_in

#: By time, then device and number.
IN_TIME = operator.attrgetter("at", "device", "seq", "name")
SAID_IN_TIME = operator.attrgetter("said.at", "said.device", "said.seq", "said.name")


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
class Rules:
    """What all parts are merged by.

    Attributes
    ----------
    zone : str
        The block's time zone: days are its days.
    clock_off_s : float
        The most by which phone and satellite time may differ. [s]
    aliases : mapping
        Person codes of letters that a phone used without a sheet, by (device, letter).
    program : str
        Version of the program.
    """

    zone: str
    clock_off_s: float
    aliases: Mapping[tuple[str, str], str]
    program: str = ""


@dataclasses.dataclass(frozen=True, eq=False)
class PartMerged:
    """What the records of a part say.

    Attributes
    ----------
    counted : tuple of Counted
        By time; paper counts count whatever came.
    papers : tuple of Counted
        The paper counts among them.
    undone : tuple of Undone
        What another record takes away, by time.
    times : mapping of str to datetime
        Mended time of every record that has one, by name.
    twice : mapping of str to tuple of str
        Names with more than one content, and their sums.
    devices : tuple of str
        As of `Part`.
    total : str or None
        A sum of all that this is made of; None where nobody summed the devices up.
    """

    counted: tuple[Counted, ...]
    papers: tuple[Counted, ...]
    undone: tuple[Undone, ...]
    times: Mapping[str, datetime]
    twice: Mapping[str, tuple[str, ...]]
    devices: tuple[str, ...]
    total: str | None


def merge_part(
    part: Part, rules: Rules, tracks: Tracks, before: Mapping[str, Counted],
    total: str | None = None,
) -> PartMerged:
    """Merge records that hang together.

    Parameters
    ----------
    part : Part
        All of them.
    rules : Rules
        Zone, clock's bound and aliases.
    tracks : Tracks
        Plain tracks that are not read.
    before : mapping of str to Counted
        What counted before, by name; what is the same is given again.
    total : str, optional
        A sum of all that the part is made of.

    Returns
    -------
    PartMerged
        What counts and what does not.
    """
    chosen, twice = _one_of_each(part.held)
    waiting = _readable_aside(part.lines, chosen)
    said = {name: _said(one, before.get(name)) for name, one in chosen.items()}
    times = _times(said.values(), rules.clock_off_s, tracks)
    waiting_times = _times(
        (*(one.said for one in waiting.values()), *said.values()), rules.clock_off_s, tracks
    ) if waiting else {}
    records, waits = (
        {name: one.record for name, one in each.items()} for each in (chosen, waiting))
    links = links_of(records, waits)
    view = _View(chosen, said, waits, {**waiting_times, **times}, links, ZoneInfo(rules.zone),
                 rules.aliases, before)
    judged = what_counts(records, links)
    counted = sorted((view.counted(name) for name in judged.counts), key=IN_TIME)
    return PartMerged(
        tuple(counted),
        tuple(one for one in counted if one.record["kind"] == "bag" and one.record.get("covers")),
        tuple(sorted(view.taken_back(judged), key=SAID_IN_TIME)),
        {name: timed.at for name, timed in times.items()}, twice, part.devices, total)


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


def _readable_aside(lines: Iterable[Aside], chosen: Mapping[str, object]) -> dict[str, Held]:
    """Read what can be read of lines that wait, so that a mend can take their time and place."""
    waiting: dict[str, Held] = {}
    for one in sorted(lines, key=lambda line: line.raw):
        if one.name is not None and one.name not in chosen and one.name not in waiting:
            waiting[one.name] = Held(one.name, "", record_in(one), sealed=False)
    return waiting


def _said(one: Held, known: Counted | None) -> Said:
    """Read what a record says of itself, by how it counted before where that is all its own.

    It is where it stood for itself, as it stands, and its time was not mended.
    """
    if known is None or known.record is not one.record or known.lag_s is not None or (
            f"{known.device}:{known.seq}" != one.name):
        return one.said
    return Said(known.device, known.seq, known.at, known.where,
                lag_of(one.record, known.where))


def _times(said: Iterable[Said], clock_off_s: float, tracks: Tracks) -> dict[str, Timed]:
    """Mend the times of records of many devices, by name."""
    own: dict[str, dict[int, datetime]] = defaultdict(dict)
    lags: dict[str, dict[int, float]] = defaultdict(dict)
    for device, seq, at, _, lag_s in said:
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


@dataclasses.dataclass(frozen=True)
class _View:
    """What is needed to see a record as the first one it stands for."""

    chosen: Mapping[str, Held]
    said: Mapping[str, Said]
    waiting: Mapping[str, Mapping[str, Any]]
    times: Mapping[str, Timed]
    links: Mapping[str, str]
    zone: ZoneInfo
    aliases: Mapping[tuple[str, str], str]
    before: Mapping[str, Counted]

    def counted(self, name: str) -> Counted:
        first = sound = name
        while first in self.links:
            first = self.links[first]
            sound = first if first in self.chosen else sound
        origin = self.chosen[sound]
        person, where = origin.record["person"], self.said[sound].where
        if first != sound:
            mended = self._mended(first, sound)
            person, where = mended["person"], where_of(mended)
        timed = self.times.get(first) or self.times[sound]
        device, seq = self.said[sound][:2] if first == sound else split_name(first)
        record, person = self._with_alias(name), self._person(device, person)
        day = timed.at.astimezone(self.zone).date()
        known = self.before.get(name)
        if known is not None and known.record is record and (
                known.at, known.day, known.person, known.where, known.device, known.seq,
                known.lag_s) == (
                timed.at, day, person, where, device, seq, timed.lag_s):
            return known
        return Counted(name, record, timed.at, day, person, where, device, seq, timed.lag_s)

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
        if not self.aliases:
            return record
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
