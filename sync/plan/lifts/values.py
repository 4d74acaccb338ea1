"""What a plan of lifts is made of.

Rule 1: what is not known is None, and whoever shows it says so.
"""

import dataclasses
from datetime import date

from sync.plan.lifts.driven import Driven
from sync.register.build import Register

#: Latitude and longitude. [deg]
PlaceDeg = tuple[float, float]
#: Easting and northing. [m]
PlaceM = tuple[float, float]


@dataclasses.dataclass(frozen=True)
class Pile:
    """Bags that wait under one label; `place` is None where nobody marked the pile.

    Attributes
    ----------
    label, season
        A label is unique in a season only.
    bags : float
        That wait on the day asked about.
    """

    label: str
    season: int
    bags: float
    place: PlaceDeg | None


@dataclasses.dataclass(frozen=True)
class Hazard:
    """A hazard that somebody marked."""

    name: str
    place: PlaceDeg


@dataclasses.dataclass(frozen=True)
class WetBag:
    """What a bag weighed wet when bags were weighed last.

    Attributes
    ----------
    kg, sd_kg : float
        Mean, and spread from bag to bag. [kg]
    day : date
        Of the weighing.
    weighings : int
        Times that the scale was read; each may be of several bags.
    bags : float
        Weighed in all.
    assumed : bool
        Whether too few were weighed to tell a spread, so that an assumed one stands in.
    own : bool
        Whether only bags of that pile tell it.
    piles : tuple of (str, int)
        Label and season of each pile whose bags were weighed, as far as that was noted.
    """

    kg: float
    sd_kg: float
    day: date
    weighings: int
    bags: float
    assumed: bool
    own: bool
    piles: tuple[tuple[str, int], ...] = ()


@dataclasses.dataclass(frozen=True)
class Drive:
    """The way of a machine from the gate to a pile, over ground that is not closed.

    Attributes
    ----------
    length_m : float
        One way. [m]
    cells : tuple of (str, float)
        Cells on the way and the metres in each, longest first. [m]
    bends : tuple of PlaceM
        Where the way bends.
    """

    length_m: float
    cells: tuple[tuple[str, float], ...]
    bends: tuple[PlaceM, ...]


@dataclasses.dataclass(frozen=True)
class ByMachine:
    """A pile fetched by machine.

    Attributes
    ----------
    trips : int or None
        Each goes there and back; None where the owner's bags a trip are not known.
    cost : float or None
        Of the trips, without the coming. [currency]
    drive : Drive or None
        None where there is no gate, no place of the pile, or no way over open ground.
    """

    trips: int | None
    cost: float | None
    drive: Drive | None


@dataclasses.dataclass(frozen=True)
class PileLifts:
    """A pile and how it is lifted.

    Attributes
    ----------
    bag_types : tuple of str
        Types of the bags tallied there.
    wet : WetBag or None
        None where no bag of its types was ever weighed wet.
    sling : int or None
        Most bags on a sling; 0 where even one may be too heavy; None without `wet`.
    lifts : int or None
        None where nothing can be said of the sling.
    cost : float or None
        Of its lifts, without the coming. [currency]
    hazards : tuple of (str, float)
        Near it, nearest first, with their distance. [m]
    """

    pile: Pile
    bag_types: tuple[str, ...]
    wet: WetBag | None
    sling: int | None
    lifts: int | None
    cost: float | None
    hazards: tuple[tuple[str, float], ...]
    machine: ByMachine


@dataclasses.dataclass(frozen=True)
class Lift:
    """One sling load, in order.

    Attributes
    ----------
    batch : str
        Label under which it is noted once it has flown.
    kg : float
        As the weighing makes it likely. [kg]
    most_kg : float
        It is no heavier in 95 of 100 such loads. [kg]
    """

    number: int
    batch: str
    pile: Pile
    bags: float
    kg: float
    most_kg: float


@dataclasses.dataclass(frozen=True, eq=False)
class LiftPlan:
    """The lifts of a day.

    Attributes
    ----------
    limit_kg : float
        What the hook may carry. [kg]
    limit_asked : bool
        Whether it was asked for; else it is the owner's, of block.toml.
    piles : tuple of PileLifts
        In the order of the lifts.
    landing : PlaceDeg or None
        The gate, where loads are set down.
    driven : tuple of Driven
        Ground that machines drove over before.
    landing_hazards : tuple of (str, float)
        Near the gate. [m]
    """

    register: Register
    limit_kg: float
    limit_asked: bool
    piles: tuple[PileLifts, ...]
    lifts: tuple[Lift, ...]
    landing: PlaceDeg | None
    landing_hazards: tuple[tuple[str, float], ...]
    driven: tuple[Driven, ...] = ()

    @property
    def on(self) -> date:
        """The day asked about."""
        return self.register.on

    @property
    def bags(self) -> float:
        """Bags on all its piles."""
        return sum(one.pile.bags for one in self.piles)


def to_m(register: Register, place: PlaceDeg) -> PlaceM:
    """Give a place in degrees as easting and northing. [m]."""
    e, n = register.grounds.projection.to_m(*place)
    return float(e), float(n)
