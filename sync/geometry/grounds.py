"""The ground of many days: built once for days on which the same maps and holds are in force."""

import dataclasses
import hashlib
from collections.abc import Sequence
from datetime import date

from sync.block import Block, Feature, holds_on
from sync.errors import GeometryError
from sync.geometry.crs import Projection
from sync.geometry.ground import Ground, Hold, ground_on
from sync.geometry.shapes import shape_of
from sync.settings import Tunables


def _is_ground(projection: Projection, hold: Hold) -> bool:
    """Say whether a hold's outline can be read; a broken one in a record must stop no register."""
    if hold.outline is None:
        return True
    try:
        shape_of(projection, hold.outline, hold.why)
    except GeometryError:
        return False
    return True


class Grounds:
    """Grounds by day, remembered for the length of one run.

    Parameters
    ----------
    block : Block
        Its maps.
    projection : Projection
        Of `block.epsg`.
    holds : sequence of Hold
        Closings from records.
    tunables : Tunables
        For the least area of a cell.

    Attributes
    ----------
    holds : tuple of Hold
        Those whose outlines can be read.
    """

    def __init__(
        self, block: Block, projection: Projection, holds: Sequence[Hold], tunables: Tunables
    ) -> None:
        self.block = block
        self.projection = projection
        self.holds = tuple(hold for hold in holds if _is_ground(projection, hold))
        self._tunables = tunables
        self._built: dict[tuple[int, ...], Ground] = {}
        self._by_day: dict[date, Ground] = {}

    def on(self, day: date) -> Ground:
        """Give the ground of a day.

        Parameters
        ----------
        day : date
            Local day.

        Returns
        -------
        Ground
            Its `day` is the day asked about.
        """
        if day not in self._by_day:
            self._by_day[day] = dataclasses.replace(self._of_maps(day), day=day)
        return self._by_day[day]

    def _of_maps(self, day: date) -> Ground:
        """Give the ground by the maps and holds in force, whatever day it was built for."""
        dated: list[Feature | Hold] = [
            *self.block.outline, *self.block.classes, *self.block.closures, *self.holds
        ]
        key = tuple(i for i, one in enumerate(dated) if holds_on(day, one.since, one.until))
        if key not in self._built:
            ground = ground_on(
                self.block, self.projection, day, holds=self.holds, settings=self._tunables
            )
            said = (self.block.grid, self.block.epsg, self._tunables.sliver_m2,
                    [dated[i] for i in key])
            maps = hashlib.sha256(repr(said).encode()).hexdigest()
            self._built[key] = dataclasses.replace(ground, maps=maps)
        return self._built[key]
