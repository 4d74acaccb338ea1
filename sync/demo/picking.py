"""A pick: a gang goes to a cell, tallies its bags for some days, and hands over.

Rule 1: every bag goes through the capture of a phone, where it was filled.
Rule 2: what a phone writes is in the order in which it happened.
"""

import dataclasses
from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from fieldapp.capture.notes import Notes
from fieldapp.capture.outing import Outing
from fieldapp.capture.undo import Undo
from fieldapp.record import Where
from sync.demo.phones import DemoPhone
from sync.demo.place import ZONE, local
from sync.demo.tracking import Trail
from sync.demo.world import World

#: True shed-dry kg in a bag. [kg]
KG_A_BAG = 6.8
#: Bags of one picker in a day, least and most.
_LEAST_A_DAY, MOST_A_DAY = 7, 11
_MARGIN_M = 16.0
_MINUTES_A_DAY = 480
_SLIP = 0.01
_HALVES = 0.15
#: After the pick of this cell the phone's file comes weeks late.
_LATE = {"K07": "p3"}
#: Days on which some phones kept their tracks; on all others they saved their batteries.
_TRACKED = (date(2026, 1, 20), date(2026, 1, 21))
_TRACKING = ("p1", "p3")


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
    days : int or None
        How many working days it lasts; None as long as it takes.
    evening : tuple of (date, callable) or None
        What else happens after a day's picking; it is told the label of the pile.
    pile : str or None
        What the gang calls its pile; None takes what the phone proposes.
    """

    cell: str
    first: date
    share: float
    crews: tuple[Crew, ...]
    days: int | None = None
    evening: tuple[date, Callable[[str], None]] | None = None
    pile: str | None = None


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
    days = _days(world, plan, bags)
    last, _ = days[-1]
    for day, today in days:
        gang.day(day, today, last=day == last)
        world.moss.take(plan.cell, today * KG_A_BAG, day)
        if plan.evening is not None and plan.evening[0] == day:
            plan.evening[1](gang.pile)
    world.hand_over_all(local(last, 19), late=_LATE.get(plan.cell))
    return PickDone(plan.cell, gang.pile, last, float(bags))


def _days(world: World, plan: PickPlan, bags: int) -> list[tuple[date, int]]:
    """Spread bags over working days."""
    days: list[tuple[date, int]] = []
    pickers = sum(len(crew.pickers) for crew in plan.crews)
    even = () if plan.days is None else shared(bags, [1] * plan.days)
    day, left = plan.first, bags
    while left > 0:
        most = int(world.rng.integers(_LEAST_A_DAY * pickers, MOST_A_DAY * pickers + 1))
        today = even[len(days)] if even else min(left, most)
        days.append((day, today))
        left -= today
        day += timedelta(days=2 if day.weekday() == 5 else 1)
    return days


class Gang:
    """A gang on one cell; its pile is marked on the first day."""

    def __init__(self, world: World, plan: PickPlan) -> None:
        self.world = world
        self.plan = plan
        self.pile = ""

    def day(self, day: date, bags: int, *, last: bool) -> None:
        """Tally a day's bags on all phones; on the last day the cell is named finished."""
        shares = shared(bags, [len(crew.pickers) for crew in self.plan.crews])
        for crew, mine in zip(self.plan.crews, shares, strict=True):
            outing = self.start(crew, day)
            if mine:
                self.tally(outing, crew, day, mine)
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
                              where=self._fix(phone), name=self.plan.pile)
            self.pile = str(made["name"])
        return outing

    def _fix(self, phone: DemoPhone) -> Where:
        e, n = self.world.place_in(self.plan.cell, _MARGIN_M)
        return phone.where(*self.world.fix_at(e, n, 4.0), float(self.world.rng.integers(4, 7)))

    def tally(self, outing: Outing, crew: Crew, day: date, bags: int) -> None:
        """Tally a day's bags, from eight to four; on some days the first and last are halves."""
        rng = self.world.rng
        sizes = [1.0] * bags
        if bags > 1 and rng.random() < _HALVES:
            sizes = [0.5, *sizes[1:], 0.5]
        minutes = sorted(rng.choice(_MINUTES_A_DAY, size=len(sizes), replace=False))
        times = [local(day, 8) + timedelta(minutes=int(minute)) for minute in minutes]
        self.tally_at(outing, crew, times, sizes)

    def tally_at(
        self, outing: Outing, crew: Crew, times: Sequence[datetime],
        sizes: Sequence[float] | None = None,
    ) -> None:
        """Tally bags at given times, for each of the crew in turn.

        Parameters
        ----------
        outing : Outing
            Open.
        crew : Crew
            Whose bags.
        times : sequence of datetime
            UTC, ascending.
        sizes : sequence of float, optional
            Of each bag; all are whole ones by default. [bags]
        """
        phone = self.world.phones[crew.phone]
        day = times[0].astimezone(ZoneInfo(ZONE)).date()
        trail = None
        if day in _TRACKED and crew.phone in _TRACKING:
            trail = Trail(phone, outing, times[0] - timedelta(minutes=5), self._fix(phone))
        for i, (at, size) in enumerate(zip(times, sizes or [1.0] * len(times), strict=True)):
            where = self._fix(phone)
            if trail is not None:
                trail.to(at, where)
            self._press(outing, crew.pickers[i % len(crew.pickers)], phone, at, where, size)
        if trail is not None:
            trail.close(times[-1] + timedelta(seconds=30))

    def _press(
        self, outing: Outing, whose: str, phone: DemoPhone, at: datetime, where: Where,
        size: float,
    ) -> None:
        """Tally a bag; some are pressed twice and undone, some undone and put back."""
        tally, undo, slip = phone.tally(outing), Undo(outing), self.world.rng.random()
        tally.bag(now=phone.clock(at), where=where, bags=size, for_=whose, pile=self.pile)
        if slip < _SLIP:
            tally.bag(now=phone.clock(at + timedelta(seconds=2)), where=where, bags=size,
                      for_=whose, pile=self.pile)
        if slip < 2 * _SLIP:
            undo.undo(now=phone.clock(at + timedelta(seconds=9)), where=None)
        if _SLIP <= slip < 2 * _SLIP:
            undo.put_back(now=phone.clock(at + timedelta(seconds=18)), where=None)

    def end(
        self, outing: Outing, crew: Crew, at: datetime, finished: Sequence[str]
    ) -> None:
        """End a crew's outing."""
        phone = self.world.phones[crew.phone]
        outing.end(list(finished), now=phone.clock(at), where=self._fix(phone))


def shared(bags: int, weights: Sequence[int]) -> list[int]:
    """Share bags out by weight, what is over to the first ones."""
    whole = sum(weights)
    shares = [bags * weight // whole for weight in weights]
    for i in range(bags - sum(shares)):
        shares[i % len(shares)] += 1
    return shares
