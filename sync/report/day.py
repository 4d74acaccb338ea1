"""The evening of a day: has everything come in, is everybody back, what was picked, what changes.

Rule 1: it shows what came in; what a phone still holds, or never sent, it cannot know.
Rule 2: expected bags of a hole are shown beside the sums and counted in none.
"""

import dataclasses
from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sync.block import Block
from sync.flags.flag import Flag
from sync.flags.phones import expected_in_hole
from sync.intake.clock import EARLIEST
from sync.intake.holes import Hole
from sync.intake.merge import Counted
from sync.intake.unread import tracks_of_people
from sync.picks.holes import Missing
from sync.register.build import Register
from sync.report.arrivals import Arrived
from sync.report.day_bags import DayBags, day_bags
from sync.report.day_cells import CellOfDay, cells_of_day
from sync.report.day_sheet import SheetChanges, sheet_changes
from sync.report.out import Out, help_ended, who_is_out


@dataclasses.dataclass(frozen=True)
class PhoneKept:
    """A phone that is paired: its code, and the install that uses the key now."""

    phone: str
    device: str | None


@dataclasses.dataclass(frozen=True)
class Evening:
    """All that the evening is told from.

    Attributes
    ----------
    register, flags : Register, tuple of Flag
        Of the day.
    morning : Register
        Of the day, by what had come in as it began.
    tomorrow : Register
        Of the next day, by what is known.
    arrived : Arrived
        Within the day.
    phones : tuple of PhoneKept
        Those paired now.
    at : datetime
        The time asked about, aware.
    """

    register: Register
    flags: Sequence[Flag]
    morning: Register
    tomorrow: Register
    arrived: Arrived
    phones: Sequence[PhoneKept]
    at: datetime


@dataclasses.dataclass(frozen=True)
class HoleOfDay:
    """A hole in a phone's numbers and the bags to expect in it; None where nothing tells."""

    hole: Hole
    guess: Missing | None


@dataclasses.dataclass(frozen=True)
class Day:
    """A day as it is told in the evening.

    Attributes
    ----------
    out : tuple of Out
        Who called for help or is not signed off.
    helped : tuple of (Counted, datetime)
        Calls for help of the day that were ended, and when.
    silent : tuple of Flag
        Phones whose outing has no known end, of those not in `out`.
    unheard : tuple of PhoneKept
        Paired phones of which nothing new came in that day.
    holes : tuple of HoleOfDay
        Of the day.
    older_holes : tuple of Hole
        Of days before it, that no paper count stands for.
    nothing_known : bool
        Whether no record was held as the day began, so that no sheet could say anything.
    """

    on: date
    counted: int
    out: tuple[Out, ...]
    helped: tuple[tuple[Counted, datetime], ...]
    silent: tuple[Flag, ...]
    unheard: tuple[PhoneKept, ...]
    holes: tuple[HoleOfDay, ...]
    older_holes: tuple[Hole, ...]
    bags: DayBags
    cells: tuple[CellOfDay, ...]
    changes: SheetChanges
    nothing_known: bool


def span_of_day(block: Block, on: date) -> tuple[datetime, datetime]:
    """Give when a local day begins and ends, UTC.

    Parameters
    ----------
    block : Block
        For its zone.
    on : date
        Not before any phone of this program existed, so that the calendar has room about it.

    Returns
    -------
    datetime, datetime
        The end is the next day's beginning.

    Raises
    ------
    ValueError
        If the day is too early or too late to be one of the block's.
    """
    if not EARLIEST.date() <= on < date.max:
        raise ValueError(f"{on.isoformat()}: nothing of that day can be known here")
    zone = ZoneInfo(block.zone)
    begins, ends = (datetime.combine(day, time(), zone).astimezone(UTC)
                    for day in (on, on + timedelta(days=1)))
    return begins, ends


def day_of_block(evening: Evening) -> Day:
    """Tell a day.

    Parameters
    ----------
    evening : Evening
        What it is told from.

    Returns
    -------
    Day
        At full precision.
    """
    register = evening.register
    begins, ends = span_of_day(register.block, register.on)
    out = who_is_out(register, evening.at)
    bags = day_bags(register)
    cells = cells_of_day(register, evening.flags, bags)
    holes, older = _holes(register, begins)
    told = {one.device for one in out}
    return Day(
        register.on,
        sum(one.day == register.on for one in register.merged.counted) + sum(tracks_of_people(
            register.merged.tracks, register.block.zone, register.on, register.on).values()),
        out, tuple(help_ended(register, begins, min(ends, evening.at))),
        tuple(one for one in evening.flags
              if one.rule == "silent_phone" and one.about not in told),
        tuple(one for one in evening.phones
              if one.device is None or one.device not in evening.arrived.by_device),
        holes, older, bags, cells,
        sheet_changes(evening.morning, evening.tomorrow,
                      {one.cell for one in cells if one.bags > 0.0}),
        not len(evening.morning.merged.times),
    )


def _holes(
    register: Register, begins: datetime
) -> tuple[tuple[HoleOfDay, ...], tuple[Hole, ...]]:
    zone, on = register.block.zone, register.on
    of_day = tuple(HoleOfDay(hole, expected_in_hole(register, hole))
                   for hole in register.holes if hole.touches(on, zone))
    older = tuple(
        hole for hole in register.holes
        if hole.paper_bags is None and not hole.touches(on, zone)
        and any(at < begins for at in (hole.since, hole.until) if at is not None))
    return of_day, older
