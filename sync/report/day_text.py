"""The evening of a day as plain text, to be read in two minutes: people first, then figures.

Rule 1: no line is longer than 100 characters; every time is the block's own clock.
Rule 2: people stand in the order of their codes; nothing tells who was faster.
"""

import textwrap
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from zoneinfo import ZoneInfo

from fieldapp.words.figures import latitude, longitude
from sync.intake.holes import Hole
from sync.intake.merge import Counted
from sync.register.build import Register
from sync.report.arrivals import Arrived
from sync.report.day import Day, Evening, HoleOfDay
from sync.report.day_bags import DayBags, OnPile
from sync.report.day_cells import CellOfDay
from sync.report.day_sheet import CellChange, CellSaid, PermitChange, SheetChanges
from sync.report.out import Out
from sync.report.rounding import BAGS, KG, rounded

WIDE = 100
#: So many files, records and older holes are named; the rest are counted.
_MOST_FILES, _MOST_HOLES = 12, 6
_CAUTION = ("Only as good as the last hand-over: an END that is still on a phone is not known "
            "here. The tag board by the door stays. When somebody may be in trouble, do not wait "
            "for this page: follow your own rule for a person overdue.")


def day_lines(day: Day, evening: Evening) -> list[str]:
    """Say a day in lines.

    Parameters
    ----------
    day : Day
        As `day_of_block` gives it.
    evening : Evening
        What it was told from.

    Returns
    -------
    list of str
        Each of at most 100 characters, unless one word of it is longer.
    """
    clock = _Clock(evening.register)
    known = evening.register.known_by
    head = (f"{evening.register.block.name}, the evening of {day.on.isoformat()} "
            f"({evening.register.block.zone}), "
            f"by what {'is known now' if known is None else f'came in by {clock(known)}'}")
    parts = (
        [head],
        ["", "NOT SIGNED OFF", *_back(day, evening, clock)],
        ["", f"CAME IN on {day.on.isoformat()}", *_arrived(day, evening.arrived, clock)],
        ["", "MISSING", *_missing(day, clock)],
        ["", *_bags(day.bags)],
        ["", "CELLS", *_cells(day.cells)],
        ["", "TOMORROW'S SHEET WILL SAY", *_sheet(day)],
    )
    return [line for part in parts for one in part for line in _wrapped(one)]


def _wrapped(line: str) -> list[str]:
    return textwrap.wrap(line, WIDE, subsequent_indent="    ", break_long_words=False,
                         break_on_hyphens=False) or [""]


class _Clock:
    """Times by the block's clock; a time of the day itself without its date."""

    def __init__(self, register: Register) -> None:
        self.zone = ZoneInfo(register.block.zone)
        self.on: date = register.on
        self.calls = {one.code: one.call for one in register.block.people}

    def __call__(self, at: datetime) -> str:
        there = at.astimezone(self.zone)
        return f"{there:%H:%M}" if there.date() == self.on else f"{there:%Y-%m-%d %H:%M}"

    def who(self, code: str) -> str:
        call = self.calls.get(code)
        return code if call is None else f"{code} ({call})"


def _back(day: Day, evening: Evening, clock: _Clock) -> Iterator[str]:
    for one in day.out:
        yield _not_back(one, evening.at, clock)
    for call, ended in day.helped:
        yield _helped(call, ended, clock)
    for flag in day.silent:
        yield (f"- silent: {flag.about}, out since {clock(flag.figures['began'])}, last record "
               f"{clock(flag.figures['since'])}; no end of it is known")
    if not day.out:
        yield "Everybody whose records are here has ended the outing."
    yield _CAUTION


def _not_back(one: Out, at: datetime, clock: _Clock) -> str:
    told = []
    if one.help_since is not None:
        told.append(f"CALLED FOR HELP {clock(one.help_since)}, and nothing says that it is over")
    if one.since is not None:
        told.append(f"out since {clock(one.since)}")
    told.append(f"last record {clock(one.last)}")
    if one.where is not None and one.where_at is not None:
        told.append(f"last place {latitude(one.where.lat)} {longitude(one.where.lon)} at "
                    f"{clock(one.where_at)}")
    if one.overdue(at) and one.check_in_due is not None:
        told.append(f"check-in was due {clock(one.check_in_due)}")
    return f"- {clock.who(one.person)}, {one.device}: " + "; ".join(told)


def _helped(call: Counted, ended: datetime, clock: _Clock) -> str:
    return (f"- {clock.who(call.person)}, {call.device}: called for help {clock(call.at)}, said "
            f"to be well again {clock(ended)}")


def _arrived(day: Day, arrived: Arrived, clock: _Clock) -> Iterator[str]:
    for one in arrived.files[-_MOST_FILES:]:
        said = f"REFUSED: {one.refused}" if one.refused is not None else (
            f"{one.new} new, {one.known} already there, {one.aside} set aside")
        yield f"  {clock(one.at)}  {one.file}  {said}"
    if len(arrived.files) > _MOST_FILES:
        yield f"  and {len(arrived.files) - _MOST_FILES} files before these"
    typed = f" ({arrived.typed} of them typed in here)" if arrived.typed else ""
    before = "" if arrived.before is None else (
        f"; before that day something last came in {clock(arrived.before)}")
    refused = sum(one.refused is not None for one in arrived.files)
    yield (f"{_n(len(arrived.files) - refused, 'file')} taken, {refused} refused: "
           f"{_n(arrived.new, 'new record')}{typed}, "
           f"{sum(one.known for one in arrived.files)} already there, "
           f"{sum(one.aside for one in arrived.files)} set aside{before}")
    yield f"Of the day itself {_n(day.counted, 'record')} count by now."
    if day.unheard:
        yield "Not heard from that day: " + ", ".join(
            f"{one.phone} ({_last(one.device, arrived, clock)})" for one in day.unheard)


def _last(device: str | None, arrived: Arrived, clock: _Clock) -> str:
    at = None if device is None else arrived.last.get(device)
    return "never yet" if at is None else f"last {clock(at)}"


def _missing(day: Day, clock: _Clock) -> Iterator[str]:
    if not day.holes and not day.older_holes:
        yield "No number of any phone is missing, up to the highest that came."
    for one in day.holes:
        yield f"- {_hole(one.hole, clock)}{_expected(one)}"
    if day.older_holes:
        shown = day.older_holes[-_MOST_HOLES:]
        more = len(day.older_holes) - len(shown)
        yield "Of days before, and on no paper: " + "; ".join(
            _hole(hole, clock) for hole in shown) + (f"; and {more} more" if more else "")


def _hole(hole: Hole, clock: _Clock) -> str:
    since = "the start" if hole.since is None else clock(hole.since)
    until = "now" if hole.until is None else clock(hole.until)
    return f"{hole.device} {hole.first} to {hole.last}, {since} to {until}"


def _expected(one: HoleOfDay) -> str:
    if one.hole.paper_bags is not None:
        return f": the paper says {_bag(one.hole.paper_bags)}, which are counted"
    if one.guess is None:
        return ": too little of the day is known to expect a number of bags"
    return (f": {one.guess.bags:.1f} ± {one.guess.bags_sd:.1f} bags expected, counted nowhere; "
            "the phone or the paper book would tell")


def _bags(bags: DayBags) -> Iterator[str]:
    undone = f"; {_n(bags.undone, 'record')} taken back or corrected" if bags.undone else ""
    paper = f", {_bag(bags.paper)} of them from paper" if bags.paper else ""
    yield f"BAGS {_plain(bags.total)} by {_n(len(bags.records), 'record')}{paper}{undone}"
    if not bags.records:
        return
    yield "  by person  " + _list((str(one.name), _plain(one.bags)) for one in bags.persons)
    cells = [(str(one.name), f"{one.bags:.1f}") for one in bags.cells
             if rounded(one.bags, BAGS) > 0]
    cells += [(name, f"{amount:.1f}") for name, amount in (
        ("outside the block", bags.outside), ("of no known place", bags.nowhere))
        if rounded(amount, BAGS) > 0]
    yield "  by cell    " + _list(cells) + "  (expected bags, by time and chance)"
    yield "  by type    " + _list((str(one.name), _plain(one.bags)) for one in bags.types)
    yield "  by pile    " + _list((one.name or "no pile", _on_pile(one)) for one in bags.piles)


def _on_pile(one: OnPile) -> str:
    waiting = "" if one.waiting is None else f" ({_plain(one.waiting)} wait there)"
    return f"{_plain(one.bags)}{waiting}"


def _list(rows: Iterable[tuple[str, str]]) -> str:
    return " · ".join(f"{name} {said}" for name, said in rows)


def _cells(cells: Iterable[CellOfDay]) -> Iterator[str]:
    told = [f"- {one.cell}: {'; '.join(_cell(one))}" for one in cells]
    yield from told or ["No cell was picked in or named finished."]


def _cell(one: CellOfDay) -> Iterator[str]:
    yield f"{one.bags:.1f} bags, now {one.state}"
    if one.over is not None:
        yield (f"RAN OVER: {one.over.figures['kg']['value']:,.0f} kg picked, "
               f"{one.over.figures['may_take_kg']:,.0f} kg might be taken ({one.over.how_sure})")
    elif one.state == "taken":
        yield "used up"
    elif one.nearly_used_up:
        yield "NEARLY USED UP"
    if one.over is None and one.taken_kg is not None and one.may_take_kg:
        yield (f"{rounded(one.taken_kg, KG):,} of {rounded(one.may_take_kg, KG):,} kg taken in "
               f"this pick, {'–' if one.left_bags is None else one.left_bags} bags left")
    if one.finished:
        yield f"named finished by {', '.join(one.finished)}"
    if one.flags:
        yield f"flags {', '.join(one.flags)}"


def _sheet(day: Day) -> Iterator[str]:
    if day.nothing_known:
        yield "No record was held as the day began, so there is nothing to compare it with."
        return
    changes = day.changes
    for one in changes.states:
        yield f"- {one.cell}: {_said(one.after)}; this morning {_said(one.before)}"
    if changes.left:
        yield "Bags left: " + " · ".join(_left(one) for one in changes.left)
    if changes.others:
        yield (f"{_n(changes.others, 'other cell')} by at most "
               f"{_n(changes.others_most, 'bag')}, since more is known")
    for each in changes.permits:
        yield _permit(each)
    if changes == SheetChanges((), (), 0, 0, ()):
        yield "Nothing that this morning's did not."


def _said(said: CellSaid | None) -> str:
    if said is None:
        return "not on the sheet"
    if said.rest_ends is not None:
        return f"{said.state} until {said.rest_ends.isoformat()}"
    left = said.left_bags if said.state == "ready" else None
    return said.state if left is None else f"{said.state}, {_n(left, 'bag')} left"


def _left(one: CellChange) -> str:
    before, after = (None if said is None else said.left_bags for said in (one.before, one.after))
    return f"{one.cell} {'–' if before is None else before} → {'–' if after is None else after}"


def _permit(one: PermitChange) -> str:
    before, after = ("–" if left is None else f"{left:,.0f}" for left in (one.before, one.after))
    return f"Permit {one.permit}, {one.unit or 'no unit'} left: {before} → {after}"


def _n(count: int, name: str) -> str:
    return f"{count} {name}{'' if count == 1 else 's'}"


def _plain(bags: float) -> str:
    """Write a count of bags, to the half."""
    return f"{bags:g}"


def _bag(bags: float) -> str:
    return f"{_plain(bags)} bag{'' if 0 < bags <= 1 else 's'}"
