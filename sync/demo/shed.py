"""What the owner of the made-up block writes down at the shed, by forms.

Rule 1: a form is filled in as a person would, and taken in like any other file.
"""

from datetime import date, timedelta
from pathlib import Path

from sync.demo.place import local
from sync.demo.special import LOST_DAY
from sync.demo.world import World
from sync.disk.filing import file_return
from sync.disk.load import load_inputs
from sync.report.permit import returns_of

#: Picked before the program, still resting: cell, first and last day, shed-dry kg where known.
PAST: tuple[tuple[str, date, date, int | None], ...] = (
    ("G09", date(2021, 10, 4), date(2021, 10, 12), 610),
    ("H09", date(2021, 11, 1), date(2021, 11, 9), 540),
    ("E04", date(2022, 1, 10), date(2022, 1, 19), None),
    ("E05", date(2022, 2, 7), date(2022, 2, 14), 480),
    ("G08", date(2022, 3, 7), date(2022, 3, 15), 520),
    ("H08", date(2022, 10, 3), date(2022, 10, 11), 590),
    ("I09", date(2022, 11, 7), date(2022, 11, 16), 630),
)
#: What was taken where nobody wrote it down. [kg]
_UNKNOWN_KG = 560
#: Scrub was sprayed in this cell; nobody picks there for so many days.
SPRAYED, SPRAYED_ON, HOLD_DAYS = "B02", date(2025, 12, 2), 90
PERMIT = "KM-0417"
#: Of each season, when the council was told, and of which start.
NOTICES = {
    2023: (date(2023, 8, 14), date(2023, 9, 18)),
    2024: (date(2024, 8, 6), date(2024, 9, 10)),
    2025: (date(2025, 8, 14), date(2025, 9, 15)),
}
FILED_YEAR, FILED_ON = 2024, date(2025, 3, 28)


def type_in_past(world: World) -> None:
    """Type in the picks from before the program; the moss knows of them anyway."""
    rows = []
    for cell, first, last, kg in PAST:
        world.moss.take(cell, kg or _UNKNOWN_KG, last)
        rows.append({"day": "2023-06-05", "person": "O", "cell": cell, "from": first, "to": last,
                     "dry_kg": "" if kg is None else kg})
    world.form("past_pick", rows, local(date(2023, 6, 5), 18))


def give_notice(world: World, season: int) -> None:
    """Write down on its day that the council was told of a season; last time 21 working days."""
    given, start = NOTICES[season]
    world.form("notice", [
        {"day": given, "person": "O", "permit": PERMIT, "what": "start", "start": start},
    ], local(given, 18), called=None if season == max(NOTICES) else f"notice{season}")


def file_report(world: World) -> None:
    """File the return for 2024/25 before the paper book's count and the dry weights came in."""
    at = local(FILED_ON, 18)
    inputs = load_inputs(world.folder, known_by=at)
    permit = next(one for one in inputs.block.permits if one.name == PERMIT)
    (made,) = returns_of(inputs, [(permit, FILED_YEAR)], asked=FILED_ON)
    file_return(world.folder, made, by="O", known_by=at, now=at)


def record_spraying(world: World) -> None:
    """Write down the pilot's spraying of scrub in Teatree Neck."""
    world.form("work", [{
        "day": SPRAYED_ON, "person": "P", "what": "sprayed", "cells": SPRAYED,
        "product": "brush killer", "hours": 1.5, "hold_days": HOLD_DAYS,
    }], local(SPRAYED_ON, 18))


def enter_paper_count(world: World, lost: Path, bags: int, pile: str) -> None:
    """Enter the paper book's count of a lost file two weeks later.

    Parameters
    ----------
    world : World
        The block.
    lost : Path
        The file; its name says which numbers it holds.
    bags : int
        As the paper book has them.
    pile : str
        Where they were put.
    """
    _, _, first, last = lost.name.removesuffix(".handover.zip").split("-")
    device = world.phones["p2"].device
    world.form("bag", [{
        "day": LOST_DAY, "person": "O", "for": "RK", "bags": bags, "cell": "K04", "pile": pile,
        "covers": f"{device} {first} {last}",
    }], local(LOST_DAY + timedelta(days=14), 18))
