"""A bag with what is known of the cell it came from."""

import dataclasses
import functools
from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal, NamedTuple

import numpy as np

from sync.geometry.crs import Floats
from sync.intake.seen import BagSeen

How = Literal["typed", "track", "confirmed", "fix", "nowhere"]
#: Shares with the whole interval moved one standard deviation east, west, north, south.
Moved = tuple[float, float, float, float]
NO_CHANCES: Mapping[str, float] = MappingProxyType({})
#: A cell that a track reaches neither as it is nor moved.
NOT_THERE: Moved = (0.0, 0.0, 0.0, 0.0)


@dataclasses.dataclass(frozen=True, eq=False)
class Drift:
    """Where bags came from, for each of some equally likely errors of a whole spell of picking.

    Attributes
    ----------
    cells, closed, held : mapping of str to array, shape (m,)
        Part of the picking time in each cell, on ground of it that the owner had closed, and
        under a hold. [-]
    outside : array, shape (m,)
        Part on no ground of the block. [-]
    """

    cells: Mapping[str, Floats]
    closed: Mapping[str, Floats]
    outside: Floats
    held: Mapping[str, Floats] = dataclasses.field(default_factory=dict)

    @functools.cached_property
    def mean_cells(self) -> Mapping[str, float]:
        """The mean part in each cell. [-]."""
        return _means(self.cells)

    @functools.cached_property
    def mean_closed(self) -> Mapping[str, float]:
        """The mean part on ground of each cell that the owner had closed. [-]."""
        return _means(self.closed)

    @functools.cached_property
    def mean_held(self) -> Mapping[str, float]:
        """The mean part on ground of each cell under a hold. [-]."""
        return _means(self.held)

    @functools.cached_property
    def mean_outside(self) -> float:
        """The mean part on no ground of the block. [-]."""
        return mean_of(self.outside)


def _means(parts: Mapping[str, Floats]) -> Mapping[str, float]:
    return {cell: mean_of(each) for cell, each in parts.items()} if parts else NO_CHANCES


def mean_of(parts: Floats) -> float:
    """Give the mean of few numbers, as their own `mean`, which takes three times as long."""
    return float(np.add.reduce(parts)) / len(parts)


@dataclasses.dataclass(frozen=True)
class Word:
    """A picker's word on the cell of the day, and what such words proved worth before.

    Attributes
    ----------
    cell : str
        As confirmed.
    right : float
        How many of the words of days before were right: of each, the part of its plain bags that
        lay in its cell.
    words : int
        Words of days before that plain bags spoke of.
    chance : float
        Of being right, after these words and the plain bags of its own day; under 1. [-]
    """

    cell: str
    right: float
    words: int
    chance: float

    @property
    def odds(self) -> float:
        """Odds against any one other cell: 1 or more, for a word speaks against no track. [-]."""
        return max(1.0, self.chance / (1.0 - self.chance))


class Placed(NamedTuple):
    """A press with its chances; a tuple, for ten seasons have seventy thousand, each made anew.

    Attributes
    ----------
    e, n, sigma_m : float or None
        Its fix and the standard deviation of each coordinate. [m]
    chances : mapping of str to float
        Part of its bags by cell: a share of picking time along a track, else a chance. [-]
    closed : mapping of str to float
        Chance of ground under the owner's closures, by cell. [-]
    held : mapping of str to float
        Chance of ground under a hold from a record, by cell. [-]
    outside : float
        Chance of no ground of the block. [-]
    how : str
        What told the cell.
    group : int
        Presses of one phone with the same number share one position error.
    drift : Drift or None
        What the error of the track leaves open; None where no track told.
    moved : mapping of str to (float, float, float, float)
        `chances` with the track moved one standard deviation east, west, north and south; empty
        where no track told. Where a word counted, `chances` one standard deviation up and down
        and twice as they are. [-]
    word : Word or None
        The picker's word, where it moved the chances.
    """

    bag: BagSeen
    e: float | None
    n: float | None
    sigma_m: float | None
    chances: Mapping[str, float]
    closed: Mapping[str, float]
    outside: float
    how: How
    group: int = 0
    drift: Drift | None = None
    moved: Mapping[str, Moved] = MappingProxyType({})
    held: Mapping[str, float] = NO_CHANCES
    word: Word | None = None

    @property
    def flagged(self) -> Mapping[str, float]:
        """The chance of each cell, for what is flagged. [-]."""
        return self.chances if self.drift is None else self.drift.mean_cells

    def part_in(self, cell: str) -> float | Floats:
        """Give the part of its bags from a cell: a chance, or one part for each drift. [-]."""
        if self.drift is None:
            return self.chances.get(cell, 0.0)
        return self.drift.cells.get(cell, 0.0)

    def part_closed(self, cell: str) -> float | Floats:
        """Give the part from closed ground in a cell: a chance, or one for each drift. [-]."""
        if self.drift is None:
            return self.closed.get(cell, 0.0)
        return self.drift.closed.get(cell, 0.0)

    def part_held(self, cell: str) -> float | Floats:
        """Give the part from ground under a hold: a chance, or one for each drift. [-]."""
        if self.drift is None:
            return self.held.get(cell, 0.0)
        return self.drift.held.get(cell, 0.0)

    def part_outside(self) -> float | Floats:
        """Give the part from outside the block: a chance, or one for each drift. [-]."""
        return self.outside if self.drift is None else self.drift.outside
