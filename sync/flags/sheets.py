"""stale_sheet: a picker went out with no ground sheet, or with one past its last good day.

Rule 1: only a START of a picker is judged; a surveyor's plots do not go stale in a week.
Rule 2: only a phone carries a sheet: the shed, forms and a receiver's file never do.
Rule 3: only the season of the day asked about is judged: an old sheet of a season that is over can
be mended by nobody.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from fieldapp.record import instant
from sync.block import season_of
from sync.flags.flag import Flag
from sync.intake.clock import is_phone
from sync.intake.merge import Counted
from sync.register.build import Register


@dataclasses.dataclass(frozen=True)
class _Start:
    """A START, when its sheet was made, None for no sheet, and the whole days since."""

    said: Counted
    made_at: datetime | None
    days_old: int


def stale_sheet(register: Register) -> Iterator[Flag]:
    """Flag phones that a picker started without a good ground sheet.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a phone and season; its figures tell the oldest sheet.
    """
    good = timedelta(days=register.tunables.sheet_days)
    this_season = season_of(register.on, register.block.season_start)
    stale: dict[tuple[str, int], list[_Start]] = defaultdict(list)
    for one in register.merged.by_kind["outing"]:
        if one.day > register.on or not _picker_starts(one):
            continue
        season = season_of(one.day, register.block.season_start)
        if season != this_season:
            continue
        made_at = _made_at(one)
        # A difference: no sheet's date, however wild, leads out of the calendar.
        if made_at is None or one.at - made_at > good:
            days = 0 if made_at is None else (one.at - made_at).days
            stale[one.device, season].append(_Start(one, made_at, days))
    for (device, season), starts in sorted(stale.items()):
        yield _flag(register, device, season, starts)


def _picker_starts(one: Counted) -> bool:
    record = one.record
    return (is_phone(one.device) and record["state"] == "start"
            and record.get("role") == "picker")


def _made_at(one: Counted) -> datetime | None:
    sheet = one.record.get("sheet")
    return instant(sheet["made_at"]) if sheet else None


def _flag(register: Register, device: str, season: int, starts: Sequence[_Start]) -> Flag:
    dated = [(one.made_at, one.days_old) for one in starts if one.made_at is not None]
    made_at, days_old = max(dated, key=lambda each: each[1], default=(None, None))
    bare = len(starts) - len(dated)
    told = []
    if dated:
        told.append(f"{_times(len(dated))} with a ground sheet past its "
                    f"{register.tunables.sheet_days} days, at worst {days_old} days old")
    if bare:
        told.append(f"{_times(bare)} with none")
    days = sorted({one.said.day for one in starts})
    span = days[0].isoformat()
    if days[-1] != days[0]:
        span += f" to {days[-1].isoformat()}"
    why = (
        f"pickers started {device} {' and '.join(told)}, on {span}; closures and what is left may "
        "have changed since; a new sheet in the evening would settle it"
    )
    return Flag(
        "stale_sheet", device, season, None, why, None, "sure",
        tuple(one.said.name for one in starts),
        {"sheet_made_at": made_at, "days_old": days_old, "starts": len(starts), "bare": bare},
    )


def _times(number: int) -> str:
    return "once" if number == 1 else f"{number} times"
