"""What can happen on a block, by kind: typed events, each with the record that says it.

Rule 1: an event keeps the name of its record, so that every figure can name it.
Rule 2: a place is still what the phone wrote; nothing is placed or weighed here.
"""

import dataclasses
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any, NamedTuple, Protocol

import numpy as np
import numpy.typing as npt

from fieldapp.record import Where
from sync.intake.counted import Counted

Floats = npt.NDArray[np.float64]


@dataclasses.dataclass(frozen=True)
class QuadratSeen:
    """A quadrat as read; `bare` is a plot found without moss (pool or scrub)."""

    name: str
    at: datetime
    day: date
    person: str
    plot: str | None
    cell: str | None
    where: Where | None
    when: str
    again: bool
    bare: bool
    cover_pct: float
    depth_mm: tuple[int, ...]
    scrub_pct: float | None
    water_table_mm: float | None
    clip: str | None
    order: tuple[datetime, str, int]


@dataclasses.dataclass(frozen=True)
class ClipSeen:
    """All that is known of one clip: its records of one label, added up.

    Attributes
    ----------
    names : tuple of str
        The records it came from.
    fields : mapping
        `cut area_m2 from_mm to_mm wet_g dry_g dried`, where stated.
    twice : tuple of str
        Fields with two values; such a clip waits.
    """

    label: str
    names: tuple[str, ...]
    day: date
    where: Where | None
    fields: Mapping[str, Any]
    twice: tuple[str, ...]


class BagSeen(NamedTuple):
    """Bags tallied by one press, with what may tell their cell; a tuple, for there are many.

    Attributes
    ----------
    picker : str
        Whose bags they are, by person code.
    own : bool
        True if they are those of the person who carries the phone.
    cell : str or None
        Typed in by hand at the shed.
    confirmed : str or None
        The cell that the carrier confirmed for the outing.
    wet_kg : float or None
        Of all of them, as weighed. [kg]
    """

    name: str
    at: datetime
    day: date
    device: str
    seq: int
    picker: str
    own: bool
    bags: float
    bag_type: str | None
    pile: str | None
    cell: str | None
    confirmed: str | None
    where: Where | None
    covers: tuple[str, int, int] | None
    wet_kg: float | None = None


@dataclasses.dataclass(frozen=True)
class OutingSeen:
    """A press that began, paused, went on with or ended an outing; `role` as a start says it."""

    name: str
    at: datetime
    day: date
    device: str
    seq: int
    person: str
    state: str
    role: str | None = None


class Track(Protocol):
    """The fixes of one phone or receiver, read already or when they are asked for."""

    @property
    def at_ms(self) -> npt.NDArray[np.int64]:
        """Instants, all different, ascending. [ms since 1970, UTC]."""

    @property
    def lat(self) -> Floats:
        """WGS 84. [deg]."""

    @property
    def lon(self) -> Floats:
        """WGS 84. [deg]."""

    @property
    def acc_m(self) -> Floats:
        """68 % horizontal radius; NaN where the receiver does not say. [m]."""

    @property
    def is_empty(self) -> bool:
        """Say whether there is no fix."""

    @property
    def about_ms(self) -> npt.NDArray[np.int64]:
        """Instants such that every fix is on the day of one of them by UTC. [ms since 1970]."""

    @property
    def made_of(self) -> bytes:
        """Bytes that are others where any fix is another."""

    def __len__(self) -> int: ...

    def within(self, since_ms: float, until_ms: float) -> "Track":
        """Give the fixes from one instant to another, both included [ms since 1970]."""


@dataclasses.dataclass(frozen=True, eq=False)
class TrackSeen:
    """The fixes of one phone or receiver by instant, all different, as arrays of one length.

    Attributes
    ----------
    at_ms : array of int64, shape (n,)
        Since 1970, UTC, mended by the satellites' time. [ms]
    lat, lon : array of float64, shape (n,)
        WGS 84. [deg]
    acc_m : array of float64, shape (n,)
        68 % horizontal radius; NaN where the receiver does not say. [m]
    """

    at_ms: npt.NDArray[np.int64]
    lat: Floats
    lon: Floats
    acc_m: Floats

    def __len__(self) -> int:
        return len(self.at_ms)

    @property
    def is_empty(self) -> bool:
        """Say whether there is no fix."""
        return not len(self)

    @property
    def about_ms(self) -> npt.NDArray[np.int64]:
        """Instants such that every fix is on the day of one of them by UTC. [ms since 1970]."""
        return self.at_ms

    @property
    def made_of(self) -> bytes:
        """Bytes that are others where any fix is another."""
        return b"".join(np.ascontiguousarray(values).tobytes()
                        for values in (self.at_ms, self.lat, self.lon, self.acc_m))

    def within(self, since_ms: float, until_ms: float) -> "TrackSeen":
        """Give the fixes from one instant to another, both included [ms since 1970]."""
        first = int(np.searchsorted(self.at_ms, since_ms, side="left"))
        last = int(np.searchsorted(self.at_ms, until_ms, side="right"))
        return TrackSeen(self.at_ms[first:last], self.lat[first:last], self.lon[first:last],
                         self.acc_m[first:last])


@dataclasses.dataclass(frozen=True)
class ThinnedSeen:
    """What is left of a walk's track once its points are gone: `told` is its trace as written."""

    name: str
    device: str
    told: Mapping[str, Any]


@dataclasses.dataclass(frozen=True)
class LotSeen:
    """A dried lot: bags, shed-dry kg, and the labels it was made of."""

    name: str
    label: str
    day: date
    bags: float
    dry_kg: float
    sources: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class PastPick:
    """A pick from before the program, typed in at the shed."""

    name: str
    cell: str
    first: date
    last: date
    share_pct: float
    dry_kg: float | None


@dataclasses.dataclass(frozen=True)
class Spraying:
    """A spraying that closes ground: cells, or an outline in degrees, until a day."""

    name: str
    cells: tuple[str, ...]
    outline: Mapping[str, Any] | None
    since: date
    until: date
    product: str | None


@dataclasses.dataclass(frozen=True)
class WorkSeen:
    """Work done on the ground: what, in which cells or within which outline (degrees), hours.

    Attributes
    ----------
    trial : str or None
        The trial that it belongs to.
    """

    name: str
    day: date
    person: str
    what: str
    cells: tuple[str, ...]
    outline: Mapping[str, Any] | None
    hours: float | None
    trial: str | None
    product: str | None


@dataclasses.dataclass(frozen=True)
class WetSeen:
    """Bags of a batch weighed wet at one stage, and the labels it was made of. [kg]."""

    name: str
    label: str
    day: date
    stage: str
    bags: float
    wet_kg: float
    sources: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class BatchSeen:
    """One stage of a batch, as it was noted.

    Attributes
    ----------
    stage : {"weighed", "lifted", "arrived", "dried"}
        What happened to it.
    bags : float or None
        None is all that its sources hold.
    sources : tuple of str
        Labels of the piles and batches that it was made of; empty where none is said.
    dry_kg : float or None
        Shed-dry. [kg]
    moist_pct, pure_pct : float or None
        Moisture, wet basis, and clean moss of all that was dried. [%]
    """

    name: str
    at: datetime
    label: str
    day: date
    stage: str
    bags: float | None
    sources: tuple[str, ...]
    dry_kg: float | None = None
    moist_pct: float | None = None
    pure_pct: float | None = None


@dataclasses.dataclass(frozen=True)
class NoticeSeen:
    """A notice to the authority of a start, or a return that was filed.

    Attributes
    ----------
    day : date
        Local day on which it was given or filed.
    start : date or None
        Of a notice of a start: the first day of picking that it tells.
    year : int or None
        Of a return: the year in which its permit year starts.
    known_by : datetime or None
        Of a return: the time by which its figures were known, UTC.
    taken : float or None
        Of a return: what it says was taken, in the permit's unit.
    figures : str or None
        Of a return: sum of its figures, apart from how they were printed.
    """

    name: str
    at: datetime
    day: date
    permit: str
    what: str
    start: date | None
    year: int | None
    known_by: datetime | None
    taken: float | None
    figures: str | None


@dataclasses.dataclass(frozen=True)
class Events:
    """Everything that happened on the block, as far as it is known.

    Attributes
    ----------
    batch_sources : mapping of str to tuple of (date, str)
        The labels that each batch was made from, and the day on which that was noted; a batch's
        label is unique in a season only.
    """

    quadrats: tuple[QuadratSeen, ...]
    clips: tuple[ClipSeen, ...]
    bags: tuple[BagSeen, ...]
    lots: tuple[LotSeen, ...]
    batch_sources: Mapping[str, tuple[tuple[date, str], ...]]
    past_picks: tuple[PastPick, ...]
    finished: Mapping[str, tuple[date, ...]]
    sprayings: tuple[Spraying, ...]
    works: tuple[WorkSeen, ...]
    outings: tuple[OutingSeen, ...]
    marks: tuple[Counted, ...]
    tracks: Mapping[str, Track]
    thinned: Mapping[str, tuple[ThinnedSeen, ...]]
    rulings: tuple[Counted, ...]
    wet: tuple[WetSeen, ...] = ()
    notices: tuple[NoticeSeen, ...] = ()
    batches: tuple[BatchSeen, ...] = ()
