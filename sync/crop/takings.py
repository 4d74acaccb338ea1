"""What was taken from one cell, as the steps of its walk: picks cut at surveys, and stray bags.

Rule 1: a pick that a survey falls into is cut there, each part on its own mean day.
Rule 2: a pick of unknown kg stays one step, in the middle of its days.
"""

import dataclasses
from collections.abc import Mapping, Sequence
from datetime import date

from sync.crop.classes import JudgedPick, ReadingIndex
from sync.picks.joining import mean_day
from sync.picks.made import Kg


@dataclasses.dataclass(frozen=True)
class CellFacts:
    """What is known of one cell before it is walked.

    Attributes
    ----------
    open_m2 : float
        Open ground on the day asked about. [m²]
    readings : sequence of ReadingIndex
        In day order, none later than that day.
    picks : sequence of JudgedPick
        Oldest first, touches among them.
    stray : mapping of date to Kg
        Bags too few to make a picking day.
    """

    open_m2: float
    readings: Sequence[ReadingIndex]
    picks: Sequence[JudgedPick]
    stray: Mapping[date, Kg]


@dataclasses.dataclass(frozen=True)
class Taking:
    """A part of a pick, or a stray day, on its mean day; `kg` None is a pick of unknown kg."""

    at: float
    kg: Kg | None
    pick: JudgedPick | None
    day: date
    records: tuple[str, ...]


def takings(facts: CellFacts, survey_days: Sequence[float]) -> list[Taking]:
    """Give the takings of a cell.

    Parameters
    ----------
    facts : CellFacts
        Its picks and stray bags.
    survey_days : sequence of float
        Ordinals of the days of its surveys; kg of such a day come after the survey.

    Returns
    -------
    list of Taking
        In no order.
    """
    found = [
        Taking(float(day.toordinal()), kg, None, day, kg.records)
        for day, kg in facts.stray.items()
    ]
    for pick in facts.picks:
        found += _parts(pick, survey_days)
    return found


def _parts(pick: JudgedPick, survey_days: Sequence[float]) -> list[Taking]:
    made = pick.made
    if made.whole is None:
        middle = (made.first.toordinal() + made.last.toordinal()) / 2.0
        return [Taking(middle, None, pick, made.first, made.records)]
    groups: dict[int, dict[date, Kg]] = {}
    for day, kg in made.by_day.items():
        before = sum(1 for survey in survey_days if survey <= day.toordinal())
        groups.setdefault(before, {})[day] = kg
    parts = []
    for days in groups.values():
        weight = sum(kg.kg for kg in days.values())
        part = weight / made.whole.kg if made.whole.kg > 0.0 else 0.0
        records = tuple(dict.fromkeys(n for kg in days.values() for n in kg.records))
        bags = sum(kg.bags for kg in days.values())
        at = mean_day({day: kg.kg for day, kg in days.items()}) if weight > 0.0 else float(
            min(days).toordinal()
        )
        parts.append(Taking(
            at, Kg(weight, made.whole.variance * part, bags, records), pick, min(days), records
        ))
    return parts
