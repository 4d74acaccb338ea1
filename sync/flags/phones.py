"""missing_records, number_twice and clock_wrong: what a phone's own numbers and clock say."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, datetime
from zoneinfo import ZoneInfo

from sync.block import season_of
from sync.flags.flag import Flag
from sync.intake.holes import Hole, seen_hours
from sync.intake.merge import Counted
from sync.picks.holes import Missing, expected_missing
from sync.register.build import Register

#: With less seen of a day than this, the phone's own rate that day says nothing. [h]
_LEAST_SEEN_H = 1.0


def missing_records(register: Register) -> Iterator[Flag]:
    """Flag phones with numbers that never came and that no paper tally stands for.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a phone and season; its figures tell the holes with a paper tally too.
    """
    by_phone: dict[tuple[str, int], list[Hole]] = defaultdict(list)
    for hole in register.holes:
        day = _day_of(hole.since or hole.until, register)
        if day is not None and day <= register.on:
            by_phone[hole.device, season_of(day, register.block.season_start)].append(hole)
    for (device, season), holes in sorted(by_phone.items()):
        bare = [hole for hole in holes if hole.paper_bags is None]
        if not bare:
            continue
        guesses = {hole: expected_in_hole(register, hole) for hole in holes}
        told = "; ".join(_told(hole, guesses[hole], register) for hole in bare)
        why = (
            f"{device}: {told}; the phone itself or the paper book would settle it, "
            "and the guess is counted nowhere"
        )
        yield Flag(
            "missing_records", device, season, None, why, None, "sure",
            _neighbours(bare, register),
            {"holes": [_figures(hole, guesses[hole]) for hole in holes]},
        )


def _day_of(at: datetime | None, register: Register) -> date | None:
    return None if at is None else at.astimezone(ZoneInfo(register.block.zone)).date()


def expected_in_hole(register: Register, hole: Hole) -> Missing | None:
    """Give the bags to expect in a hole by the phone's rate outside it that day.

    Parameters
    ----------
    register : Register
        With the bags, the outings and the weight of a bag.
    hole : Hole
        One of its holes.

    Returns
    -------
    Missing or None
        Bags and shed-dry kg [kg] with their standard deviations; None where an end of the hole is
        not known, or too little was seen of the day outside it.
    """
    day = _day_of(hole.since, register)
    if hole.since is None or hole.until is None or day is None:
        return None
    own = [one.bag for one in register.known.placed
           if one.bag.device == hole.device and one.bag.day == day]
    last = max((bag.at for bag in own), default=None)
    hours = seen_hours(register.events.outings, hole.device, day, hole, last)
    if hours < _LEAST_SEEN_H:
        return None
    usual = register.block.bags[0].name
    kappa = register.crop.weights.kappa.get((season_of(day, register.block.season_start), usual))
    if kappa is None:
        return None
    return expected_missing(
        (hole.until - hole.since).total_seconds() / 3600.0,
        bags_seen=sum(bag.bags for bag in own), seen_h=hours, kappa=kappa,
    )


def _told(hole: Hole, guess: Missing | None, register: Register) -> str:
    span = f"records {hole.first} to {hole.last} ({hole.last - hole.first + 1}) never came"
    if hole.since is not None and hole.until is not None:
        zone = ZoneInfo(register.block.zone)
        since, until = hole.since.astimezone(zone), hole.until.astimezone(zone)
        span += f", {since:%Y-%m-%d %H:%M} to {until:%Y-%m-%d %H:%M}"
    if guess is not None:
        span += f", some {guess.bags:.1f} ± {guess.bags_sd:.1f} bags ({guess.kg:.0f} kg)"
    return span


def _figures(hole: Hole, guess: Missing | None) -> dict[str, object]:
    return {
        "from_seq": hole.first, "to_seq": hole.last, "from": hole.since, "to": hole.until,
        "bags": None if guess is None else guess.bags, "paper_bags": hole.paper_bags,
    }


def _neighbours(holes: list[Hole], register: Register) -> tuple[str, ...]:
    """Name the records on either side of each hole."""
    names = [f"{h.device}:{seq}" for h in holes for seq in (h.first - 1, h.last + 1)]
    return tuple(name for name in dict.fromkeys(names) if name in register.merged.times)


def number_twice(register: Register) -> Iterator[Flag]:
    """Flag names that came with two contents.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a record.
    """
    for name, sums in register.merged.twice.items():
        day = _day_of(register.merged.times.get(name), register)
        if day is None or day > register.on:
            continue
        why = (
            f"{name} came with {len(sums)} contents; both are kept and one counts; "
            "ask whose phone was copied or set back"
        )
        yield Flag(
            "number_twice", name, season_of(day, register.block.season_start), None, why, None,
            "sure", (name,), {"sums": list(sums)},
        )


def clock_wrong(register: Register) -> Iterator[Flag]:
    """Flag phones whose clock was off; their dates are mended by satellite time.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a phone and season.
    """
    off: dict[tuple[str, int], list[Counted]] = defaultdict(list)
    for one in register.merged.counted:
        if one.lag_s is not None and one.day <= register.on:
            off[one.device, season_of(one.day, register.block.season_start)].append(one)
    for (device, season), records in sorted(off.items()):
        worst = max((one.lag_s or 0.0 for one in records), key=abs)
        days = sorted({one.day for one in records})
        span = days[0].isoformat()
        if days[-1] != days[0]:
            span += f" to {days[-1].isoformat()}"
        why = (
            f"the clock of {device} was {_lag(worst)} the satellites' on {span}; "
            f"{len(records)} records are dated by satellite time; set the phone's clock"
        )
        records.sort(key=lambda one: (one.day, one.name))
        yield Flag(
            "clock_wrong", device, season, None, why, None, "sure",
            tuple(one.name for one in records), {"lag_s": worst},
        )


def _lag(seconds: float) -> str:
    size = abs(seconds)
    said = f"{size / 86400:.0f} days" if size >= 172_800 else f"{size / 60:.0f} minutes"
    return f"{said} {'behind' if seconds < 0 else 'ahead of'}"
