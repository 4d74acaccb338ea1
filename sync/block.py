"""What the owner wrote down about the block, as frozen values.

Rule 1: reading and writing the files is `sync.disk`'s; nothing here touches a file.
Rule 2: a rule is judged as it stood on the day asked about.
"""

import dataclasses
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

#: No hook of a helicopter carries more; a higher limit is a slip of the keys. From memory. [kg]
MOST_HOOK_KG = 20_000.0


@dataclasses.dataclass(frozen=True)
class Grid:
    """The grid of cells: set once, never moved.

    Attributes
    ----------
    origin_e, origin_n : float
        South-west corner of cell A01. [m]
    cell_m : float
        Side of a cell. [m]
    """

    origin_e: float
    origin_n: float
    cell_m: float


@dataclasses.dataclass(frozen=True)
class Rule:
    """What the block demands from a day on; `since` None holds from ever."""

    since: date | None
    rest_months: int
    recovery_years: float
    living_layer_mm: float
    keep_pct: float


@dataclasses.dataclass(frozen=True)
class BagType:
    """A kind of bag and the owner's shed-dry kg in one, from a day on."""

    name: str
    litres: float | None
    dry_kg: float
    since: date | None = None


@dataclasses.dataclass(frozen=True)
class Person:
    """Somebody with a person code.

    Attributes
    ----------
    name, call : str
        The one never leaves the shed, the other is what phones show.
    also : tuple of str
        Letters used by phones without a sheet.
    counts_dots : bool
        Whether his second readings are dot counts, and so taken as the truth.
    """

    code: str
    name: str
    call: str
    role: str
    since: date | None = None
    until: date | None = None
    also: tuple[str, ...] = ()
    counts_dots: bool = False


@dataclasses.dataclass(frozen=True)
class Permit:
    """A permit to take moss from some parcels between two days."""

    name: str
    parcels: tuple[str, ...]
    since: date | None
    until: date | None
    year_start: tuple[int, int]
    cap: float | None
    cap_unit: str | None
    keep_pct: float | None
    living_layer_mm: float | None
    max_share_pct: float | None
    max_kg_ha: float | None
    notice_days: int | None


@dataclasses.dataclass(frozen=True)
class Plot:
    """A place drawn or chosen for a quadrat; `lat`, `lon` in degrees, WGS 84.

    Attributes
    ----------
    asked_on : date or None
        Day of the draw that asks for it last, its own or one that walks it again; a reading from
        before it leaves the plot to be read. None of a draw that was written by hand.
    withdrawn : bool
        Whether its draw was replaced before anybody walked it.
    """

    name: str
    cell: str
    lat: float
    lon: float
    drawn: bool
    when: str
    spare: bool
    again: bool
    pegged: bool
    asked_on: date | None = None
    withdrawn: bool = False


@dataclasses.dataclass(frozen=True)
class TrialPair:
    """Two cells of a trial: the one to be treated, the other, and their indices then. [L/m²]."""

    treated: str
    other: str
    ground_class: str
    treated_l_m2: float
    other_l_m2: float


@dataclasses.dataclass(frozen=True)
class TrialDraw:
    """Pairs drawn for a trial on one day, and the seed of their coins."""

    trial: str
    treatment: str
    drawn_on: date
    seed: int
    pairs: tuple[TrialPair, ...]


@dataclasses.dataclass(frozen=True)
class Feature:
    """One GeoJSON feature of the block's maps: a geometry in degrees and what is said of it."""

    geometry: Mapping[str, Any]
    properties: Mapping[str, Any]
    since: date | None = None
    until: date | None = None


@dataclasses.dataclass(frozen=True)
class Costs:
    """The owner's rates, each None where it was not said; they move no figure of the register.

    Attributes
    ----------
    currency : str
        What the rates are in, such as NZD; empty where it was not said.
    lift_each, lift_minute, lift_minutes, lift_call_out : float or None
        A sling load by helicopter, or a minute in the air and the minutes that a load takes; and
        what the coming costs. [currency], [currency/min], [min], [currency]
    machine_trip_each, machine_bags, machine_call_out : float or None
        A trip by machine, the bags that it takes, and what the coming costs. [currency], [bags]
    sell_per_kg, picking_per_kg : float or None
        Price of the moss and cost of its picking, shed-dry. [currency/kg]
    work_per_hour : float or None
        An hour of work on the ground, scrub cut or drains blocked. [currency/h]
    """

    currency: str = ""
    lift_each: float | None = None
    lift_minute: float | None = None
    lift_minutes: float | None = None
    lift_call_out: float | None = None
    machine_trip_each: float | None = None
    machine_bags: float | None = None
    machine_call_out: float | None = None
    sell_per_kg: float | None = None
    picking_per_kg: float | None = None
    work_per_hour: float | None = None


@dataclasses.dataclass(frozen=True)
class Block:
    """Everything the block folder says apart from the records.

    Attributes
    ----------
    season_start : tuple of int
        Month and day on which a season begins.
    gate : tuple of float or None
        Latitude and longitude of the gate. [deg]
    costs : Costs
        The owner's rates.
    hook_limit_kg : float or None
        What the usual helicopter's hook may carry. [kg]
    holidays : tuple of (date, date)
        First and last day of each span in which the authority does not work; weekends besides.
    """

    block_id: str
    name: str
    zone: str
    epsg: int
    grid: Grid
    season_start: tuple[int, int]
    rules: tuple[Rule, ...]
    bags: tuple[BagType, ...]
    people: tuple[Person, ...] = ()
    permits: tuple[Permit, ...] = ()
    plots: tuple[Plot, ...] = ()
    outline: tuple[Feature, ...] = ()
    classes: tuple[Feature, ...] = ()
    closures: tuple[Feature, ...] = ()
    gate: tuple[float, float] | None = None
    declination_deg: float = 0.0
    check_in_min: int = 60
    frame_m: float = 0.5
    probes: int = 3
    lang: str = "en"
    trials: tuple[TrialDraw, ...] = ()
    costs: Costs = Costs()
    hook_limit_kg: float | None = None
    holidays: tuple[tuple[date, date], ...] = ()


def holds_on(day: date, since: date | None, until: date | None) -> bool:
    """Say whether a span holds on a day; both ends are its own days, None is open."""
    return (since is None or since <= day) and (until is None or day <= until)


def season_of(day: date, season_start: tuple[int, int]) -> int:
    """Name the season of a day by the year it starts in.

    Parameters
    ----------
    day : date
        Local day.
    season_start : tuple of int
        Month and day on which a season begins.

    Returns
    -------
    int
        The year; common practice, no source.
    """
    return day.year if (day.month, day.day) >= season_start else day.year - 1


def season_end(day: date, season_start: tuple[int, int]) -> date:
    """Give the last day of the season that a day lies in."""
    month, first = season_start
    return date(season_of(day, season_start) + 1, month, first) - timedelta(days=1)


def day_after(day: date) -> date:
    """Give the next day; the calendar's last has none and gives itself."""
    return day if day == date.max else day + timedelta(days=1)


def rule_on(rules: Sequence[Rule], day: date) -> Rule:
    """Give the rule in force on a day.

    Parameters
    ----------
    rules : sequence of Rule
        In the order of their days; the first holds from ever.
    day : date
        Local day.

    Returns
    -------
    Rule
        The latest that had begun.
    """
    begun = [rule for rule in rules if rule.since is None or rule.since <= day]
    return begun[-1] if begun else rules[0]


def bag_kg_on(bags: Sequence[BagType], name: str | None, day: date) -> BagType:
    """Give a bag type as it stood on a day.

    Parameters
    ----------
    bags : sequence of BagType
        The block's, the usual one first.
    name : str or None
        None or an unknown name is the usual one.
    day : date
        Local day.

    Returns
    -------
    BagType
        The latest of that type that had begun, else its first.
    """
    usual = bags[0].name
    wanted = name if any(bag.name == name for bag in bags) else usual
    of_type = [bag for bag in bags if bag.name == wanted]
    begun = [bag for bag in of_type if bag.since is None or bag.since <= day]
    return begun[-1] if begun else of_type[0]


def permit_of(permits: Sequence[Permit], parcel: str | None) -> tuple[Permit, ...]:
    """Give the permits that name a parcel, or the whole block."""
    return tuple(p for p in permits if not p.parcels or parcel in p.parcels)
