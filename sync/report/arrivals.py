"""What came in at the shed in a span of time: files, and records of whom nothing was known yet.

Rule 1: times of arrival say what came when and move no figure of the block.
"""

import dataclasses
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from fieldapp.record import SHED, instant, split_name


@dataclasses.dataclass(frozen=True)
class FileIn:
    """A file that came in.

    Attributes
    ----------
    said : str
        What came of it, as the log has it.
    new, known, aside : int
        Records new to the shed, already there, set aside.
    refused : str or None
        Why nothing of it was taken.
    """

    at: datetime
    file: str
    said: str
    new: int
    known: int
    aside: int
    refused: str | None


@dataclasses.dataclass(frozen=True)
class Arrived:
    """What came in between two times.

    Attributes
    ----------
    files : tuple of FileIn
        As they came.
    new : int
        Records that were new, those typed in at the shed among them.
    typed : int
        Of these, written down at the shed itself.
    by_device : mapping of str to int
        New records by device, in its order.
    last : mapping of str to datetime
        When something new of each device last came in, up to the later time.
    before : datetime or None
        When something last came in before; None if nothing did.
    """

    since: datetime
    until: datetime
    files: tuple[FileIn, ...]
    new: int
    typed: int
    by_device: Mapping[str, int]
    last: Mapping[str, datetime]
    before: datetime | None


def arrived_between(
    files: Sequence[FileIn], arrivals: Mapping[tuple[str, str], str],
    since: datetime, until: datetime,
) -> Arrived:
    """Give what came in between two times.

    Parameters
    ----------
    files : sequence of FileIn
        The intake log.
    arrivals : mapping of (str, str) to str
        When each record held first came in, UTC, by name and sum.
    since, until : datetime
        Aware; the later one is left out.

    Returns
    -------
    Arrived
        Records by the journal's own times, so that a log that was lost hides none.
    """
    times = [(split_name(name)[0], instant(at)) for (name, _), at in arrivals.items()]
    new = [device for device, at in times if since <= at < until]
    devices = Counter(new)
    last: dict[str, datetime] = {}
    for device, at in times:
        if at < until:
            last[device] = max(at, last.get(device, at))
    return Arrived(
        since, until, tuple(one for one in files if since <= one.at < until), len(new),
        devices[SHED], dict(sorted(devices.items())), last,
        _last_before(files, (at for _, at in times), since),
    )


def _last_before(
    files: Sequence[FileIn], times: Iterable[datetime], since: datetime
) -> datetime | None:
    earlier = [at for at in times if at < since]
    earlier += [one.at for one in files if one.at < since and one.refused is None]
    return max(earlier, default=None)
