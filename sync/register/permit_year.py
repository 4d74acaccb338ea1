"""A permit's year, its ground, and the bags that it counts.

Rule 1: all bags tallied for the block count, also those outside or of no cell, unless they are of
ground that the permit does not cover.
"""

from collections.abc import Collection
from datetime import date, timedelta

from sync.block import Permit, season_of
from sync.crop.known import Known
from sync.geometry.ground import Ground
from sync.geometry.placed import NOT_THERE, Placed
from sync.picks.bags import Bags, kg_of
from sync.picks.made import Kg
from sync.picks.sources import Weights

#: Key of a bag's chance of being the permit's.
HERE = "here"


def permit_year(permit: Permit, on: date) -> tuple[date, date]:
    """Give the permit year that a day lies in.

    Parameters
    ----------
    permit : Permit
        With the day its year starts on.
    on : date
        Local day.

    Returns
    -------
    tuple of date
        First and last day.
    """
    return year_of(permit, season_of(on, permit.year_start))


def year_of(permit: Permit, year: int) -> tuple[date, date]:
    """Give the first and last day of the permit year that starts in a calendar year."""
    month, day = permit.year_start
    return date(year, month, day), date(year + 1, month, day) - timedelta(days=1)


def covers(permit: Permit, ground: Ground, cell: str) -> bool:
    """Say whether a permit covers a cell.

    Parameters
    ----------
    permit : Permit
        The permit.
    ground : Ground
        Of the day.
    cell : str
        A cell of that ground.

    Returns
    -------
    bool
        True where it names no parcels, or the one that most of the cell's ground is of.
    """
    return not permit.parcels or ground.cells[cell].parcel in permit.parcels


def bags_under(
    permit: Permit, known: Known, covered: Collection[str], cells: Collection[str], *,
    first: date, until: date,
) -> list[Placed]:
    """Give the bags tallied under a permit between two days.

    Parameters
    ----------
    permit : Permit
        The permit.
    known : Known
        Bags with their chances.
    covered, cells : collection of str
        Cells that it covers, and all of them.
    first, until : date
        Local days, both counted.

    Returns
    -------
    list of Placed
        With one chance each, of being the permit's.
    """
    elsewhere = frozenset(cells) - frozenset(covered)
    return [_with_share(one, elsewhere) for one in known.tallies.between(first, until)]


def kg_under(
    permit: Permit, known: Known, covered: Collection[str], cells: Collection[str],
    weights: Weights, *, first: date, until: date,
) -> Kg:
    """Weigh the bags tallied under a permit between two days.

    Parameters
    ----------
    permit, known, covered, cells, first, until
        As for `bags_under`.
    weights : Weights
        Kg of a bag. [kg]

    Returns
    -------
    Kg
        Shed-dry. [kg], [kg²]
    """
    if frozenset(cells) - frozenset(covered):
        presses = bags_under(permit, known, covered, cells, first=first, until=until)
        return kg_of(presses, HERE, weights, known.block)
    # Where the permit covers every cell, a bag is the permit's wherever it is of.
    mine = known.tallies.between(first, until)
    bags = known.kept.under.give(
        (permit.name, first), (mine,), lambda: Bags(mine, None, known.block))
    return known.kept.kg_under.give(
        (permit.name, first), (mine, bags.weighed_by(weights)), lambda: bags.kg(weights))


def _with_share(one: Placed, elsewhere: frozenset[str]) -> Placed:
    """Count a bag for the permit unless it is of ground that the permit does not cover."""
    gone = sum(chance for cell, chance in one.chances.items() if cell in elsewhere)
    moved = [1.0 - sum(ways[way] for cell, ways in one.moved.items() if cell in elsewhere)
             for way in range(len(NOT_THERE))]
    return one._replace(
        chances={HERE: max(0.0, 1.0 - gone)}, drift=None,
        moved={HERE: (moved[0], moved[1], moved[2], moved[3])} if one.moved else one.moved)
