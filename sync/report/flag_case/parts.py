"""What a page about a flag is made of, and the small words it shares.

Rule 1: days have their month in letters, times are the block's local ones.
Rule 2: a page is a list of sections of sentences and tables; how they look is others' to say.
"""

import dataclasses
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from fieldapp.ground import Sheet
from sync.flags.evidence import Case
from sync.register.build import Register
from sync.report.map_words import day_words
from sync.report.table import Shown

#: Rows of a table that leave room for the rest on one side of A4.
MOST_ROWS = 12
_NEARLY = 0.9999


@dataclasses.dataclass(frozen=True)
class Section:
    """A head, sentences before and after a table, and the table if there is one."""

    head: str
    said: tuple[str, ...] = ()
    table: Shown | None = None
    after: tuple[str, ...] = ()


@dataclasses.dataclass(frozen=True)
class SheetSeen:
    """A ground sheet made again, or why it could not be."""

    sheet: Sheet | None
    why_not: str = ""


@dataclasses.dataclass(frozen=True)
class Dossier:
    """A case with all that its page is told from.

    Attributes
    ----------
    row : mapping
        The flag's row of the register's document.
    sheets : mapping of datetime to SheetSeen
        The sheets made again, by the time of their making.
    fresh : mapping of datetime to SheetSeen
        Sheets as they would have been, made at a START; by that time.
    """

    register: Register
    document: Mapping[str, Any]
    case: Case
    row: Mapping[str, Any]
    sheets: Mapping[datetime, SheetSeen]
    fresh: Mapping[datetime, SheetSeen]

    @property
    def zone(self) -> ZoneInfo:
        """The block's time zone."""
        return ZoneInfo(self.register.block.zone)

    def clock(self, at: datetime) -> str:
        """Say an instant as local time of day."""
        return f"{at.astimezone(self.zone):%H:%M}"

    def moment(self, at: datetime) -> str:
        """Say an instant as local day and time."""
        return f"{say_day(at.astimezone(self.zone).date())} {self.clock(at)}"


def say_day(day: date) -> str:
    """Say a day, such as 14 Mar 2028."""
    return day_words(day.isoformat())


def say_span(first: date, last: date) -> str:
    """Say a span of days; one day as a day."""
    if first == last:
        return say_day(first)
    return f"{say_day(first)} to {say_day(last)}"


def say_chance(chance: float) -> str:
    """Say a chance to two places, more where two would round it to 0 or 1."""
    if chance > _NEARLY:
        return "over 0.9999"
    return f"{chance:.2f}" if 0.01 <= chance < 0.995 else f"{chance:.4f}"


def say_bags(bags: float) -> str:
    """Say a number of bags that were tallied: whole or half."""
    return f"{bags:,.0f}" if float(bags).is_integer() else f"{bags:,.1f}"


def season_words(season: int, season_start: tuple[int, int]) -> str:
    """Say a season: by its two years where it crosses a new year."""
    if season_start == (1, 1):
        return str(season)
    return f"{season}/{(season + 1) % 100:02d}"


def counted(number: int, one: str, many: str | None = None) -> str:
    """Say so many of a thing."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def listed(words: Sequence[str], *, most: int) -> str:
    """List the first of some words, and say how many more there are."""
    more = f" and {len(words) - most} more" if len(words) > most else ""
    return ", ".join(words[:most]) + more
