"""Which cells' picked kg may lack something: a hole in a phone's numbers, or bags of no cell."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from sync.crop.today import CellToday
from sync.geometry.placed import Placed
from sync.intake.holes import Hole


def incomplete_cells(
    cells: Mapping[str, CellToday],
    placed: Sequence[Placed],
    holes: Sequence[Hole],
    zone: str,
    *,
    on: date,
    least_bags: float,
) -> frozenset[str]:
    """Find the cells whose open or last pick is not known to be whole.

    Parameters
    ----------
    cells : mapping of str to CellToday
        Cells with their picks.
    placed : sequence of Placed
        Bags with their chances.
    holes : sequence of Hole
        Those with a paper tally are whole.
    zone : str
        The block's zone.
    on : date
        The day asked about.
    least_bags : float
        Bags expected of a picker in a cell that make it that picker's picking day.

    Returns
    -------
    frozenset of str
        A picking day of a hole's picker on the hole's day, a picking day with unplaced bags, or a
        pick whose kg nobody knows.
    """
    unplaced_days = {one.bag.day for one in placed
                     if one.how == "nowhere" and one.bag.bags > 0 and one.bag.day <= on}
    days_by_cell = _days_in_doubt(
        [one for one in placed if one.bag.day <= on], holes, zone, least_bags
    ) if any(hole.paper_bags is None for hole in holes) else {}
    found = set()
    for name, today in cells.items():
        for pick in (today.picks.open_pick, today.picks.last_over):
            if pick is None:
                continue
            days = set(pick.made.days)
            lacking = days & (unplaced_days | days_by_cell.get(name, set()))
            if pick.made.whole is None or lacking:
                found.add(name)
    return frozenset(found)


def _days_in_doubt(
    placed: Sequence[Placed], holes: Sequence[Hole], zone: str, least_bags: float
) -> Mapping[str, set[date]]:
    """Give the picking days by cell of pickers of whose bags a hole may hold some."""
    suspect = {
        (day, picker) for _, day, picker
        in in_doubt(placed, holes, zone, sorted({one.bag.day for one in placed}))
    }
    expected: dict[tuple[str, date, str], float] = defaultdict(float)
    for one in placed if suspect else ():
        if (one.bag.day, one.bag.picker) in suspect:
            for cell, chance in one.chances.items():
                expected[cell, one.bag.day, one.bag.picker] += one.bag.bags * chance
    found: dict[str, set[date]] = defaultdict(set)
    for (cell, day, _), bags in expected.items():
        if bags >= least_bags:
            found[cell].add(day)
    return found


def in_doubt(
    placed: Sequence[Placed], holes: Sequence[Hole], zone: str, days: Sequence[date]
) -> Iterator[tuple[Hole, date, str]]:
    """Find whose bags of which days a hole may hold.

    Parameters
    ----------
    placed : sequence of Placed
        Bags, for whose they are.
    holes : sequence of Hole
        Those with a paper tally are whole.
    zone : str
        The block's zone.
    days : sequence of date
        Those asked about.

    Yields
    ------
    Hole, date, str
        The hole, a day it touches, and whose bags its phone tallied that day; on a day without
        any, whose it tallies at all.
    """
    for hole in holes:
        if hole.paper_bags is None:
            for day in days:
                if hole.touches(day, zone):
                    for picker in sorted(_pickers_of(hole.device, day, placed)):
                        yield hole, day, picker


def _pickers_of(device: str, day: date, placed: Sequence[Placed]) -> set[str]:
    """Give whose bags a phone tallied on a day; on a day without any, whose it tallies at all."""
    own = [one for one in placed if one.bag.device == device]
    that_day = {one.bag.picker for one in own if one.bag.day == day}
    return that_day or {one.bag.picker for one in own}
