"""The picking seasons: a gang goes to a cell, tallies its bags for some days, and hands over.

Rule 1: every bag goes through the capture of a phone, where it was filled.
Rule 2: how many bags are picked follows from what the register allowed before the season.
"""

import dataclasses
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from fieldapp.capture.notes import Notes
from fieldapp.capture.outing import Outing
from fieldapp.capture.undo import Undo
from fieldapp.record import Where
from sync.demo.phones import DemoPhone
from sync.demo.place import ZONE, local
from sync.demo.world import World

#: True shed-dry kg in a bag. [kg]
KG_A_BAG = 6.8
_MARGIN_M = 16.0
_MOST_BAGS = 330
#: After the pick of this cell the phone's file comes weeks late.
_LATE = {"K07": "p3"}


@dataclasses.dataclass(frozen=True)
class Crew:
    """Who tallies on a phone: the carrier, or those the carrier tallies for."""

    phone: str
    carrier: str
    pickers: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class PickPlan:
    """One pick to come.

    Attributes
    ----------
    share : float
        Bags as a share of what the cell allows. [-]
    """

    cell: str
    first: date
    share: float
    crews: tuple[Crew, ...]


MT = Crew("p1", "MT", ("MT",))
RK = Crew("p2", "RK", ("RK",))
JA = Crew("p3", "JA", ("JA",))
SW = Crew("p4", "SW", ("SW",))
FOREMAN = Crew("p5", "F", ("DW", "LP"))


@dataclasses.dataclass
class PickDone:
    """What came of a pick: its pile, its last day, and its bags."""

    cell: str
    pile: str
    last: date
    bags: float


def bags_allowed(world: World, plans: Sequence[PickPlan], now: datetime) -> dict[str, int]:
    """Give the bags of each plan by what the register allows its cell now.

    Parameters
    ----------
    world : World
        The block.
    plans : sequence of PickPlan
        The season's.
    now : datetime
        Before the season.

    Returns
    -------
    dict of str to int
        Bags by cell.

    Raises
    ------
    ValueError
        If a cell of the story allows nothing: then the made-up moss is wrong.
    """
    register = world.register(now)
    bags = {}
    for plan in plans:
        may_take = register.cells[plan.cell].may_take_kg
        if not may_take:
            raise ValueError(f"{plan.cell} allows nothing: {register.cells[plan.cell].why}")
        bags[plan.cell] = min(_MOST_BAGS, max(12, round(plan.share * may_take / KG_A_BAG)))
    return bags


def pick(world: World, plan: PickPlan, bags: int) -> PickDone:
    """Pick a cell with a gang, day after day, and hand over at its end.

    Parameters
    ----------
    world : World
        The block.
    plan : PickPlan
        Where, from when, and who.
    bags : int
        How many in all.

    Returns
    -------
    PickDone
        What came of it.
    """
    gang = Gang(world, plan)
    left = bags
    day = plan.first
    while left > 0:
        pickers = sum(len(crew.pickers) for crew in plan.crews)
        today = min(left, int(world.rng.integers(7 * pickers, 11 * pickers + 1)))
        left -= today
        gang.day(day, today, last=left == 0)
        world.moss.take(plan.cell, today * KG_A_BAG, day)
        last, day = day, _next_workday(day)
    world.hand_over_all(local(last, 19), late=_LATE.get(plan.cell))
    return PickDone(plan.cell, gang.pile, last, float(bags))


def _next_workday(day: date) -> date:
    return day + timedelta(days=2 if day.weekday() == 5 else 1)


class Gang:
    """A gang on one cell; its pile is marked on the first day."""

    def __init__(self, world: World, plan: PickPlan) -> None:
        self.world = world
        self.plan = plan
        self.pile = ""

    def day(self, day: date, bags: int, *, last: bool) -> None:
        """Tally a day's bags on all phones; on the last day the cell is named finished."""
        shares = _shared(bags, [len(crew.pickers) for crew in self.plan.crews])
        for crew, mine in zip(self.plan.crews, shares, strict=True):
            outing = self.start(crew, day)
            if crew.pickers and mine:
                self.tally(outing, crew, day, mine, from_hour=8, hours=8.0)
            finished = [self.plan.cell] if last and crew is self.plan.crews[-1] else []
            self.end(outing, crew, local(day, 16, 30), finished)

    def start(self, crew: Crew, day: date) -> Outing:
        """Begin a crew's outing with the cell confirmed; the first marks the pile."""
        phone = self.world.phones[crew.phone]
        at = local(day, 7, 30)
        outing = phone.outing()
        outing.start(crew.carrier, "picker", now=phone.clock(at), where=self._fix(phone),
                     sheet=phone.sheet, cell=self.plan.cell)
        if not self.pile:
            notes = Notes(outing, zone=ZoneInfo(ZONE))
            made = notes.mark("pile", now=phone.clock(at + timedelta(minutes=10)),
                              where=self._fix(phone))
            self.pile = str(made["name"])
        return outing

    def _fix(self, phone: DemoPhone) -> Where:
        e, n = self.world.place_in(self.plan.cell, _MARGIN_M)
        return phone.where(*self.world.fix_at(e, n, 4.0), float(self.world.rng.integers(4, 7)))

    def tally(
        self, outing: Outing, crew: Crew, day: date, bags: int, *, from_hour: int, hours: float,
        first_minute: int = 0,
    ) -> None:
        """Tally bags over some hours, with a slip now and then."""
        world = self.world
        phone = world.phones[crew.phone]
        tally = phone.tally(outing)
        minutes = sorted(world.rng.choice(int(hours * 60), size=bags, replace=False))
        for i, minute in enumerate(minutes):
            at = local(day, from_hour, first_minute) + timedelta(minutes=int(minute))
            whose = crew.pickers[i % len(crew.pickers)]
            tally.bag(now=phone.clock(at), where=self._fix(phone), for_=whose, pile=self.pile)
            if world.rng.random() < 0.02:
                slip = Undo(outing)
                slip.undo(now=phone.clock(at + timedelta(seconds=9)), where=None)
                slip.put_back(now=phone.clock(at + timedelta(seconds=20)), where=None)

    def end(
        self, outing: Outing, crew: Crew, at: datetime, finished: Sequence[str]
    ) -> None:
        """End a crew's outing."""
        phone = self.world.phones[crew.phone]
        outing.end(list(finished), now=phone.clock(at), where=self._fix(phone))


def _shared(bags: int, weights: Sequence[int]) -> list[int]:
    """Share bags out by the number of pickers, the rest to the first ones."""
    whole = sum(weights)
    shares = [bags * weight // whole for weight in weights]
    for i in range(bags - sum(shares)):
        shares[i % len(shares)] += 1
    return shares

