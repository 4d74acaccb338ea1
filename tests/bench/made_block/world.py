"""The truth of one made-up block: what stands in every cell, and how the people on it err.

Rule 1: everything the register will be asked is known here first.
"""

import dataclasses
import math
from typing import Any

import numpy as np
import numpy.typing as npt

from made_block.book import CELLS, CLASSES, OWNERS_KG, class_of
from made_block.case import Case

Floats = npt.NDArray[np.float64]

#: True mean index [L/m²] and depth of strand [mm] of the bands.
MEAN_INDEX = {"lawn": 60.0, "mound": 45.0, "rushy": 25.0}
MEAN_DEPTH = {"lawn": 90.0, "mound": 85.0, "rushy": 70.0}
#: Density: the block about 12 kg/m³, classes about the block, clips about their class.
LEVEL_KG_M3, LEVEL_CV, CLASS_CV, CLIP_CV = 12.0, 0.60, 0.20, 0.30
#: Half of a clip's variance lies between cells.
THETA = 0.5
GROWTH, GROWTH_SD, FULL = 0.4, 0.2, 0.8
BAG_CV = 0.5
HA = 10_000.0
#: Quadrats that a cell's true mean is taken over where density goes with depth.
_PATCHES = 400


def lognormal(rng: np.random.Generator, mean: Any, cv: float, size: Any = None) -> Any:
    """Draw from a lognormal by its mean and CV."""
    s2 = math.log1p(cv**2)
    return mean * np.exp(rng.normal(-s2 / 2.0, math.sqrt(s2), size))


@dataclasses.dataclass(frozen=True)
class World:
    """A block as it is.

    Attributes
    ----------
    index : dict of str to float
        Mean index of each rested cell. [L/m²]
    density : dict of str to float
        Of each cell's moss at its class's mean depth. [kg/m³]
    mark_kg : dict of str to float
        Crop of each cell when rested. [kg]
    reads : dict of str to float
        Each surveyor's cover over the true one. [-]
    rate : float
        Growth rate of the block. [1/yr]
    bag_kg : float
        Mean weight of a bag. [kg]
    """

    case: Case
    index: dict[str, float]
    density: dict[str, float]
    mark_kg: dict[str, float]
    reads: dict[str, float]
    rate: float
    bag_kg: float


def made_world(case: Case, rng: np.random.Generator) -> World:
    """Draw the truth of a block."""
    level = lognormal(rng, LEVEL_KG_M3, LEVEL_CV)
    of_class = {name: lognormal(rng, level, CLASS_CV) for name in CLASSES}
    index = {cell: _index(case, rng, MEAN_INDEX[class_of(cell)]) for cell in CELLS}
    cell_cv = CLIP_CV * math.sqrt(THETA)
    density = {cell: float(lognormal(rng, of_class[class_of(cell)], cell_cv)) for cell in CELLS}
    mark = {cell: HA * density[cell] * _held_index(case, rng, cell, index[cell]) / 1000.0
            for cell in CELLS}
    reads = {
        person: max(0.3, float(rng.normal(1.0 + case.reader_high, case.readers_cv)))
        for person in ("SL", "SW")
    }
    rate = case.growth_times * GROWTH
    while rate <= 0.02:
        rate = float(rng.normal(GROWTH, GROWTH_SD))
    return World(case, index, density, mark, reads, rate,
                 max(2.0, float(rng.normal(OWNERS_KG, 0.15 * OWNERS_KG))))


def _index(case: Case, rng: np.random.Generator, mean: float) -> float:
    if not case.tails:
        return float(lognormal(rng, mean, case.between_cv))
    rich = 5.0 if rng.random() < 0.05 else 1.0
    return float(lognormal(rng, mean / 1.2, case.between_cv)) * rich


def depth_of(cell: str, volume: Any) -> Any:
    """Give the mean depth of strand where so much stands: deeper where there is more. [mm]."""
    name = class_of(cell)
    depth = MEAN_DEPTH[name] * np.sqrt(volume / MEAN_INDEX[name])
    return np.maximum(np.clip(depth, 15.0, 700.0), volume)


def by_depth(case: Case, cell: str, depth_mm: Any) -> Any:
    """Give density at a depth over density at the class's mean depth. [-]."""
    off = case.depth_slope * (depth_mm - MEAN_DEPTH[class_of(cell)]) / 100.0
    return np.clip(1.0 + off, 0.4, 1.6)


def _held_index(case: Case, rng: np.random.Generator, cell: str, index: float) -> float:
    """Give the index at the class's density that holds what the cell holds. [L/m²]."""
    if case.depth_slope == 0.0:
        return index
    volumes: Floats = lognormal(rng, index, case.within_cv, _PATCHES)
    return float(np.mean(volumes * by_depth(case, cell, depth_of(cell, volumes))))
