"""What a ground sheet said of the ground, by the phone's own code.

Rule 1: the sheet is read as the phone reads it, for the day and the place of each press.
Rule 2: where the fix cannot part two states the phone said "near edge", and so is it told.
"""

import dataclasses
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from zoneinfo import ZoneInfo

from fieldapp.ground import Sheet, State, answer, state_on
from sync.flags.evidence.carried import Carried


@dataclasses.dataclass(frozen=True)
class Shown:
    """What a sheet showed in one outing.

    Attributes
    ----------
    state : str or None
        Of the flag's cell on that day; None of a flag without a cell, or a cell not on the sheet.
    why : str
        The sheet's own words for it.
    rest_ends : date or None
        As the sheet has it.
    left_bags, left_kg : int, float or None
        As of the making of the sheet. [bags], [kg]
    bands : mapping of str to float
        Bags of the flag by what the phone's band said at their press; `no place` where the press
        has no fix.
    closures : tuple of str
        Why ground was closed at the place of some press.
    """

    state: State | None
    why: str
    rest_ends: date | None
    left_bags: int | None
    left_kg: float | None
    bands: Mapping[str, float]
    closures: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Differs:
    """A cell that an old sheet and a new one of the same day tell differently."""

    cell: str
    old: State | None
    new: State | None


def shown_in(sheet: Sheet, outing: Carried, cell: str | None) -> Shown:
    """Say what a sheet showed in an outing.

    Parameters
    ----------
    sheet : Sheet
        The one the phone carried.
    outing : Carried
        Its day and its presses.
    cell : str or None
        The cell that the flag is about.

    Returns
    -------
    Shown
        By the phone's own reckoning for that day.
    """
    on_sheet = next((one for one in sheet.cells if one.name == cell), None)
    bands: dict[str, float] = defaultdict(float)
    closed: set[str] = set()
    zone = ZoneInfo(sheet.zone)
    for press in outing.presses:
        bag = press.placed.bag
        if bag.where is None:
            bands["no place"] += bag.bags
            continue
        told = answer(sheet, bag.where, now=bag.at, zone=zone)
        bands[told.band] += bag.bags
        if told.state == "closed" and told.why:
            closed.add(told.why)
    return Shown(
        state=None if on_sheet is None else state_on(sheet, on_sheet, outing.day),
        why="" if on_sheet is None else on_sheet.why,
        rest_ends=None if on_sheet is None else on_sheet.rest_ends,
        left_bags=None if on_sheet is None else on_sheet.left_bags,
        left_kg=None if on_sheet is None else on_sheet.left_kg,
        bands=dict(sorted(bands.items())), closures=tuple(sorted(closed)),
    )


def differing(old: Sheet, new: Sheet, day: date) -> tuple[Differs, ...]:
    """Give the cells that two sheets tell differently on a day.

    Parameters
    ----------
    old, new : Sheet
        The one carried, and one made on that day.
    day : date
        Local day.

    Returns
    -------
    tuple of Differs
        In the new sheet's order, then cells that it has no more.
    """
    before, now = (_states(one, day) for one in (old, new))
    names = dict.fromkeys([*now, *before])
    return tuple(Differs(name, before.get(name), now.get(name)) for name in names
                 if before.get(name) != now.get(name))


def _states(sheet: Sheet, day: date) -> dict[str, State]:
    return {one.name: state_on(sheet, one, day) for one in sheet.cells}


def times_of(outings: Iterable[Carried], *, most: int) -> tuple[datetime, ...]:
    """Choose the sheets worth making again: the newest first among those with most bags.

    Parameters
    ----------
    outings : iterable of Carried
        Of one flag.
    most : int
        So many at most; each costs a register.

    Returns
    -------
    tuple of datetime
        When they were made, ascending.
    """
    weight: Counter[datetime] = Counter()
    for one in outings:
        if one.made_at is not None:
            weight[one.made_at] += 1 + round(2 * one.bags)
    chosen: Sequence[tuple[datetime, int]] = weight.most_common(most)
    return tuple(sorted(made_at for made_at, _ in chosen))
