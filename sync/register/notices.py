"""Notices of a start and returns that were filed, as records tell them.

Rule 1: a notice is of the permit year that its start lies in; of several the last given counts.
Rule 2: of several returns of one permit year the last filed counts.
Rule 3: what was given or filed after the day asked about is left out.
"""

import dataclasses
from collections.abc import Callable, Sequence
from datetime import date

from sync.block import Block, Permit
from sync.intake.seen import NoticeSeen
from sync.register.working_days import clear_working_days


@dataclasses.dataclass(frozen=True)
class Notice:
    """A notice of a start against what the permit asks for.

    Attributes
    ----------
    given, start : date or None
        When it was given, and for which first day; None where none was given.
    clear_days : int or None
        Clear working days between the two.
    needed : int or None
        Clear working days that the permit asks for; None where it asks for none.
    record : str or None
        That says it.
    """

    given: date | None
    start: date | None
    clear_days: int | None
    needed: int | None
    record: str | None = None


def notices_of(
    notices: Sequence[NoticeSeen], permit: Permit, within: tuple[date, date], *, on: date
) -> list[NoticeSeen]:
    """Give the notices of a start in a permit year that were given by a day.

    Parameters
    ----------
    notices : sequence of NoticeSeen
        All of them.
    permit : Permit
        The permit.
    within : tuple of date
        First and last day of its year.
    on : date
        The day asked about.

    Returns
    -------
    list of NoticeSeen
        In the order in which they were given.
    """
    mine = [one for one in notices
            if one.permit == permit.name and one.what == "start" and one.day <= on
            and one.start is not None and within[0] <= one.start <= within[1]]
    return sorted(mine, key=lambda one: (one.day, one.at, one.name))


def notice_of(
    notices: Sequence[NoticeSeen], permit: Permit, within: tuple[date, date], block: Block, *,
    on: date,
) -> Notice | None:
    """Give the notice that stands for a permit year.

    Parameters
    ----------
    notices, permit, within, on
        As for `notices_of`.
    block : Block
        For the owner's holidays.

    Returns
    -------
    Notice or None
        None where none was given and the permit asks for none.
    """
    mine = notices_of(notices, permit, within, on=on)
    if not mine:
        return None if permit.notice_days is None else Notice(None, None, None, permit.notice_days)
    last = mine[-1]
    clear = None if last.start is None else clear_working_days(
        last.day, last.start, block.holidays)
    return Notice(last.day, last.start, clear, permit.notice_days, last.name)


def filed_of(
    notices: Sequence[NoticeSeen], permit: Permit, year_of: Callable[[date], int], *, on: date,
    year: int | None = None,
) -> NoticeSeen | None:
    """Give the last return that was filed under a permit.

    Parameters
    ----------
    notices : sequence of NoticeSeen
        All of them.
    permit : Permit
        The permit.
    year_of : callable
        Year in which the permit year of a day starts.
    on : date
        The day asked about.
    year : int, optional
        Of that permit year only; else of the latest that has one.

    Returns
    -------
    NoticeSeen or None
        None where none was filed by that day; a return of a year to come is a slip of the pen.
    """
    mine = [one for one in notices
            if one.permit == permit.name and one.what == "return" and one.day <= on
            and one.year is not None and one.year <= year_of(on)
            and (year is None or one.year == year)]
    return max(mine, key=lambda one: (one.year or 0, one.day, one.at, one.name), default=None)
