"""Who is not signed off, and who called for help: by what came in, never more.

Rule 1: an END that is still on a phone is not known here.
Rule 2: help runs until somebody says on that phone that all is well, whatever is started or ended
meanwhile; or until the record is taken back.
Rule 3: a place is told of somebody who is not back or calls for help, of nobody else.
"""

import dataclasses
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from fieldapp.record import Where
from sync.intake.clock import is_phone
from sync.intake.merge import Counted
from sync.intake.unread import last_track
from sync.register.build import Register

#: An outing that began longer ago was never ended; nobody is out that long.
OUT_AT_MOST = timedelta(days=3)


@dataclasses.dataclass(frozen=True)
class Out:
    """Somebody who is not back, or who called for help, by what came in.

    Attributes
    ----------
    since : datetime or None
        When the open outing began; None where none is open and only help runs.
    last : datetime
        Time of the phone's last record.
    where : Where or None
        The last place noted since then, and `where_at` when.
    help_since : datetime or None
        Since when help runs; None if it does not.
    check_in_due : datetime or None
        When the next check-in was due; None where none is asked for.
    """

    person: str
    device: str
    since: datetime | None
    last: datetime
    where: Where | None
    where_at: datetime | None
    help_since: datetime | None
    check_in_due: datetime | None

    def overdue(self, at: datetime) -> bool:
        """Say whether a check-in was due by a time and is not known."""
        return self.check_in_due is not None and self.check_in_due < at


def who_is_out(register: Register, at: datetime) -> tuple[Out, ...]:
    """Give who began an outing and has not ended it, and where help runs.

    Parameters
    ----------
    register : Register
        What is known.
    at : datetime
        The time asked about, aware; what happened after it is left out, and an outing of more
        than three days before it counts as ended.

    Returns
    -------
    tuple of Out
        One a phone: those who called for help first, then by since when they are out.
    """
    by_device: dict[str, list[Counted]] = {}
    for one in register.merged.counted:
        if is_phone(one.device) and one.at <= at:
            by_device.setdefault(one.device, []).append(one)
    for device, own in by_device.items():
        track = last_track(register.merged.tracks, device, register.block.zone, until=at)
        if track is not None:
            own.append(track)
            own.sort(key=lambda one: (one.at, one.seq))
    out = [found for own in by_device.values()
           if (found := _out(own, at, register.block.check_in_min)) is not None]
    return tuple(sorted(out, key=lambda one: (
        one.help_since is None, one.help_since or one.since or one.last, one.device)))


def _out(own: Sequence[Counted], at: datetime, check_in_min: int) -> Out | None:
    """Say how one phone stands by its records, in time order."""
    open_one = _open_outing([one for one in own if one.kind == "outing"], at)
    crying = _help(own)
    if open_one is None and crying is None:
        return None
    since = open_one.at if open_one is not None else None
    begun_at = min(one.at for one in (open_one, crying) if one is not None)
    seen = [one for one in own if one.at >= begun_at]
    placed = max((one for one in seen if one.where is not None), key=lambda c: c.at, default=None)
    told = crying or open_one
    return Out(
        told.person if told is not None else "", own[-1].device, since, seen[-1].at,
        placed.where if placed is not None else None, placed.at if placed is not None else None,
        crying.at if crying is not None else None,
        None if since is None else _due(own, since, check_in_min))


def _open_outing(outings: Sequence[Counted], at: datetime) -> Counted | None:
    """Give the press that began the outing still open; of a START that never came, what did."""
    ends = [i for i, one in enumerate(outings) if one.record["state"] == "end"]
    going = outings[ends[-1] + 1:] if ends else outings
    if not going or at - going[-1].at > OUT_AT_MOST:
        return None
    starts = [one for one in going if one.record["state"] == "start"]
    return starts[-1] if starts else going[0]


def _help(own: Sequence[Counted]) -> Counted | None:
    """Give the record that help runs by; None if it does not."""
    crying: Counted | None = None
    for one in own:
        if one.kind == "check_in":
            crying = None if one.record["state"] == "fine" else crying or one
    return crying


def _due(own: Sequence[Counted], since: datetime, check_in_min: int) -> datetime | None:
    if check_in_min == 0:
        return None
    pressed = [one.at for one in own if one.kind == "check_in" and one.at >= since]
    return (pressed[-1] if pressed else since) + timedelta(minutes=check_in_min)


def help_ended(register: Register, since: datetime, until: datetime) -> Iterator[tuple[
        Counted, datetime]]:
    """Give the calls for help between two times that were ended, each with when it was.

    Parameters
    ----------
    register : Register
        What is known.
    since, until : datetime
        Aware; the call lies between them.

    Yields
    ------
    Counted, datetime
        The call, and when all was said to be well.
    """
    running: dict[str, Counted] = {}
    for one in register.merged.by_kind["check_in"]:
        if not is_phone(one.device) or one.at > until:
            continue
        if one.record["state"] == "help":
            running.setdefault(one.device, one)
        elif (call := running.pop(one.device, None)) is not None and call.at >= since:
            yield call, one.at
