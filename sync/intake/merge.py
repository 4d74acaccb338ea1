"""The merge: from all records that are held to those that count, whatever order they came in.

Rule 1: the result is a function of the set of names and contents alone.
Rule 2: nothing is dropped; what does not count is still held and still fills its number.
Rule 3: a name with two contents counts once: sealed before unsealed, then the smaller sum.
"""

import dataclasses
import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from fieldapp.record import Where, instant, is_known_kind, problems, split_name, where_of
from sync.intake.check import Aside, Held
from sync.intake.clock import Timed, is_phone, mended_times

SHED = "shed"


@dataclasses.dataclass(frozen=True)
class Counted:
    """A record that counts, with what it takes over from the one it replaces.

    Attributes
    ----------
    name : str
        Its own name.
    record : mapping
        Its own body.
    at, day : datetime, date
        When it happened: the first one's time, mended; the local day of it.
    person : str
        Who noted it first, by person code.
    where : Where or None
        Where it was noted first.
    device, seq : str, int
        The phone and number of the first one.
    lag_s : float or None
        The clock error that was mended. [s]
    """

    name: str
    record: Mapping[str, Any]
    at: datetime
    day: date
    person: str
    where: Where | None
    device: str
    seq: int
    lag_s: float | None

    @property
    def kind(self) -> str:
        """Its kind."""
        return str(self.record["kind"])


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
        Mended time of every sound record, by name.
    twice : mapping of str to tuple of str
        Names with more than one content, and their sums.
    """

    counted: tuple[Counted, ...]
    numbers: Mapping[str, tuple[int, ...]]
    times: Mapping[str, datetime]
    twice: Mapping[str, tuple[str, ...]]


def merge(
    held: Iterable[Held],
    aside: Iterable[Aside] = (),
    *,
    zone: str,
    clock_off_s: float,
    aliases: Mapping[tuple[str, str], str] | None = None,
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

    Returns
    -------
    Merged
        The records that count, and the numbers that were received.
    """
    chosen, twice = _one_of_each(held)
    waiting = _readable_aside(aside, chosen)
    by_device = _by_device(chosen)
    times = {
        f"{device}:{seq}": timed
        for device, records in by_device.items()
        for seq, timed in mended_times(
            records, phone=is_phone(device), clock_off_s=clock_off_s
        ).items()
    }
    counts, replaces = _what_counts(by_device, waiting)
    view = _View(chosen, waiting, times, replaces, ZoneInfo(zone), aliases or {})
    numbers = _numbers(chosen, aside)
    counted = [view.counted(name) for name in sorted(counts)]
    kept = [c for c in counted if not _paper_overtaken(c, numbers)]
    kept.sort(key=lambda c: (c.at, c.device, c.seq, c.name))
    return Merged(tuple(kept), numbers, {n: t.at for n, t in times.items()}, twice)


def _one_of_each(
    held: Iterable[Held],
) -> tuple[dict[str, Mapping[str, Any]], dict[str, tuple[str, ...]]]:
    best: dict[str, dict[str, Held]] = defaultdict(dict)
    for one in held:
        before = best[one.name].get(one.total)
        if before is None or (one.sealed and not before.sealed):
            best[one.name][one.total] = one
    chosen = {
        name: min(each.values(), key=lambda h: (not h.sealed, h.total)).record
        for name, each in best.items()
    }
    twice = {name: tuple(sorted(each)) for name, each in sorted(best.items()) if len(each) > 1}
    return chosen, twice


def _readable_aside(
    aside: Iterable[Aside], chosen: Mapping[str, object]
) -> dict[str, Mapping[str, Any]]:
    """Read what can be read of lines that wait, so that a mend can take their time and place."""
    waiting: dict[str, Mapping[str, Any]] = {}
    for one in sorted(aside, key=lambda a: a.raw):
        if one.name is None or one.name in chosen or one.name in waiting:
            continue
        try:
            record = json.loads(one.raw)
        except ValueError:
            record = None
        waiting[one.name] = record if isinstance(record, dict) else {}
    return waiting


def _by_device(
    chosen: Mapping[str, Mapping[str, Any]],
) -> dict[str, dict[int, Mapping[str, Any]]]:
    by_device: dict[str, dict[int, Mapping[str, Any]]] = defaultdict(dict)
    for name, record in chosen.items():
        device, seq = split_name(name)
        by_device[device][seq] = record
    return by_device


def _what_counts(
    by_device: Mapping[str, Mapping[int, Mapping[str, Any]]],
    waiting: Mapping[str, Mapping[str, Any]],
) -> tuple[set[str], dict[str, str]]:
    """Work from the last word back: the shed's highest number first, then each phone's.

    A record can be named only by later ones of its own device, or by the shed, so when its turn
    comes every record that could name it has been judged. Of two that stand in for the same
    record the later word counts, or a thing mended twice would count twice.
    """
    order = [(SHED, seq) for seq in sorted(by_device.get(SHED, {}), reverse=True)]
    for device in sorted(by_device):
        if device != SHED:
            order += [(device, seq) for seq in sorted(by_device[device], reverse=True)]
    named: set[str] = set()
    counts: set[str] = set()
    replaces: dict[str, str] = {}
    for device, seq in order:
        record = by_device[device][seq]
        name = f"{device}:{seq}"
        if name in named or not is_known_kind(record):
            continue
        if record["kind"] == "void":
            named.add(record["of"])
            continue
        target = record.get("instead_of")
        if target is not None and _same_kind(record, target, by_device, waiting):
            if target in replaces.values():
                continue
            named.add(target)
            replaces[name] = target
        counts.add(name)
    return counts, replaces


def _same_kind(
    record: Mapping[str, Any],
    target: str,
    by_device: Mapping[str, Mapping[int, Mapping[str, Any]]],
    waiting: Mapping[str, Mapping[str, Any]],
) -> bool:
    device, seq = split_name(target)
    found = by_device.get(device, {}).get(seq)
    if found is None:
        found = waiting.get(target)
    if found is None:
        return False
    return bool(found.get("kind", record["kind"]) == record["kind"])


def _numbers(
    chosen: Mapping[str, object], aside: Iterable[Aside]
) -> dict[str, tuple[int, ...]]:
    names = set(chosen) | {a.name for a in aside if a.name is not None}
    by_device: dict[str, list[int]] = defaultdict(list)
    for name in names:
        device, seq = split_name(name)
        by_device[device].append(seq)
    return {device: tuple(sorted(seqs)) for device, seqs in sorted(by_device.items())}


def _paper_overtaken(counted: Counted, numbers: Mapping[str, Sequence[int]]) -> bool:
    """Say whether a paper count is void because a record of its hole has come after all."""
    covers = counted.record.get("covers") if counted.kind == "bag" else None
    if not covers:
        return False
    device, first, last = covers
    return any(first <= seq <= last for seq in numbers.get(device, ()))


@dataclasses.dataclass(frozen=True)
class _View:
    """What is needed to follow a record back to the first one it stands for."""

    chosen: Mapping[str, Mapping[str, Any]]
    waiting: Mapping[str, Mapping[str, Any]]
    times: Mapping[str, Timed]
    replaces: Mapping[str, str]
    zone: ZoneInfo
    aliases: Mapping[tuple[str, str], str]

    def counted(self, name: str) -> Counted:
        first = name
        while first in self.replaces:
            first = self.replaces[first]
        origin = self.chosen.get(first)
        if origin is None:
            origin = self._mended(name, first)
        timed = self.times.get(first) or self._time_of(origin)
        device, seq = split_name(first)
        person = str(origin["person"])
        return Counted(
            name=name,
            record=self.chosen[name],
            at=timed.at,
            day=timed.at.astimezone(self.zone).date(),
            person=self.aliases.get((device, person), person),
            where=where_of(origin),
            device=device,
            seq=seq,
            lag_s=timed.lag_s,
        )

    def _mended(self, name: str, first: str) -> Mapping[str, Any]:
        """Take time, place and person of a waiting record where they can be read."""
        own = self.chosen[name]
        said = self.waiting[first]
        readable = {key: said[key] for key in ("at", "person", "where") if key in said}
        trial = {**own, **readable}
        wrong = {p.field for p in problems(trial)}
        return {**own, **{k: v for k, v in readable.items() if k not in wrong}}

    def _time_of(self, origin: Mapping[str, Any]) -> Timed:
        return Timed(instant(origin["at"]), None)
