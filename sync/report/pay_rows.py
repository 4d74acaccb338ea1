"""Bags by person and day as rows: a table for the terminal, and CSV for a spreadsheet.

Rule 1: a row a person and day, by code and day; what is not known is empty, never 0.
Rule 2: a total is the sum of what is behind its rows, rounded once.
"""

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from itertools import groupby
from zoneinfo import ZoneInfo

from sync.intake.holes import Hole
from sync.report.csv_rows import csv_text
from sync.report.pay import PersonDay, Sums, sums_of_bags
from sync.report.rounding import BAG_KG, rounded
from sync.report.table import Shown

CSV_COLUMNS = (
    "person", "day", "bags", "types", "paper_bags", "dry_kg", "dry_kg_of_bags", "wet_kg",
    "wet_kg_of_bags", "may_lack", "why", "records", "records_undone",
)
_COLUMNS = ("person", "day", "bags", "from paper", "dry kg (of bags)", "wet kg (of bags)",
            "records", "may lack")
_LEFT = frozenset({0, 1, 7})
_NONE = "–"


def pay_csv(days: Sequence[PersonDay], zone: str) -> str:
    """Write a row a person and day.

    Parameters
    ----------
    days : sequence of PersonDay
        By person and day.
    zone : str
        The block's: a hole is told by its clock.

    Returns
    -------
    str
        RFC 4180; names of all records stand in one field, parted by blanks.
    """
    return csv_text(CSV_COLUMNS, ({
        "person": one.person, "day": one.day.isoformat(), **_figures(sums_of_bags(one.bags)),
        "may_lack": one.may_lack, "why": "; ".join(reasons(one, zone)),
        "records": " ".join(bag.said.name for bag in one.bags),
        "records_undone": " ".join(each.said.name for each in one.undone),
    } for one in days))


def _figures(sums: Sums) -> dict[str, object]:
    return {
        "bags": _count(sums.bags), "paper_bags": _count(sums.paper),
        "types": "; ".join(f"{name} {bags:g}" for name, bags in sums.types.items()),
        "dry_kg": rounded(sums.dry_kg, BAG_KG) if sums.dry_bags else None,
        "dry_kg_of_bags": _count(sums.dry_bags) if sums.dry_bags else None,
        "wet_kg": rounded(sums.wet_kg, BAG_KG) if sums.wet_bags else None,
        "wet_kg_of_bags": _count(sums.wet_bags) if sums.wet_bags else None,
    }


def _count(bags: float) -> float | int:
    """Give a number of bags as it is; of a lot that took a part of a pile, to a tenth."""
    return int(bags) if bags == int(bags) else bags if 2 * bags == int(2 * bags) else (
        rounded(bags, BAG_KG))


def reasons(one: PersonDay, zone: str) -> list[str]:
    """Say why a day may lack something, in words."""
    found = [f"{_hole(hole, zone, one.day)} never came" for hole in one.holes]
    found += [f"{name} waits to be mended" for name in one.waiting]
    found += [f"{name} came with two contents" for name in one.twice]
    return found


def _hole(hole: Hole, zone: str, day: date) -> str:
    numbers = str(hole.first) if hole.first == hole.last else f"{hole.first}-{hole.last}"
    return f"{hole.device} {numbers} ({clock_span(hole, zone, day)})"


def clock_span(hole: Hole, zone: str, day: date) -> str:
    """Write from when to when a hole lasts, by the block's clock; of its own day no date."""
    def told(at: datetime | None) -> str:
        if at is None:
            return "?"
        there = at.astimezone(ZoneInfo(zone))
        return f"{there:%H:%M}" if there.date() == day else f"{there:%Y-%m-%d %H:%M}"
    return f"{told(hole.since)} – {told(hole.until)}"


def pay_table(days: Sequence[PersonDay]) -> Shown:
    """Give person and day as a table, each person's sum below the days.

    Parameters
    ----------
    days : sequence of PersonDay
        By person and day.

    Returns
    -------
    Shown
        Why a day may lack something stands below the table: `pay_notes`.
    """
    rows: list[tuple[str, ...]] = []
    for person, each in groupby(days, key=lambda one: one.person):
        own = list(each)
        rows += [_row(person, one.day.isoformat(), [one]) for one in own]
        rows.append(_row(person, "sum", own))
    return Shown(_COLUMNS, tuple(rows), _LEFT)


def _row(person: str, day: str, days: Sequence[PersonDay]) -> tuple[str, ...]:
    bags = [bag for one in days for bag in one.bags]
    sums = sums_of_bags(bags)
    return (
        person, day, f"{sums.bags:g}", f"{sums.paper:g}" if sums.paper else _NONE,
        _kg(sums.dry_kg, sums.dry_bags), _kg(sums.wet_kg, sums.wet_bags), str(len(bags)),
        "yes" if any(one.may_lack for one in days) else "")


def _kg(kg: float, bags: float) -> str:
    return _NONE if not bags else f"{rounded(kg, BAG_KG):,.1f} ({_count(bags):g})"


def pay_notes(days: Sequence[PersonDay], zone: str) -> Iterator[str]:
    """Say below the table what may lack, what was taken back, and what is behind the figures."""
    for one in days:
        if one.may_lack:
            yield (f"{one.person} {one.day.isoformat()} may lack something: "
                   f"{'; '.join(reasons(one, zone))}")
    for one in days:
        if one.undone:
            names = ", ".join(f"{each.said.name} ({undone_word(each.how)})" for each in one.undone)
            yield f"{one.person} {one.day.isoformat()} not counted: {names}"
    yield ("Bags are counts, each its `for`'s, else its noter's; bags expected in a hole are "
           "never counted.")
    yield ("Dry kg are shed-dry, shared evenly over the bags of the lot they went into; wet kg as "
           "weighed. --csv names all records.")


def undone_word(how: str) -> str:
    """Say why a record does not count, in words."""
    return {"mended": "corrected", "void": "taken back", "paper": "its records came"}[how]
