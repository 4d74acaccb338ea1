"""Which records must be merged together: those of a device, and what the shed says of them.

Rule 1: a record is named by later ones of its own device or by the shed's, so those of two devices
hang together only where the shed's records, or its lines that wait, name both of them in a chain.
Rule 2: no part looks at another; paper counts, which look at another device's numbers, come last.
"""

import dataclasses
import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from fieldapp.record import NAME, SHED, split_name
from sync.intake.check import Aside, Held
from sync.intake.heads import Heads, Tracks
from sync.intake.same import all_same


@dataclasses.dataclass(frozen=True, eq=False)
class ByDevice:
    """All records and lines, by device.

    Attributes
    ----------
    held : mapping of str to list of Held
        In the order in which they were given.
    lines : mapping of str to list of Aside
        Lines that wait and have a name.
    """

    held: Mapping[str, Sequence[Held]]
    lines: Mapping[str, Sequence[Aside]]


@dataclasses.dataclass(frozen=True, eq=False)
class Part:
    """Records that are merged together.

    Attributes
    ----------
    devices : tuple of str
        All of whose records it holds, ascending; of the shed's it holds those that name any.
    held : tuple of Held
        The records.
    lines : tuple of Aside
        Lines of these devices that wait, and those of the shed that name any.
    heads : tuple of Heads
        Plain tracks of the devices.
    """

    devices: tuple[str, ...]
    held: tuple[Held, ...]
    lines: tuple[Aside, ...]
    heads: tuple[Heads, ...]

    def is_same(self, other: "Part") -> bool:
        """Say whether another is made of the very same records."""
        return (self.devices == other.devices and all_same(self.held, other.held)
                and self.lines == other.lines and all_same(self.heads, other.heads))


def by_device(held: Iterable[Held], aside: Iterable[Aside]) -> ByDevice:
    """Sort records and lines by device."""
    records: dict[str, list[Held]] = defaultdict(list)
    lines: dict[str, list[Aside]] = defaultdict(list)
    begins, mine = ":", list[Held]()
    for one in held:
        if not one.name.startswith(begins):  # most stand beside others of their device
            begins, mine = f"{one.device}:", records[one.device]
        mine.append(one)
    for line in aside:
        if line.name is not None:
            lines[split_name(line.name)[0]].append(line)
    return ByDevice(dict(records), dict(lines))


def parts_of(every: ByDevice, tracks: Tracks) -> list[Part]:
    """Part the records so that no part says anything of another.

    Parameters
    ----------
    every : ByDevice
        All records and lines.
    tracks : Tracks
        Plain tracks that are not read.

    Returns
    -------
    list of Part
        What the shed says of no device is a part of its own, with no devices.
    """
    joined = _joined_by_shed(every)
    devices: dict[str, list[str]] = defaultdict(list)
    for device in (every.held.keys() | every.lines.keys() | joined.devices) - {SHED}:
        devices[joined.root(device)].append(device)
    held: dict[str, list[Held]] = defaultdict(list)
    lines: dict[str, list[Aside]] = defaultdict(list)
    for one in every.held.get(SHED, ()):
        root = joined.root(one.name)
        held[root if root in devices else SHED].append(one)
    for line in every.lines.get(SHED, ()):
        root = joined.root(str(line.name))
        lines[root if root in devices else SHED].append(line)
    rest = Part((), tuple(held[SHED]), tuple(lines[SHED]), ())
    return [rest] + [
        Part(tuple(mine),
             (*(one for device in mine for one in every.held.get(device, ())), *held[root]),
             (*(one for device in mine for one in every.lines.get(device, ())), *lines[root]),
             tuple(tracks.of(device) for device in mine))
        for root, each in sorted(devices.items()) for mine in [sorted(each)]]


def record_in(line: Aside) -> Mapping[str, Any]:
    """Read what can be read of a line that waits."""
    try:
        record = json.loads(line.raw)
    except (ValueError, RecursionError):
        return {}
    return record if isinstance(record, dict) else {}


class _Joined:
    """Devices and records of the shed, joined where one names the other."""

    def __init__(self) -> None:
        self._above: dict[str, str] = {}
        self.devices: set[str] = set()

    def root(self, one: str) -> str:
        """Give what stands for all that one is joined with; itself where it is with none."""
        passed = []
        while one in self._above:
            passed.append(one)
            one = self._above[one]
        self._above.update(dict.fromkeys(passed, one))
        return one

    def join(self, one: str, other: str) -> None:
        """Join two."""
        low, high = sorted((self.root(one), self.root(other)))
        if low != high:
            self._above[high] = low


def _joined_by_shed(every: ByDevice) -> _Joined:
    joined = _Joined()
    said = [(one.name, one.record) for one in every.held.get(SHED, ())]
    said += [(str(line.name), record_in(line)) for line in every.lines.get(SHED, ())]
    for name, record in said:
        for field in ("of", "instead_of"):
            target = record.get(field)
            if isinstance(target, str) and NAME.match(target):
                device = target.rpartition(":")[0]
                joined.join(name, target if device == SHED else device)
                if device != SHED:
                    joined.devices.add(device)
    return joined
