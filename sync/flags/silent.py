"""silent_phone: a phone that went out and whose outing has no known end.

Rule 1: the day asked about counts as its end; no clock is asked.
Rule 2: only a phone falls silent: the shed, forms and a receiver's file do not go out.
"""

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from sync.block import season_of
from sync.flags.flag import Flag
from sync.intake.clock import is_phone
from sync.intake.seen import OutingSeen
from sync.intake.unread import last_track
from sync.register.build import Register


def silent_phone(register: Register) -> Iterator[Flag]:
    """Flag phones whose last outing has no known end by noon of the day after it began.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a phone: a later START ends the outing before it.
    """
    begun: dict[str, OutingSeen | None] = {}
    for one in register.events.outings:
        if one.day > register.on or not is_phone(one.device):
            continue
        if one.state == "end":
            begun[one.device] = None
        elif one.state == "start" or begun.get(one.device) is None:
            begun[one.device] = one  # a START that never came: the outing is told by what did
    for device, out in sorted(begun.items()):
        # Noon of the next local day passes within that day.
        if out is not None and out.day < register.on:
            yield _flag(register, device, out)


def _flag(register: Register, device: str, out: OutingSeen) -> Flag:
    heard = [(one.at, one.seq, one.name) for one in register.merged.counted
             if one.device == device and one.at >= out.at and one.day <= register.on]
    track = last_track(register.merged.tracks, device, register.block.zone, since=out.at,
                       on=register.on)
    if track is not None:
        heard.append((track.at, track.seq, track.name))
    since, _, last = max(heard)
    zone = ZoneInfo(register.block.zone)
    why = (
        f"{out.person} began an outing with {device} at "
        f"{out.at.astimezone(zone):%Y-%m-%d %H:%M} and no end of it is known; last record "
        f"{since.astimezone(zone):%Y-%m-%d %H:%M}; the phone's hand-over, or {out.person}'s own "
        "word, would settle it"
    )
    return Flag(
        "silent_phone", device, season_of(out.day, register.block.season_start), None, why, None,
        "sure", tuple(dict.fromkeys((out.name, last))), {"since": since, "began": out.at},
    )
