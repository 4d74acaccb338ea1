"""The merge: from all records that are held to those that count, whatever order they came in.

Rule 1: the result is a function of the set of names and contents alone.
Rule 2: nothing is dropped; what does not count is still held and still fills its number.
Rule 3: a name with two contents counts once: sealed before unsealed, then the smaller sum.
"""

import bisect
import dataclasses
import functools
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime

import numpy as np

from fieldapp.record import KINDS, split_name
from sync.intake.again import Again
from sync.intake.check import Aside, Held
from sync.intake.counted import Counted
from sync.intake.heads import NO_TRACKS, Heads, Tracks
from sync.intake.memo import Memo, NoMemo
from sync.intake.part import SAID_IN_TIME, PartMerged, Rules, Undone
from sync.intake.parts import ByDevice, by_device, parts_of
from sync.intake.remembered import merged_part

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
class Merged:
    """All that the held records say.

    Attributes
    ----------
    counted : tuple of Counted
        By time, then device and number.
    numbers : mapping of str to sequence of int
        The numbers received of each device, set aside or not, ascending; a range where none is
        missing between the first and the last.
    times : mapping of str to datetime
        Mended time of every sound record that has one, by name.
    twice : mapping of str to tuple of str
        Names with more than one content, and their sums.
    undone : tuple of Undone
        What does not count of the known kinds, by time; voids are left out.
    tracks : Tracks
        Plain tracks that count and are not read; they are not among `counted`.
    made_of : mapping of str to str
        By phone or receiver, a sum of all that its records count by, where somebody summed the
        records up.
    """

    counted: tuple[Counted, ...]
    numbers: Mapping[str, Sequence[int]]
    times: Times
    twice: Mapping[str, tuple[str, ...]]
    undone: tuple[Undone, ...] = ()
    tracks: Tracks = NO_TRACKS
    made_of: Mapping[str, str] = dataclasses.field(default_factory=dict, compare=False)

    @functools.cached_property
    def names(self) -> frozenset[str]:
        """Names of the records that count, of tracks that are not read apart."""
        return frozenset(one.name for one in self.counted)

    @functools.cached_property
    def by_kind(self) -> Mapping[str, Sequence[Counted]]:
        """The records that count by each known kind, in their order; of tracks those read."""
        found: dict[str, list[Counted]] = {kind: [] for kind in KINDS}
        for one in self.counted:
            found[one.record["kind"]].append(one)
        return found

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
    sums: Mapping[str, str] | None = None,
    memo: Memo | None = None,
    program: str = "",
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
    sums : mapping of str to str, optional
        Of all records of each device, as `sync.intake.sums` sums them up.
    memo : Memo, optional
        Remembers what counts of the records of a device by that sum.
    program : str
        Version of the program: another one remembers anew.

    Returns
    -------
    Merged
        The records that count, and the numbers that were received.
    """
    rules = Rules(zone, clock_off_s, dict(aliases or {}), program)
    again = again or Again()
    every = by_device(held, aside)
    parts = again.parts(
        parts_of(every, tracks), rules, lambda part, before: merged_part(
            part, rules, tracks, before, sums or {}, memo or NoMemo()))
    numbers = _numbers(every, tracks, again)
    overtaken = [c for part in parts for c in part.papers if _paper_overtaken(c, numbers)]
    gone = {one.name for one in overtaken}
    counted = again.in_time([_without(part.counted, gone) for part in parts])
    undone = [Undone(c, "paper", c.record["covers"][0]) for c in overtaken]
    undone += [one for part in parts for one in part.undone]
    times: dict[str, datetime] = {}
    twice: dict[str, tuple[str, ...]] = {}
    for part in parts:
        times |= part.times
        twice |= part.twice
    return Merged(
        counted, numbers, Times(times, tracks), dict(sorted(twice.items())),
        tuple(sorted(undone, key=SAID_IN_TIME)), _with_aliases(tracks, rules.aliases, again),
        {device: total for part in parts for device, total in _made_of(part, gone)})


def _made_of(part: PartMerged, gone: Collection[str]) -> Iterator[tuple[str, str]]:
    """Give the sum of a part for each of its devices, without the paper counts that are gone."""
    if part.total is None:
        return
    papers = [one.name for one in part.papers if one.name in gone]
    for device in part.devices:
        yield device, f"{part.total} {papers}" if papers else part.total


def _without(counted: tuple[Counted, ...], gone: Collection[str]) -> tuple[Counted, ...]:
    """Leave out records by name; where none is there it is the very same."""
    left = tuple(one for one in counted if one.name not in gone) if gone else counted
    return counted if len(left) == len(counted) else left


def _with_aliases(
    tracks: Tracks, aliases: Mapping[tuple[str, str], str], again: Again
) -> Tracks:
    """Give the tracks with the person code of whoever a letter stands for."""
    people = list(tracks.people)
    swaps: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for (device, letter), code in aliases.items():
        if device in tracks.by_device and letter in tracks.people:
            if code not in people:
                people.append(code)
            swaps[device].append((people.index(letter), people.index(code)))

    def swapped(device: str) -> Heads:
        heads = tracks.of(device)
        mine = heads.copy()
        for letter, code in swaps[device]:
            mine["person"][heads["person"] == letter] = code
        return mine

    swapped_of = again.each(
        "aliases", {device: ((tracks.of(device),), tuple(each))
                    for device, each in swaps.items()}, swapped)
    return dataclasses.replace(
        tracks, people=tuple(people), by_device={**tracks.by_device, **swapped_of}
    ) if swaps else tracks


def _numbers(every: ByDevice, tracks: Tracks, again: Again) -> dict[str, Sequence[int]]:
    def of(device: str) -> Sequence[int]:
        own = {one.seq for one in every.held.get(device, ())}
        own.update(split_name(str(line.name))[1] for line in every.lines.get(device, ()))
        numbers = np.append(tracks.of(device)["seq"], np.fromiter(own, np.int64, len(own)))
        numbers.sort(kind="stable")  # quick where most stand in order
        numbers = numbers[np.append(True, numbers[1:] != numbers[:-1])]
        first, last = int(numbers[0]), int(numbers[-1])
        # Most phones miss none, and ten seasons have a million.
        none_is_missing = last - first + 1 == len(numbers)
        return range(first, last + 1) if none_is_missing else tuple(numbers.tolist())

    return again.each("numbers", {
        device: ((*every.held.get(device, ()), tracks.of(device)),
                 tuple(line.name for line in every.lines.get(device, ())))
        for device in sorted(every.held.keys() | every.lines.keys() | tracks.by_device.keys())
    }, of)


def _paper_overtaken(counted: Counted, numbers: Mapping[str, Sequence[int]]) -> bool:
    """Say whether a paper count is void because a record of its hole has come after all."""
    covers = counted.record.get("covers") if counted.kind == "bag" else None
    if not covers:
        return False
    device, first, last = covers
    received = numbers.get(device, ())
    place = bisect.bisect_left(received, first)
    return place < len(received) and received[place] <= last
