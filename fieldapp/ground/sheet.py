"""The ground sheet as frozen values: what the shed tells a phone about the ground.

Rule 1: a value here has been checked; `sheet_file` is the only maker from outside text.
Rule 2: places are metres on the sheet's plane (x east, y north); only `GroundMap` knows degrees.
Rule 3: `state` is that of the day the sheet was made; today's is `fieldapp.ground`'s to compute.
"""

import dataclasses
from datetime import date, datetime
from functools import cached_property
from typing import Literal

from fieldapp.ground.shapes import Box, Point, Shape, box_of

State = Literal["closed", "resting", "unsurveyed", "taken", "ready"]
Row = tuple[float, float, float, float, float, float]

#: Beyond a degree from the map's middle only "far away" matters, and a parabola may fold back.
_MAP_REACH_DEG = 1.0


class GroundError(ValueError):
    """A ground sheet that is not what it says it is; it is refused and the one before stays."""


@dataclasses.dataclass(frozen=True)
class GroundMap:
    """The map between degrees and the sheet's metres: two polynomials of second degree.

    Each row holds the factors of 1, a, b, a², ab, b², in this order.

    Attributes
    ----------
    at : tuple of float
        Latitude and longitude (WGS 84) that degrees are counted from. [deg]
    to_m : tuple of Row
        Rows of x and of y [m], with a = lat − at[0] and b = lon − at[1] [deg].
    to_deg : tuple of Row
        Rows of lat − at[0] and of lon − at[1] [deg], with a = x and b = y [m].
    """

    at: tuple[float, float]
    to_m_rows: tuple[Row, Row]
    to_deg_rows: tuple[Row, Row]

    def to_m(self, lat: float, lon: float) -> Point:
        """Map a place to the sheet's plane.

        Parameters
        ----------
        lat, lon : float
            WGS 84; the longitude may be counted either way round. [deg]

        Returns
        -------
        Point
            x and y. Beyond 1 degree from `at` by the straight part of the map alone. [m]
        """
        a, b = lat - self.at[0], (lon - self.at[1] + 180.0) % 360.0 - 180.0
        straight = max(abs(a), abs(b)) > _MAP_REACH_DEG
        x, y = (_row_at(row, a, b, straight=straight) for row in self.to_m_rows)
        return x, y

    def to_deg(self, x: float, y: float) -> tuple[float, float]:
        """Map a point of the sheet's plane to WGS 84.

        Parameters
        ----------
        x, y : float
            The point, within the block's reach. [m]

        Returns
        -------
        tuple of float
            Latitude, and longitude from −180 up to 180. [deg]
        """
        lat, lon = (_row_at(row, x, y, straight=False) for row in self.to_deg_rows)
        return self.at[0] + lat, (self.at[1] + lon + 180.0) % 360.0 - 180.0


def _row_at(row: Row, a: float, b: float, *, straight: bool) -> float:
    value = row[0] + row[1] * a + row[2] * b
    return value if straight else value + row[3] * a * a + row[4] * a * b + row[5] * b * b


@dataclasses.dataclass(frozen=True)
class Cell:
    """A cell as it stood when the sheet was made.

    Attributes
    ----------
    rest_ends : date or None
        First day on which it may be picked again.
    then : State or None
        What it is once rest and closures are over; None where the shed did not say.
    left_kg, left_bags : float, int or None
        What is left of the may-take; None where there is no figure. [kg], [bags]
    """

    name: str
    shape: Shape
    ground_class: str | None
    state: State
    why: str
    rest_ends: date | None
    then: State | None
    left_kg: float | None
    left_bags: int | None

    @cached_property
    def box(self) -> Box:
        """The upright box [m] about the cell."""
        return box_of(self.shape)


@dataclasses.dataclass(frozen=True)
class Closure:
    """Ground closed from a day through another; None is open-ended."""

    shape: Shape
    since: date | None
    until: date | None
    why: str

    @cached_property
    def box(self) -> Box:
        """The upright box [m] about the closure."""
        return box_of(self.shape)


@dataclasses.dataclass(frozen=True)
class Peg:
    """A peg in the ground. `at` in m."""

    name: str
    at: Point


@dataclasses.dataclass(frozen=True)
class Mark:
    """Something marked in the field; `bags` are those waiting on a pile. `at` in m."""

    what: str
    name: str
    at: Point
    bags: float | None


@dataclasses.dataclass(frozen=True)
class PermitLeft:
    """A permit and what is left of its cap, in the permit's own unit."""

    permit: str
    left: float | None


@dataclasses.dataclass(frozen=True)
class PersonOnSheet:
    """A person code and what a phone calls that person."""

    code: str
    call: str


@dataclasses.dataclass(frozen=True)
class Plot:
    """A place to lay a quadrat; `again` asks for a second reading. `at` in m."""

    name: str
    cell: str
    at: Point
    when: str
    spare: bool
    again: bool
    ground_class: str | None


@dataclasses.dataclass(frozen=True)
class BagType:
    """A kind of bag and the kg in one, wet as carried and shed-dry."""

    name: str
    wet_kg: float | None
    dry_kg: float | None


@dataclasses.dataclass(frozen=True)
class Sheet:
    """A whole ground sheet.

    Attributes
    ----------
    season_start : tuple of int
        Month and day on which a season begins.
    zone : str
        IANA name of the block's time zone.
    check_in_min : int
        Time between check-ins, 0 for none. [min]
    declination_deg : float
        How far a compass points east of true north. [deg]
    label_from : int
        Next free number of this phone's labels.
    held : tuple of (int, int)
        Record numbers of `held_of` at the shed, as spans with both ends in them.
    held_of : str or None
        The device whose numbers these are: a re-installed app is another device and counts from
        1 anew. None where the shed knows none yet, or did not say.
    """

    sheet_id: str
    block_id: str
    block_name: str
    for_phone: str
    made_at: datetime
    good_until: datetime
    zone: str
    season_start: tuple[int, int]
    map: GroundMap
    cell_m: float
    outline: Shape
    cells: tuple[Cell, ...]
    closures: tuple[Closure, ...]
    pegs: tuple[Peg, ...]
    marks: tuple[Mark, ...]
    permits: tuple[PermitLeft, ...]
    people: tuple[PersonOnSheet, ...]
    plots: tuple[Plot, ...]
    bag_types: tuple[BagType, ...]
    probes: int
    frame_m: float
    check_in_min: int
    declination_deg: float
    gate: Point | None
    label_from: int
    held: tuple[tuple[int, int], ...]
    held_of: str | None

    def held_by(self, device: str) -> tuple[tuple[int, int], ...]:
        """Give the numbers of a device at the shed.

        Parameters
        ----------
        device : str
            As `p3-k7f2`.

        Returns
        -------
        tuple of (int, int)
            As `held`; none where the sheet does not say that they are this device's.
        """
        return self.held if self.held_of == device else ()
