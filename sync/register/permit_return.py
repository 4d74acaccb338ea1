"""The return to the authority: what was done under a permit in one of its years, and how.

Rule 1: it is worked out on the last day of the year, or on the day asked about if that is sooner;
what happened later is left out, what was learned later about it is not.
Rule 2: a pick is told by what of it lies within the year; touches and strays are told as a sum.
Rule 3: bags that were tallied are taken; picks from before the program are told, not added.
"""

import dataclasses
from datetime import date
from typing import Literal

from sync.block import Permit
from sync.crop.chain import CellCrop
from sync.crop.classes import JudgedPick
from sync.picks.bags import kg_of
from sync.picks.made import Kg
from sync.register.build import Register
from sync.register.closed_in import ClosedIn, closed_in
from sync.register.kept import quadrats_about
from sync.register.permits import PermitToday, filed_under, permit_on
from sync.survey.share_kept import ShareKept, share_kept

AreaBy = Literal["tracks", "weight", "typed", "whole"]


@dataclasses.dataclass(frozen=True)
class PickedCell:
    """A pick under the permit, within its year.

    Attributes
    ----------
    first, last : date
        Of its days within the year.
    kg : Kg
        Of its bags within the year, shed-dry. [kg]
    open_m2, area_m2 : float
        Open ground of the cell, and what of it was picked. [m²]
    area_by : {"tracks", "weight", "typed", "whole"}
        What told most of it: hands' tracks, the kg against what was pickable at rest, the share
        typed in, or nothing, so that the whole cell is told.
    rest_ends : date or None
        First day on which it may be picked again.
    typed : bool
        Whether it was typed in as a pick from before the program.
    """

    cell: str
    ground_class: str
    first: date
    last: date
    kg: Kg
    open_m2: float
    area_m2: float
    area_by: AreaBy
    rest_ends: date | None
    typed: bool


@dataclasses.dataclass(frozen=True)
class PermitReturn:
    """A return.

    Attributes
    ----------
    permit : PermitToday
        Its year until the day, what was taken, what is left, the notice, what was filed.
    on : date
        The day it was worked out on.
    picks : tuple of PickedCell
        By first day and cell.
    kept : ShareKept
        Share of the moss that still stood after picking.
    closed : tuple of ClosedIn
        Closures and holds of the year on its ground.
    """

    permit: PermitToday
    on: date
    picks: tuple[PickedCell, ...]
    kept: ShareKept
    closed: tuple[ClosedIn, ...]

    @property
    def is_over(self) -> bool:
        """Whether the permit year is."""
        return self.on >= self.permit.last

    @property
    def elsewhere(self) -> Kg:
        """What was taken, but in no pick: touches, strays, bags of no cell. [kg]."""
        whole, picked = self.permit.taken_kg, [one.kg for one in self.picks]
        return Kg(max(0.0, whole.kg - sum(one.kg for one in picked)), 0.0,
                  max(0.0, whole.bags - sum(one.bags for one in picked)), ())


def permit_return(register: Register, permit: Permit, *, asked: date) -> PermitReturn:
    """Work out the return of a permit year.

    Parameters
    ----------
    register : Register
        Of `return_day`.
    permit : Permit
        The permit.
    asked : date
        The day asked about; a return filed by then is told.

    Returns
    -------
    PermitReturn
        At full precision.
    """
    names = tuple(register.cells)
    found = permit_on(permit, register.known, register.events, register.crop, names,
                      on=register.on)
    filed = filed_under(permit, register.known, register.events, register.crop, register.grounds,
                        on=max(asked, register.on), year=found.first.year)
    picks = sorted((one for cell in found.cells for one in _picks(register, cell, found)),
                   key=lambda one: (one.first, one.cell))
    return PermitReturn(
        dataclasses.replace(found, filed=filed), register.on, tuple(picks),
        share_kept([quadrats_about(register.crop.cells[name], real[-1],
                                   register.tunables.survey_days)
                    for name in found.cells if (real := _real(
                        register.crop.cells[name], found.first, register.on))]),
        closed_in(register, found.cells, found.first, register.on))


def _real(cell: CellCrop, first: date, until: date) -> list[JudgedPick]:
    return [pick for pick in cell.picks
            if not pick.touch and pick.made.first <= until and pick.made.last >= first]


def _picks(register: Register, name: str, found: PermitToday) -> list[PickedCell]:
    cell = register.crop.cells[name]
    return [_picked(register, cell, pick, found)
            for pick in _real(cell, found.first, register.on)]


def _picked(
    register: Register, cell: CellCrop, pick: JudgedPick, found: PermitToday
) -> PickedCell:
    made, crop = pick.made, register.crop
    first, last = max(made.first, found.first), made.last
    presses = [one for one in register.known.placed
               if cell.cell in one.chances and first <= one.bag.day <= last]
    kg = kg_of(presses, cell.cell, crop.weights, register.block)
    share, by = _share_of_ground(pick)
    return PickedCell(
        cell.cell, cell.ground_class, first, last, kg, cell.open_m2, share * cell.open_m2, by,
        pick.rest_ends, made.share_pct is not None)


def _share_of_ground(pick: JudgedPick) -> tuple[float, AreaBy]:
    """Give the part of a cell's open ground that a pick went over, and what tells it. [-].

    The largest of what tells: tracks are of those who carried a phone, not of the whole gang.
    """
    told: list[tuple[float, AreaBy]] = []
    if pick.swept_share is not None:
        told.append((pick.swept_share, "tracks"))
    if pick.made.share_pct is not None:
        told.append((pick.made.share_pct / 100.0, "typed"))
    if pick.pickable_at_mark_kg and pick.made.whole is not None:
        told.append((pick.made.whole.kg / pick.pickable_at_mark_kg, "weight"))
    share, by = max(told, default=(1.0, "whole"))
    return min(1.0, share), by
