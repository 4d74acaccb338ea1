"""Who carried which track when: outings, and since when a press counts bags.

Rule 1: a press counts the bags since that picker's press before, or since the start or the going
on of the outing, whichever is later.
Rule 2: presses of the minute before a press are of the same tally: they share its time.
Rule 3: a person's own phone tells first, then another receiver that went along.
"""

import bisect
import dataclasses
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from sync.intake.clock import is_phone
from sync.intake.fixes import ms_of
from sync.intake.same import all_same
from sync.intake.seen import BagSeen, OutingSeen

#: Of an outing: its start [ms since 1970], its device, and the number of the record of its start.
Name = tuple[float, str, int]


@dataclasses.dataclass(frozen=True)
class Carried:
    """One outing: who carried which device, from when to when, and when it began or went on.

    Attributes
    ----------
    since_ms, until_ms : float
        Infinite where no end is known. [ms since 1970]
    begun_ms : tuple of float
        Instants of its start and of each going on.
    picks : bool
        False of a surveyor's: measuring is not picking.
    seq : int
        Number of the record of its start; two of one phone may begin at one instant.
    """

    device: str
    person: str
    since_ms: float
    until_ms: float
    begun_ms: tuple[float, ...]
    picks: bool = True
    seq: int = 0

    @property
    def name(self) -> Name:
        """What it is known by."""
        return self.since_ms, self.device, self.seq


#: The presses of a device, and the outings they make.
Parted = tuple[Sequence[OutingSeen], Sequence[Carried]]


def outings_of(seen: Iterable[OutingSeen]) -> dict[str, tuple[Carried, ...]]:
    """Put the outings of each person together.

    Parameters
    ----------
    seen : iterable of OutingSeen
        Presses that began, paused, went on with or ended one.

    Returns
    -------
    dict of str to tuple of Carried
        By person, by start then device.
    """
    return by_person(parted_of(seen, {}))


def parted_of(seen: Iterable[OutingSeen], before: Mapping[str, Parted]) -> dict[str, Parted]:
    """Put the outings of each device together.

    Parameters
    ----------
    seen : iterable of OutingSeen
        Presses that began, paused, went on with or ended one.
    before : mapping of str to Parted
        Outings put together before; where the presses of a device are the same they serve again.

    Returns
    -------
    dict of str to Parted
        By device, in the order of the first press of each.
    """
    by_device: dict[str, list[OutingSeen]] = defaultdict(list)
    for one in seen:
        by_device[one.device].append(one)
    found: dict[str, Parted] = {}
    for device, presses in by_device.items():
        known = before.get(device)
        found[device] = known if known is not None and all_same(known[0], presses) else (
            presses, _parted(sorted(presses, key=lambda one: one.seq)))
    return found


def by_person(parted: Mapping[str, Parted]) -> dict[str, tuple[Carried, ...]]:
    """Give the outings of each person.

    Parameters
    ----------
    parted : mapping of str to Parted
        By device.

    Returns
    -------
    dict of str to tuple of Carried
        By person, by start then device.
    """
    carried: dict[str, list[Carried]] = defaultdict(list)
    for _, outings in parted.values():
        for outing in outings:
            carried[outing.person].append(outing)
    return {person: tuple(sorted(each, key=lambda one: (one.since_ms, one.device)))
            for person, each in carried.items()}


def _parted(presses: Sequence[OutingSeen]) -> list[Carried]:
    found: list[Carried] = []
    begun: list[float] = []
    start: OutingSeen | None = None
    for one in (*presses, None):
        ends = one is None or one.state in {"start", "end"}
        if start is not None and ends:
            until = float("inf") if one is None else ms_of(one.at)
            found.append(Carried(
                start.device, start.person, ms_of(start.at), until, tuple(begun),
                start.role != "surveyor", start.seq))
            start = None
        if one is not None and one.state == "start":
            start, begun = one, [ms_of(one.at)]
        elif one is not None and one.state == "resume" and start is not None:
            begun.append(ms_of(one.at))
    return found


def times_by_picker(bags: Iterable[BagSeen]) -> dict[str, list[float]]:
    """Give the instants of the presses for each picker on phones, ascending. [ms since 1970].

    Those typed in at the shed have no instant and count for none.
    """
    times: dict[str, set[float]] = defaultdict(set)
    for bag in bags:
        if is_phone(bag.device):
            times[bag.picker].add(ms_of(bag.at))
    return {picker: sorted(each) for picker, each in times.items()}


def since_of(
    at_ms: float, times: Sequence[float], outing: Carried, one_tally_ms: float
) -> float:
    """Give the instant since when a press counts its picker's bags.

    Parameters
    ----------
    at_ms : float
        The press. [ms since 1970]
    times : sequence of float
        All presses for its picker on phones, ascending. [ms since 1970]
    outing : Carried
        Its picker's, open at that time.
    one_tally_ms : float
        Presses of so long before a press are of the same tally. [ms]

    Returns
    -------
    float
        [ms since 1970]
    """
    begun = max([one for one in outing.begun_ms if one <= at_ms], default=outing.since_ms)
    place = bisect.bisect_left(times, at_ms - one_tally_ms)
    before = times[place - 1] if place > 0 else float("-inf")
    return max(begun, before)
