"""Which cells' picked kg may lack something: a hole in a phone's numbers, or bags of no cell."""

from collections.abc import Mapping, Sequence
from datetime import date

from sync.crop.today import CellToday
from sync.geometry.bags import Placed
from sync.intake.holes import Hole


def incomplete_cells(
    cells: Mapping[str, CellToday],
    placed: Sequence[Placed],
    holes: Sequence[Hole],
    zone: str,
    *,
    on: date,
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

    Returns
    -------
    frozenset of str
        A picking day of a hole's picker on the hole's day, a picking day with unplaced bags, or a
        pick whose kg nobody knows.
    """
    on_days = [one for one in placed if one.bag.day <= on]
    unplaced_days = {one.bag.day for one in on_days if one.how == "nowhere" and one.bag.bags > 0}
    suspect = {
        (day, picker)
        for hole in holes if hole.paper_bags is None
        for day in hole.days(zone)
        for picker in _pickers_of(hole.device, day, on_days)
    }
    days_by_cell: dict[str, set[date]] = {}
    for one in on_days:
        if (one.bag.day, one.bag.picker) in suspect:
            for cell in one.chances:
                days_by_cell.setdefault(cell, set()).add(one.bag.day)
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


def _pickers_of(device: str, day: date, placed: Sequence[Placed]) -> set[str]:
    """Give whose bags a phone tallied on a day; on a day without any, whose it tallies at all."""
    own = [one for one in placed if one.bag.device == device]
    that_day = {one.bag.picker for one in own if one.bag.day == day}
    return that_day or {one.bag.picker for one in own}
