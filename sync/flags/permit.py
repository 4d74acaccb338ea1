"""permit_cap and late_notice: what a permit's cap and its notice say of a permit year.

Rule 1: every permit year with bags until the day asked about is judged; one with a notice too.
Rule 2: a flag is of the season in which its permit year starts.
Rule 3: a notice is held against the day on which picking began, and until then against the day
it tells.
"""

import math
from collections.abc import Iterator
from datetime import date

from scipy.special import stdtr

from sync.block import Permit, season_of
from sync.flags.chances import chance_text
from sync.flags.flag import Flag
from sync.intake.seen import NoticeSeen
from sync.picks.early import how_sure
from sync.register.build import Register
from sync.register.notices import notices_of
from sync.register.permit_year import bags_under, covers, permit_year
from sync.register.permits import PermitToday, permit_on
from sync.register.working_days import clear_working_days, earliest_start
from sync.survey.ranges import lognormal_range, lognormal_spread, t_quantile

#: A cap's unit in words.
UNITS = {"kg_dry": "kg shed-dry", "kg_wet": "kg wet", "bags": "bags", "m3": "m³"}
_SETTLED = {
    "kg_dry": "the dry weights of its lots", "kg_wet": "the wet weights of its lifts",
    "bags": "a count of the bags at the shed", "m3": "a count of the bags at the shed",
}


def permit_cap(register: Register) -> Iterator[Flag]:
    """Flag permit years in which likely more was taken than the cap.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a permit and year, from "perhaps" on.
    """
    for permit in register.block.permits:
        if permit.cap is not None:
            for day in _years(register, permit):
                yield from _over_cap(register, permit_on(
                    permit, register.known, register.events, register.crop,
                    tuple(register.cells), on=day))


def _over_cap(register: Register, found: PermitToday) -> Iterator[Flag]:
    cap, unit = found.permit.cap, found.permit.cap_unit or "kg_dry"
    if cap is None or found.taken is None or found.sd is None:
        return
    chance = chance_over_cap(found.taken, found.sd, found.df, cap)
    level = how_sure(chance, register.tunables)
    if level is None:
        return
    low = high = found.taken
    if found.sd > 0.0:
        low, high = lognormal_range(found.taken, found.sd / found.taken,
                                    t=t_quantile(found.df))
    places = 0 if unit.startswith("kg") else 1
    why = (
        f"{found.taken:,.{places}f} {UNITS[unit]} (90 % {low:,.{places}f} to "
        f"{high:,.{places}f}) were taken under {found.permit.name} from {found.first} to "
        f"{min(found.last, register.on)}, where its cap is {cap:,.{places}f}; chance that it was "
        f"passed {chance_text(chance)}; {_SETTLED[unit]} would settle it"
    )
    yield Flag(
        "permit_cap", found.permit.name, _season(register, found.first), None, why, chance, level,
        tuple(sorted(set(found.taken_kg.records) & _bags(register))),
        {"taken": found.taken, "taken_low": low, "taken_high": high, "cap": cap, "unit": unit},
    )


def chance_over_cap(taken: float, sd: float, df: float, cap: float) -> float:
    """Give the chance that more than a cap was taken.

    Parameters
    ----------
    taken, sd : float
        In the unit of the cap.
    df : float
        Degrees of freedom of `sd`; infinite where none of it was learned.
    cap : float
        What may be taken.

    Returns
    -------
    float
        By the same lognormal and Student's t as the range, so that the cap stands at the upper
        end of a 90 % range just when the chance is 0.05; without a spread 1 if over, else 0.
        Derived.
    """
    if sd <= 0.0 or taken <= 0.0 or cap <= 0.0:
        return 1.0 if taken > cap else 0.0
    spread = lognormal_spread(taken, sd / taken)
    steps = math.log(spread.median / cap) / spread.log_sd
    if math.isinf(df):
        return 0.5 * math.erfc(-steps / math.sqrt(2.0))
    return float(stdtr(df, steps))


def late_notice(register: Register) -> Iterator[Flag]:
    """Flag permit years whose start was told too late, or not at all.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a permit and year.
    """
    for permit in register.block.permits:
        if permit.notice_days:
            for day in _years(register, permit, also_noticed=True):
                yield from _late(register, permit, permit.notice_days, day)


def _late(register: Register, permit: Permit, needed: int, day: date) -> Iterator[Flag]:
    within = permit_year(permit, day)
    began, names = _began(register, permit, within[0], day)
    given = notices_of(register.events.notices, permit, within, on=register.on)
    if began is not None:
        given = [one for one in given if one.day <= began]
    notice = given[-1] if given else None
    start = began or (notice.start if notice is not None else None)
    if start is None:
        return
    clear = None if notice is None else clear_working_days(
        notice.day, start, register.block.holidays)
    if clear is not None and clear >= needed:
        return
    records = ((notice.name,) if notice is not None else ()) + names
    yield Flag(
        "late_notice", permit.name, _season(register, within[0]), None,
        _why_late(register, permit, notice, start, clear, began), None, "sure", records,
        {"given": None if notice is None else notice.day, "start": start, "clear_days": clear,
         "needed": needed, "picked_from": began},
    )


def _why_late(
    register: Register, permit: Permit, notice: NoticeSeen | None, start: date,
    clear: int | None, began: date | None,
) -> str:
    needed = permit.notice_days or 0
    asks = f"{permit.name} asks for {needed} clear working days"
    if notice is None:
        return (f"picking began on {start} and no notice given before is on record, where {asks}; "
                "a copy of the notice, typed in with the day on which it was given, would "
                "settle it")
    told = f"notice given on {notice.day} is {clear} clear working days before"
    if began is not None:
        return (f"{told} {start}, when picking began, where {asks}; the dated copy of the "
                "notice, or the holidays listed in block.toml, would settle it")
    first = earliest_start(notice.day, needed, register.block.holidays)
    return f"{told} the start told, {start}, where {asks}; a start on {first} would settle it"


def _years(register: Register, permit: Permit, *, also_noticed: bool = False) -> list[date]:
    """Give a day of each permit year to judge: its last that is over, or the day asked about."""
    days = set(register.known.tallies.days(until=register.on))
    if also_noticed:
        days |= {one.start for one in register.events.notices
                 if one.permit == permit.name and one.what == "start"
                 and one.start is not None and one.day <= register.on}
    lasts = {permit_year(permit, day)[1] for day in days
             if (permit.since is None or permit.since <= day)
             and (permit.until is None or day <= permit.until)}
    return [last if also_noticed else min(last, register.on) for last in sorted(lasts)]


def _began(
    register: Register, permit: Permit, first: date, until: date
) -> tuple[date | None, tuple[str, ...]]:
    """Give the first day of a permit year with a picking day's bags, and that day's bags."""
    ground, cells = register.crop.ground, tuple(register.cells)
    covered = [name for name in cells if covers(permit, ground, name)]
    since = first if permit.since is None else max(first, permit.since)
    last = min(until, register.on)
    by_day: dict[date, float] = {}
    presses = bags_under(permit, register.known, covered, cells, first=since, until=last)
    for one in presses:
        by_day[one.bag.day] = by_day.get(one.bag.day, 0.0) + one.bag.bags * sum(
            one.chances.values())
    least = register.tunables.least_bags_a_day
    began = min((day for day, bags in by_day.items() if bags >= least), default=None)
    return began, tuple(sorted(one.bag.name for one in presses if one.bag.day == began))


def _season(register: Register, first: date) -> int:
    return season_of(first, register.block.season_start)


def _bags(register: Register) -> set[str]:
    """Name the bags: lots only weigh, so that one more of them opens no ruling."""
    return {one.bag.name for one in register.known.placed}
