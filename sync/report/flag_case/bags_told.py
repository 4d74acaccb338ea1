"""The bags behind a flag as a table: groups, or days where groups are too many for a page.

Rule 1: rows never lose a bag: what has no row is counted beneath the table.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence

from sync.flags.evidence.presses import BY_FIXES, Group, Press
from sync.report.flag_case.parts import (
    MOST_ROWS,
    Dossier,
    Section,
    counted,
    listed,
    say_bags,
    say_chance,
    say_day,
)
from sync.report.table import Shown

_HOW = {"track": "track", "fix": "fix", "confirmed": "confirmed", "typed": "typed in",
        "nowhere": "nowhere"}
_NAMED, _ELSEWHERE = 4, 4


def about_words(told: Dossier) -> str:
    """Name the ground that a flag's chances are of; empty of a rule about no ground."""
    flag = told.case.flag
    if flag.rule == "outside_block":
        return "outside"
    if flag.rule == "closed_ground":
        return f"closed {flag.cell}"
    if flag.rule == "sprayed_hold":
        return f"held {flag.cell}"
    return flag.cell or ""


def bags_section(told: Dossier) -> Section | None:
    """Tell the bags behind a flag; None of a rule that is about no bags."""
    case = told.case
    if not case.presses:
        return None
    total = sum(one.placed.bag.bags for one in case.presses)
    days = sorted({one.placed.bag.day for one in case.presses})
    by_group = len(case.groups) <= MOST_ROWS
    when = f" on {say_day(days[0])}" if len(days) == 1 else ""
    head = (f"{say_bags(total)} bags in {counted(len(case.groups), 'group')}{when}. The bags of "
            "one group share one position error; they are not so many witnesses.")
    if not by_group:
        head = (f"{say_bags(total)} bags in {counted(len(case.presses), 'record')} on "
                f"{counted(len(days), 'day')}.")
    table = _groups(told, one_day=len(days) == 1) if by_group else _days(told)
    return Section("The bags", (head,), table, tuple(_after(told, len(days), by_group=by_group)))


def _groups(told: Dossier, *, one_day: bool) -> Shown:
    about = about_words(told)
    heads = ["", "when", "phone", "bags of", "bags", f"chance {about}", "fix ± m", "place by",
             "record numbers"]
    rows = [_group(told, number, one, one_day=one_day)
            for number, one in enumerate(told.case.groups, 1)]
    keep = [i for i in range(len(heads)) if about or i not in {5}]
    return Shown(tuple(heads[i] for i in keep),
                 tuple(tuple(row[i] for i in keep) for row in rows),
                 frozenset(place for place, i in enumerate(keep) if i in {1, 2, 3, 7, 8}))


def _group(told: Dossier, number: int, one: Group, *, one_day: bool) -> tuple[str, ...]:
    span = told.clock(one.since)
    if told.clock(one.until) != span:
        span += f"–{told.clock(one.until)}"
    if not one_day:
        span = f"{say_day(one.since.astimezone(told.zone).date())} {span}"
    return (
        str(number), span, one.device, " ".join(one.pickers), say_bags(one.bags),
        say_chance(one.chance), "–" if one.r68_m is None else f"{one.r68_m:.0f}",
        " ".join(_HOW[how] for how in one.how), _numbers(one.records),
    )


def _numbers(records: Sequence[str]) -> str:
    numbers = [name.rpartition(":")[2] for name in records]
    more = f" +{len(numbers) - _NAMED}" if len(numbers) > _NAMED else ""
    return " ".join(numbers[:_NAMED]) + more


def _days(told: Dossier) -> Shown:
    by_day: dict[str, list[Press]] = defaultdict(list)
    for one in told.case.presses:
        by_day[one.placed.bag.day.isoformat()].append(one)
    about = about_words(told)
    rows = []
    for each in list(by_day.values())[:MOST_ROWS]:
        bags = [one.placed.bag for one in each]
        rows.append((
            say_day(bags[0].day), f"{told.clock(bags[0].at)}–{told.clock(bags[-1].at)}",
            str(len({bag.device for bag in bags})),
            listed(sorted({bag.picker for bag in bags}), most=6),
            say_bags(sum(bag.bags for bag in bags)),
            f"{sum(one.placed.bag.bags * one.chance for one in each):,.1f}",
        ))
    return Shown(("day", "from–to", "phones", "bags of", "bags",
                  f"of them {about}" if about else "counted"),
                 tuple(rows), frozenset({0, 1, 3}))


def _after(told: Dossier, days: int, *, by_group: bool) -> Iterator[str]:
    case, about = told.case, about_words(told)
    if not by_group and days > MOST_ROWS:
        yield f"{counted(days - MOST_ROWS, 'day')} more without a row."
    figures = told.row["figures"]
    if about and case.flag.rule in {"early_pick", "closed_ground", "outside_block"}:
        tunables = told.register.tunables
        yield (
            f"Expected from {_where(told)}: {figures['bags']:,.1f} bags, {figures['kg']:,.0f} ± "
            f"{case.sd_kg:,.0f} kg (one SD: where the bags came from, and what a bag weighs). "
            f"{tunables.early_bags:g} bags are called a pick; chance of at least so many: "
            f"{say_chance(case.flag.probability or 0.0)}.")
    elsewhere = _elsewhere(told)
    if elsewhere:
        yield f"The others are expected from {elsewhere}."


def _where(told: Dossier) -> str:
    flag = told.case.flag
    if flag.rule == "outside_block":
        return "outside the block"
    return f"closed ground in {flag.cell}" if flag.rule == "closed_ground" else str(flag.cell)


def _elsewhere(told: Dossier) -> str:
    """Say where else the bags are expected from; nothing of a rule about no cell."""
    flag = told.case.flag
    if flag.rule not in {"early_pick", "over_pick", "weak_position"}:
        return ""
    bags: dict[str, float] = defaultdict(float)
    for one in told.case.presses:
        # By the same chances as the flag's, so that both add up to what was tallied.
        chances = one.placed.flagged if flag.rule in BY_FIXES else one.placed.chances
        for cell, chance in chances.items():
            if cell != flag.cell:
                bags[cell] += one.placed.bag.bags * chance
    order = sorted(bags.items(), key=lambda item: (-item[1], item[0]))
    shown = [f"{cell} ({count:.1f} bags)" for cell, count in order if count >= 0.05]
    return listed(shown, most=_ELSEWHERE)
