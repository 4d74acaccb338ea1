"""Which records are named behind a flag about what was picked."""

from collections.abc import Collection
from datetime import date

from sync.register.build import Register

#: A bag with less of a chance is not named among a flag's records.
_LEAST_CHANCE = 0.01


def bags_behind(
    register: Register, cell: str, names: Collection[str], *, first: date = date.min,
    last: date = date.max,
) -> tuple[str, ...]:
    """Name the bags and typed picks among what a pick's kg came from.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    cell : str
        Where they were picked.
    names : collection of str
        Every record behind the kg; lots only weigh, so that one more of them opens no ruling.
    first, last : date
        Days that all of the bags are of.

    Returns
    -------
    tuple of str
        Bags by day and name, then typed picks.
    """
    wanted = set(names)
    bags = sorted(
        (one.bag.day, one.bag.name) for one in register.known.tallies.bags_in(cell, first, last)
        if one.bag.name in wanted and one.chances.get(cell, 0.0) >= _LEAST_CHANCE
    )
    typed = sorted(pick.name for pick in register.known.past if pick.name in wanted)
    return (*(name for _, name in bags), *typed)
