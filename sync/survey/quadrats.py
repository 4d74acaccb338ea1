"""One quadrat: what a frame, a cover and a few probes say of the moss under it.

Rule 1: the strand is judged probe by probe; a mean depth less the living layer understates.
Rule 2: a probe that found no moss is left out, for the cover carries it already.
Rule 3: a missing quadrat is None, bare ground is zero; neither is ever taken for the other.
"""

import dataclasses
import math
import statistics
from collections.abc import Sequence

from sync.errors import SurveyError
from sync.survey.ranges import t_quantile

#: From this cover on a quadrat without a depth is unfinished; under it, it is as good as bare. [%]
COVER_NEEDS_DEPTH_PCT = 5.0
#: Quadrats of the class mean lent to a cell's pickable share, so that one odd quadrat cannot rule.
LENT_QUADRATS = 2.0


@dataclasses.dataclass(frozen=True)
class Index:
    """What one quadrat holds, or the mean of several.

    Attributes
    ----------
    volume_l_m2 : float
        Solid moss on a square metre of ground, x. [L m⁻², the same as mm of solid moss]
    pickable_l_m2 : float
        Of that, what lies under the living layer and within reach, u. [L m⁻²]
    """

    volume_l_m2: float
    pickable_l_m2: float


#: A pool, scrub, or a frame with hardly any moss.
BARE = Index(0.0, 0.0)


def index_of(
    cover_pct: float,
    depth_mm: Sequence[float],
    *,
    living_layer_mm: float,
    longest_strand_mm: float | None,
    observer_factor: float = 1.0,
) -> Index | None:
    """Give the volume index and the pickable index of a quadrat.

    Parameters
    ----------
    cover_pct : float
        Share of the frame under living moss worth picking. [%]
    depth_mm : sequence of float
        Sound strand at the frame's probes, any number of them; 0 is "no moss here". [mm]
    living_layer_mm : float
        Strand that must stay on the plant. [mm]
    longest_strand_mm : float or None
        Longest piece taken under the living layer; None takes it all. [mm]
    observer_factor : float
        By how much this person's cover is to be multiplied. [-]

    Returns
    -------
    Index or None
        None (missing) for a cover to speak of and no depth; `BARE` where there is neither.

    Notes
    -----
    x = c·mean(d) and u = c·mean(min(max(d − L, 0), D)), c = min(1, b·cover/100): cover × mass per
    cover, the "two-step" of Anderson & Kothmann 1982 (from memory); the layers are derived.
    """
    probes = moss_probes(depth_mm)
    if not probes:
        return BARE if cover_pct < COVER_NEEDS_DEPTH_PCT else None
    longest = math.inf if longest_strand_mm is None else longest_strand_mm
    cover = cover_share(cover_pct, observer_factor=observer_factor)
    pickable = [min(max(depth - living_layer_mm, 0.0), longest) for depth in probes]
    return Index(cover * statistics.fmean(probes), cover * statistics.fmean(pickable))


def moss_probes(depth_mm: Sequence[float]) -> tuple[float, ...]:
    """Give the probes that found moss, in mm."""
    return tuple(float(depth) for depth in depth_mm if depth > 0.0)


def cover_share(cover_pct: float, *, observer_factor: float = 1.0) -> float:
    """Give the share of the frame under moss, mended for who read it and held to 1."""
    return min(1.0, observer_factor * cover_pct / 100.0)


def class_mean_index(quadrats: Sequence[Index]) -> Index:
    """Give the plain mean over quadrats.

    Parameters
    ----------
    quadrats : sequence of Index
        All rested drawn quadrats of a class, bare ones included. [L m⁻²]

    Returns
    -------
    Index
        Mean volume index and mean pickable index. [L m⁻²]

    Raises
    ------
    SurveyError
        If there is no quadrat: a class without one has no figure.
    """
    if not quadrats:
        raise SurveyError("a mean over no quadrat: the class has no figure until one is drawn")
    return Index(
        statistics.fmean(quadrat.volume_l_m2 for quadrat in quadrats),
        statistics.fmean(quadrat.pickable_l_m2 for quadrat in quadrats),
    )


def pickable_share(cell: Sequence[Index], class_mean: Index) -> float:
    """Give the share of a cell's crop that may be picked at all, when the cell is rested.

    Parameters
    ----------
    cell : sequence of Index
        The cell's own rested quadrats; may be empty. [L m⁻²]
    class_mean : Index
        Mean over the rested drawn quadrats of its class. [L m⁻²]

    Returns
    -------
    float
        q, 0 to 1; 0 where there is no moss anywhere. [-]

    Notes
    -----
    q = (Σu + 2ū)/(Σx + 2x̄): a ratio of sums with two quadrats of the class mean added. Derived.
    """
    volume = math.fsum(one.volume_l_m2 for one in cell) + LENT_QUADRATS * class_mean.volume_l_m2
    if volume <= 0.0:
        return 0.0
    own = math.fsum(one.pickable_l_m2 for one in cell)
    return (own + LENT_QUADRATS * class_mean.pickable_l_m2) / volume


def mean_range(
    values: Sequence[float], *, low_bound: float, high_bound: float
) -> tuple[float, float | None, float | None]:
    """Give the mean of a survey's readings and its 90 % range.

    Parameters
    ----------
    values : sequence of float
        One reading a quadrat, in any unit.
    low_bound, high_bound : float
        What the range is held to, in the same unit; infinite for no bound.

    Returns
    -------
    mean : float
    low, high : float or None
        None under two readings, which say nothing of their own spread.

    Raises
    ------
    SurveyError
        If there is no reading.

    Notes
    -----
    mean ± t(0.95; m − 1)·s/√m, s with m − 1: common practice (Cochran, *Sampling Techniques*,
    1977, section 2.8, from memory).
    """
    if not values:
        raise SurveyError("a mean over no reading: give none instead")
    mean = statistics.fmean(values)
    count = len(values)
    if count < 2:
        return mean, None, None
    half = t_quantile(count - 1) * statistics.stdev(values) / math.sqrt(count)
    return mean, max(mean - half, low_bound), min(mean + half, high_bound)
