"""What the phones carried: which ground sheet, how old, what it showed, whether the phone knew.

Rule 1: whether a phone could know is told, not whether its bearer looked.
Rule 2: a sheet made again is said to be that.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from sync.flags.evidence.carried import Carried
from sync.flags.evidence.shown import Shown as SheetShown
from sync.flags.evidence.shown import differing, shown_in
from sync.report.flag_case.parts import (
    MOST_ROWS,
    Dossier,
    Section,
    counted,
    listed,
    say_bags,
    say_day,
)
from sync.report.table import Shown

_BANDS = {
    "near_edge": "NEAR EDGE (two states within the fix's reach)", "cannot_tell": "CAN'T TELL",
    "outside": "OUTSIDE", "closed": "CLOSED", "resting": "RESTING", "unsurveyed": "UNSURVEYED",
    "taken": "TAKEN", "ready": "READY", "no place": "nothing, for want of a fix",
}
_CELLS, _SHEETS = 14, 4
AGAIN = ("Sheets are made again here from what the shed knew at the time of their making, by the "
         "owner's files as they are now. A phone says at START which sheet it is on; a newer one "
         "taken later that day is not known. What a phone showed is not what its bearer saw.")


def phones_section(told: Dossier) -> Section | None:
    """Tell the phones and sheets behind a flag; None where no phone went out."""
    carried = told.case.carried
    if not carried:
        return None
    by_sheet = _by_sheet(carried)
    rows = [_row(told, each) for each in by_sheet[:MOST_ROWS]]
    table = Shown(("phone", "carried by", "outings", "bags", "sheet", "made", "days",
                   "good until"), tuple(rows), frozenset({0, 1, 2, 4, 5, 7}))
    after = [] if len(by_sheet) <= MOST_ROWS else [f"{len(by_sheet) - MOST_ROWS} more sheets."]
    after += _showed(told, carried)
    if told.case.flag.rule == "stale_sheet":
        after += _changed(told)
    return Section("What the phones carried", (), table, (*after, AGAIN))


def _by_sheet(carried: Sequence[Carried]) -> list[list[Carried]]:
    found: dict[tuple[str, str | None, datetime | None], list[Carried]] = {}
    for one in carried:
        found.setdefault((one.device, one.sheet_id, one.made_at), []).append(one)
    return list(found.values())


def _row(told: Dossier, each: Sequence[Carried]) -> tuple[str, ...]:
    first, last = each[0], each[-1]
    days = [one.days_old for one in each if one.days_old is not None]
    old = "–" if not days else (
        str(days[0]) if min(days) == max(days) else f"{min(days)}–{max(days)}")
    return (
        first.device, listed(sorted({one.person for one in each}), most=3), _out(told, each),
        say_bags(sum(one.bags for one in each)) if any(one.bags for one in each) else "–",
        first.sheet_id or "none",
        "–" if first.made_at is None else told.moment(first.made_at), old,
        "–" if last.good_until is None else say_day(last.good_until.astimezone(told.zone).date()),
    )


def _out(told: Dossier, each: Sequence[Carried]) -> str:
    first, last = each[0], each[-1]
    if len(each) > 1:
        return f"{len(each)}, {first.day:%d.%m.}–{last.day:%d.%m.%y}"
    ended = "…" if first.ended is None else told.clock(first.ended)
    return f"{say_day(first.day)} {told.clock(first.began)}–{ended}"


def _showed(told: Dossier, carried: Sequence[Carried]) -> Iterator[str]:
    """Say what each sheet showed; sheets of one moment tell all phones the same ground."""
    by_making: dict[datetime | None, list[Carried]] = {}
    for one in carried:
        if one.presses:
            by_making.setdefault(one.made_at, []).append(one)
    for each in list(by_making.values())[:_SHEETS]:
        devices = listed(sorted({one.device for one in each}), most=6)
        yield f"{devices}: {_one_sheet(told, each)}"
    if len(by_making) > _SHEETS:
        yield f"{counted(len(by_making) - _SHEETS, 'more sheet')} of other moments."


def _one_sheet(told: Dossier, each: Sequence[Carried]) -> str:
    first, cell = each[0], told.case.flag.cell
    if first.made_at is None:
        return "no sheet; nothing of the ground could be shown, and no place was held back."
    seen = told.sheets.get(first.made_at)
    if seen is None:
        return "this sheet was not made again: others bear more of the bags."
    if seen.sheet is None:
        return f"this sheet cannot be made again: {seen.why_not}."
    shown = [shown_in(seen.sheet, one, cell) for one in each]
    stale = " (past its last good day)" if all(one.is_stale for one in each) else ""
    parts = [(f"the sheet of {say_day(first.made_at.astimezone(told.zone).date())}{stale} "
             f"{_of_cell(cell, shown[0])}.")]
    bands = _bands(shown)
    if bands:
        parts.append(f"At the presses the band said {bands}.")
    closed = sorted({why for one in shown for why in one.closures})
    if closed:
        parts.append(f"Closed there: {listed(closed, most=3)}.")
    parts.append(_verdict(told, shown))
    return " ".join(part for part in parts if part)


def _of_cell(cell: str | None, shown: SheetShown) -> str:
    if cell is None:
        return "showed the outline, the cells and what was closed"
    if shown.state is None:
        return f"had no cell {cell}"
    ends = ""
    if shown.state == "resting" and shown.rest_ends is not None:
        ends = f", rest ends {say_day(shown.rest_ends)}"
    left = "" if shown.left_bags is None else f", {counted(shown.left_bags, 'bag')} left"
    return f"showed {cell} {shown.state} that day{ends}{left}"


def _bands(shown: Sequence[SheetShown]) -> str:
    bags: dict[str, float] = {}
    for one in shown:
        for band, count in one.bands.items():
            bags[band] = bags.get(band, 0.0) + count
    order = sorted(bags.items(), key=lambda item: (-item[1], item[0]))
    return "; ".join(f"{_BANDS[band]} for {say_bags(count)} bag{'' if count == 1 else 's'}"
                     for band, count in order)


def _verdict(told: Dossier, shown: Sequence[SheetShown]) -> str:
    rule, cell = told.case.flag.rule, told.case.flag.cell
    bands = {band for one in shown for band in one.bands}
    if rule == "early_pick":
        if all(one.state == "resting" for one in shown):
            return f"So the phone did know that {cell} was resting."
        return f"So the phone could not know: it held {cell} for {shown[0].state or 'no cell'}."
    if rule in {"closed_ground", "outside_block"}:
        wanted = "closed" if rule == "closed_ground" else "outside"
        if wanted in bands:
            return f"So the phone did say so, for the bags under {_BANDS[wanted]}."
        return "So the phone said so at none of these presses."
    if rule == "over_pick":
        return ("A phone does not add up the gang: it shows what was left when its sheet was "
                "made.")
    return ""


def _changed(told: Dossier) -> Iterator[str]:
    """Say what a new sheet would have told otherwise, at the start with the oldest one."""
    dated = [one for one in told.case.carried if one.made_at is not None]
    if not dated:
        return
    worst = max(dated, key=lambda one: (one.days_old or 0, one.began))
    old = told.sheets.get(worst.made_at) if worst.made_at is not None else None
    new = told.fresh.get(worst.began)
    if old is None or new is None or old.sheet is None or new.sheet is None:
        return
    cells = differing(old.sheet, new.sheet, worst.day)
    head = (f"At the oldest, {told.moment(worst.began)}, the sheet was {worst.days_old} days old. "
            "One made at that moment")
    if not cells:
        yield f"{head} would have told every cell the same."
        return
    said = [f"{one.cell} {one.new or 'no cell'} (the old one: {one.old or 'no cell'})"
            for one in cells]
    yield (f"{head} would have told {counted(len(cells), 'cell')} otherwise: "
           f"{listed(said, most=_CELLS)}.")


def worst_start(carried: Sequence[Carried]) -> datetime | None:
    """Give the START with the oldest sheet, whose fresh sheet is worth making; None without."""
    dated = [one for one in carried if one.made_at is not None]
    if not dated:
        return None
    return max(dated, key=lambda one: (one.days_old or 0, one.began)).began
