"""What share of the moss still stands after picking: quadrats laid before against those after.

Rule 1: a cell counts only with quadrats from both sides of its pick; its ground is its weight.
Rule 2: few quadrats give a wide range; where no spread can be told there is no figure.
Rule 3: moss that grew between the survey and the pick is not added, so that nothing but quadrats
speaks here.
"""

import dataclasses
import statistics
from collections.abc import Callable, Sequence

from sync.survey.design.df import satterthwaite
from sync.survey.design.estimate import Estimate
from sync.survey.quadrats import Index

_TWO = 2


@dataclasses.dataclass(frozen=True)
class CellQuadrats:
    """A picked cell: its open ground [m²] and its quadrats from before and after the pick."""

    cell: str
    open_m2: float
    before: tuple[Index, ...]
    after: tuple[Index, ...]


@dataclasses.dataclass(frozen=True)
class ShareKept:
    """What was kept, as measured.

    Attributes
    ----------
    pickable : Estimate or None
        Share of the moss under the living layer that still stands. [-]
    standing : Estimate or None
        Share of all moss that still stands. [-]
    cells : tuple of str
        Measured on both sides of their pick.
    before, after : int
        Quadrats in them.
    picked_cells : int
        Of how many picked cells.
    why : str
        How it was got, or why there is none.
    """

    pickable: Estimate | None
    standing: Estimate | None
    cells: tuple[str, ...]
    before: int
    after: int
    picked_cells: int
    why: str


def share_kept(picked: Sequence[CellQuadrats]) -> ShareKept:
    """Estimate the share of the moss that picking left.

    Parameters
    ----------
    picked : sequence of CellQuadrats
        Every picked cell, those without quadrats too.

    Returns
    -------
    ShareKept
        Shares of 0 upwards; one over 1 is scatter, or moss that grew since the survey.

    Notes
    -----
    R = ΣAȳ/ΣAx̄ over the cells, with ȳ and x̄ the mean index [L m⁻²] after and before. Of two cells
    or more V(R) = n/(n − 1)·Σ(A(ȳ − Rx̄))²/(ΣAx̄)² on n − 1 degrees of freedom: the linearised ratio
    with cells as units, Cochran, *Sampling Techniques*, 3rd ed. 1977, section 6.3 (from memory).
    Its correction for a finite number of cells is left out, since within a cell only quadrats were
    seen. Of one cell V(R) = (s_y²/m_y + R²s_x²/m_x)/x̄², df by Satterthwaite: derived.
    """
    both = [one for one in picked if one.before and one.after]
    if not both:
        return _none(picked, both, "no picked cell has quadrats from both before and after its "
                     "pick")
    pickable = _ratio(both, lambda index: index.pickable_l_m2)
    standing = _ratio(both, lambda index: index.volume_l_m2)
    if standing is None:
        return _none(picked, both, "one cell with a single quadrat on a side, or no moss before: "
                     "no spread can be told")
    way = (f"ratio over {len(both)} cells, each weighted by its open ground"
           if len(both) >= _TWO else "ratio within one cell, by the spread of its quadrats")
    return dataclasses.replace(_none(picked, both, way), pickable=pickable, standing=standing)


def _none(picked: Sequence[CellQuadrats], both: Sequence[CellQuadrats], why: str) -> ShareKept:
    return ShareKept(
        None, None, tuple(one.cell for one in both), sum(len(one.before) for one in both),
        sum(len(one.after) for one in both), len(picked), why)


def _ratio(cells: Sequence[CellQuadrats], of: Callable[[Index], float]) -> Estimate | None:
    pairs = [(one.open_m2 * statistics.fmean(of(i) for i in one.before),
              one.open_m2 * statistics.fmean(of(i) for i in one.after)) for one in cells]
    x_total = sum(x for x, _ in pairs)
    if x_total <= 0.0:
        return None
    ratio = sum(y for _, y in pairs) / x_total
    if len(cells) < _TWO:
        return _within([of(i) for i in cells[0].before], [of(i) for i in cells[0].after], ratio)
    off = sum((y - ratio * x) ** 2 for x, y in pairs)
    n = len(cells)
    return Estimate(ratio, n / (n - 1) * off / x_total**2, n - 1)


def _within(before: Sequence[float], after: Sequence[float], ratio: float) -> Estimate | None:
    """Give the ratio of one cell; None where a side has a single quadrat."""
    if min(len(before), len(after)) < _TWO:
        return None
    scale = statistics.fmean(before) ** 2
    parts = [(statistics.variance(after) / len(after) / scale, len(after) - 1.0),
             (ratio**2 * statistics.variance(before) / len(before) / scale, len(before) - 1.0)]
    variance = sum(part for part, _ in parts)
    df = satterthwaite(parts) if variance > 0.0 else min(df for _, df in parts)
    return Estimate(ratio, variance, df)
