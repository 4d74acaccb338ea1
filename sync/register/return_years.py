"""Of which permit years a return may be asked, and on which day it is worked out."""

from datetime import date

from sync.block import Permit, holds_on
from sync.register.build import Register
from sync.register.permit_year import permit_year, year_of

#: A slip in a year must not make a list of centuries.
_MOST_YEARS = 40


def return_day(permit: Permit, year: int, asked: date) -> date:
    """Give the day on which a return is worked out: the last of its year, or the day asked."""
    return min(year_of(permit, year)[1], asked)


def years_told(register: Register, permit: Permit) -> tuple[int, ...]:
    """Give the years of which a return may be asked.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    permit : Permit
        The permit.

    Returns
    -------
    tuple of int
        Years in which a permit year starts, from that of the first bag to that of the day, the
        last first; those in which it is in force.
    """
    on = register.on
    first = min((one.bag.day for one in register.known.placed if one.bag.day <= on), default=on)
    years = range(permit_year(permit, on)[0].year, permit_year(permit, first)[0].year - 1, -1)
    return tuple(year for year in years[:_MOST_YEARS] if in_force(permit, year))


def in_force(permit: Permit, year: int) -> bool:
    """Say whether a permit holds on any day of its year that starts in a calendar year."""
    first, last = year_of(permit, year)
    return (holds_on(first, permit.since, permit.until)
            or (permit.since is not None and first <= permit.since <= last
                and holds_on(permit.since, permit.since, permit.until)))
