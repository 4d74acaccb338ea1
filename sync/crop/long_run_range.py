"""How surely a block's long-run yearly figure is known: what stands, how it grows, both together.

Rule 1: errors that cells share (class means, densities, readers, growth) stay shared.
Rule 2: no chance is drawn: the two errors are put together as an exact mixture, so that the same
register gives the same range.
Rule 3: the value is the register's own; only its range is worked out here.
"""

import dataclasses
import math
from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri, stdtr

from sync.crop.block_total import readers_kg2
from sync.crop.chain import CellCrop, Crop
from sync.crop.long_run import take_at_mark_kg
from sync.crop.walk import Growth
from sync.settings import RANGE_LEVEL
from sync.survey.ranges import lognormal_spread
from sync.survey.totals import ClassVolume, block_total, class_volume

#: Equally likely growth rates that the mixture is taken over: middles of so many parts.
_RATES = 40
_TAIL = (1.0 - RANGE_LEVEL) / 2.0


@dataclasses.dataclass(frozen=True)
class LongRun:
    """A block's long-run yearly figure with its 90 % range.

    Attributes
    ----------
    kg, low_kg, high_kg : float
        Shed-dry, a year. [kg yr⁻¹]
    moss_cv : float
        SD over value of it by what is not known of the moss: quadrats, density, readers. [-]
    slow_kg, fast_kg : float
        The value at the 5 % and the 95 % growth rate. [kg yr⁻¹]
    open_m2 : float
        Open ground that it is of: cells with a figure. [m²]
    """

    kg: float
    low_kg: float
    high_kg: float
    moss_cv: float
    slow_kg: float
    fast_kg: float
    open_m2: float


def long_run_range(crop: Crop) -> LongRun | None:
    """Give a block's long-run yearly figure with its range.

    Parameters
    ----------
    crop : Crop
        The block on a day.

    Returns
    -------
    LongRun or None
        None where no cell has a figure.

    Notes
    -----
    Y(r) = Σ w_c(r)·C_c, w the part of a cell's rested crop that it gives a year. What is not known
    of the moss: the variance of the survey total over areas that are each multiplied by their w,
    in proportion to Y², lognormal, t on that total's degrees of freedom. Growth: normal about its
    estimate, not under 0; classes with a rate of their own move together. Together: the range of
    the mixture of both, as if they were independent (re-measured cells tie them a little).
    Not in it: what share of the crop is pickable, the rules, and whether growth is logistic.
    Derived.
    """
    cells = [one for one in crop.cells.values() if one.walked is not None and one.open_m2 > 0.0]
    if not cells:
        return None
    kg = _yearly(cells, 0.0)
    cv, df = _moss(crop, cells) if kg > 0.0 else (0.0, math.inf)
    steps = ndtri((np.arange(_RATES) + 0.5) / _RATES)
    by_rate = [_yearly(cells, float(step)) for step in steps]
    low, high = mixed_range(by_rate, cv, df)
    edge = float(ndtri(1.0 - _TAIL))
    return LongRun(
        kg, min(low, kg), max(high, kg), cv, _yearly(cells, -edge), _yearly(cells, edge),
        sum(one.open_m2 for one in cells))


def mixed_range(values: Sequence[float], cv: float, df: float) -> tuple[float, float]:
    """Give the 90 % range of equally likely values, each with the same relative error.

    Parameters
    ----------
    values : sequence of float
        At least one; not under 0.
    cv : float
        SD over value of each: lognormal, by moments. [-]
    df : float
        Degrees of freedom that the error is known by.

    Returns
    -------
    low, high : float
        Where the mixture's distribution is 0.05 and 0.95.

    Notes
    -----
    F(y) = mean of T_df((ln y − ln median)/s) over the values; of one value it is the lognormal
    range with Student's t. Derived.
    """
    found = np.sort(np.asarray(values, dtype=float))
    if cv <= 0.0:
        return (float(np.quantile(found, _TAIL)), float(np.quantile(found, 1.0 - _TAIL)))
    if found[-1] <= 0.0:
        return 0.0, 0.0
    spread = lognormal_spread(1.0, cv)
    nothing = float(np.mean(found <= 0.0))
    middles = np.log(found[found > 0.0] * spread.median)

    def share_below(log_y: float) -> float:
        steps = (log_y - middles) / spread.log_sd
        below = ndtr(steps) if math.isinf(df) else stdtr(df, steps)
        return nothing + (1.0 - nothing) * float(np.mean(below))

    def at(share: float) -> float:
        if share <= nothing:
            return 0.0
        reach = spread.log_sd * 1e3
        return math.exp(brentq(lambda y: share_below(y) - share,
                               middles.min() - reach, middles.max() + reach, xtol=1e-12))

    return at(_TAIL), at(1.0 - _TAIL)


def _yearly(cells: Sequence[CellCrop], step: float) -> float:
    """Give the block's figure with growth so many SDs off its estimate [kg yr⁻¹]."""
    return math.fsum(_yearly_of(one, step) for one in cells)


def _yearly_of(cell: CellCrop, step: float) -> float:
    walked, rule, growth = cell.walked, cell.rule, cell.growth
    if walked is None:
        return 0.0
    rate = max(0.0, growth.rate + step * math.sqrt(growth.variance))
    take = take_at_mark_kg(
        walked.stand.mark_kg, walked.share, area_m2=cell.open_m2,
        growth=Growth(rate, 0.0, growth.comeback), rest_years=rule.rest_years, keep=rule.keep,
        max_share=rule.max_share, max_kg_m2=rule.max_kg_m2)
    return take / rule.rest_years


def _moss(crop: Crop, cells: Sequence[CellCrop]) -> tuple[float, float]:
    """Give the CV and the degrees of freedom of the figure by what is not known of the moss."""
    areas: dict[str, dict[str, float]] = defaultdict(dict)
    for name, one in crop.cells.items():
        areas[one.ground_class][name] = 0.0
    for one in cells:
        mark = one.walked.stand.mark_kg if one.walked is not None else 0.0
        if mark > 0.0:
            areas[one.ground_class][one.cell] = one.open_m2 * _yearly_of(one, 0.0) / mark
    total = block_total(_volumes(crop, areas), crop.densities,
                        readers_kg2=readers_kg2(crop, areas))
    return total.cv, total.df


def _volumes(crop: Crop, areas: Mapping[str, Mapping[str, float]]) -> list[ClassVolume]:
    return [class_volume(name, known.prediction, areas[name])
            for name, known in crop.classes.items()
            if known.prediction is not None and name in areas]
