"""The moss of the made-up block as it truly stands: what the surveys try to find out.

Rule 1: nothing here is ever read by the register.
Rule 2: growth is logistic, faster than the block's owner assumes, and ends at the rested crop.
"""

import dataclasses
import math
from collections.abc import Mapping
from datetime import date

import numpy as np

from sync.settings import DAYS_PER_YEAR

#: True cover [%], depth [mm] and density [kg/m³] of each class. Invented.
CLASSES: Mapping[str, tuple[float, float, float]] = {
    "lawn": (62.0, 84.0, 11.4),
    "mound": (52.0, 80.0, 14.0),
    "rushy": (24.0, 66.0, 10.2),
    "edge": (10.0, 52.0, 10.6),
}
_RATE = 0.45
_RESTED = 0.8
_CELL_CV_COVER, _CELL_CV_DEPTH = 0.28, 0.12
_SPOT_CV_COVER, _SPOT_CV_DEPTH, _PROBE_MM = 0.40, 0.18, 12.0
_LEAST_SHARE = 0.02


@dataclasses.dataclass(frozen=True)
class Spot:
    """A place as a surveyor writes it, and its cover by dots. [%, mm]."""

    cover_pct: int
    depth_mm: tuple[int, ...]
    dots_pct: int


@dataclasses.dataclass
class CellMoss:
    """One cell's moss: rested cover and depth, and the share of its rested crop that stands."""

    cover_pct: float
    depth_mm: float
    rested_kg: float
    share: float = 1.0
    since: date = date(2021, 7, 1)


class Moss:
    """The block's moss through time.

    Parameters
    ----------
    class_of : mapping of str to str
        Ground class by cell.
    open_m2 : mapping of str to float
        Open ground by cell. [m²]
    good : set of str
        Cells that the gang would choose: never poorer than their class.
    rng : numpy Generator
        Chance.
    """

    def __init__(
        self,
        class_of: Mapping[str, str],
        open_m2: Mapping[str, float],
        good: frozenset[str],
        rng: np.random.Generator,
    ) -> None:
        self.class_of = class_of
        self._rng = rng
        self.cells: dict[str, CellMoss] = {}
        for cell in sorted(class_of):
            cover, depth, density = CLASSES[class_of[cell]]
            factor, deep = _about_one(rng, _CELL_CV_COVER), _about_one(rng, _CELL_CV_DEPTH)
            if cell in good:
                factor, deep = max(factor, 1.0), max(deep, 1.02)
            cover, depth = min(95.0, cover * factor), depth * deep
            rested = open_m2[cell] * density * cover / 100.0 * depth / 1000.0
            self.cells[cell] = CellMoss(cover, depth, rested)

    def density(self, cell: str) -> float:
        """Give the true density of a cell's class. [kg m⁻³]."""
        return CLASSES[self.class_of[cell]][2]

    def _grown(self, cell: str, day: date) -> CellMoss:
        moss = self.cells[cell]
        years = max(0.0, (day - moss.since).days / DAYS_PER_YEAR)
        full = _RESTED * moss.share
        grown = full / (full + (1.0 - full) * math.exp(-_RATE * years))
        moss.share = max(moss.share, min(1.0, grown / _RESTED))
        moss.since = max(moss.since, day)
        return moss

    def take(self, cell: str, kg: float, day: date) -> None:
        """Take kg off a cell. [kg]."""
        moss = self._grown(cell, day)
        moss.share = max(_LEAST_SHARE, moss.share - kg / moss.rested_kg)

    def reading(self, cell: str, day: date, probes: int, *, reads: float = 1.0) -> Spot:
        """Give what a surveyor reads at a place of a cell.

        Parameters
        ----------
        cell : str
            The cell.
        day : date
            When.
        probes : int
            Depths to probe.
        reads : float
            The surveyor's cover over the true one. [-]

        Returns
        -------
        Spot
            Cover and depths to tens, and the cover by dots.
        """
        moss = self._grown(cell, day)
        thin = math.sqrt(moss.share)
        cover = moss.cover_pct * thin * _about_one(self._rng, _SPOT_CV_COVER)
        read = int(min(100.0, max(0.0, round(reads * cover / 10.0) * 10.0)))
        depth = moss.depth_mm * thin * _about_one(self._rng, _SPOT_CV_DEPTH)
        depths = self._rng.normal(depth, _PROBE_MM, probes)
        return Spot(
            read, tuple(int(max(10, round(d / 10.0) * 10)) for d in depths),
            int(min(100.0, max(0.0, round(cover)))),
        )


def _about_one(rng: np.random.Generator, cv: float) -> float:
    """Draw a lognormal factor of mean 1."""
    spread = math.sqrt(math.log(1.0 + cv**2))
    return float(math.exp(rng.normal(-(spread**2) / 2.0, spread)))
