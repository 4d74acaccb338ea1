"""What a class holds when it is rested, by the sample alone: a second opinion beside the register.

Rule 1: nothing is borrowed from other classes or from a prior, unless it says so.
Rule 2: cells are the first stage of the sample; quadrats of one cell never count as cells.
Rule 3: the way that was taken, and why, stands beside the figure.
"""

import dataclasses
from collections.abc import Sequence

import numpy as np
from scipy.special import stdtrit

from sync.crop.chain import CellCrop, Crop
from sync.crop.classes import ReadingIndex, drawn_readings
from sync.crop.reading_shares import Readers
from sync.survey.arrays import Array
from sync.survey.cells import ClassPrediction
from sync.survey.density import of_class
from sync.survey.design.df import satterthwaite
from sync.survey.design.estimate import Estimate
from sync.survey.design.two_stage import Cluster, two_stage_mean
from sync.survey.double.phases import DoubleMean, MeasuredFirst
from sync.survey.double.ratio import ratio_mean
from sync.survey.double.regression import Line, fit_line, regression_mean

#: From so many clips on a line that misses the origin can be told from chance; own choice.
CLIPS_FOR_A_LINE = 15
#: Fewer clips have no spread of their own.
CLIPS_FOR_A_RATIO = 2
_TWO_SIDED = 0.975
_T_HA_PER_G_M2 = 0.01


@dataclasses.dataclass(frozen=True)
class ClassMean:
    """A class's rested mean by its sample.

    Attributes
    ----------
    quadrats, clips : int
        n', drawn at rest, and n, cut from a quadrat of the class whose index is known.
    index : Estimate or None
        Mean index; None without a drawn quadrat. [L m⁻²]
    crop_t_ha : Estimate or None
        Rested crop. [t ha⁻¹]
    estimator : str
        "ratio", "regression", "density" (mean index × the register's density), or "none".
    why : str
        Why that one, and what it rests on.
    """

    ground_class: str
    quadrats: int
    clips: int
    index: Estimate | None
    crop_t_ha: Estimate | None
    estimator: str
    why: str


def class_mean(crop: Crop, ground_class: str, *, frame_m2: float) -> ClassMean:
    """Estimate a class's rested mean by double sampling.

    Parameters
    ----------
    crop : Crop
        The block on a day.
    ground_class : str
        One of its classes.
    frame_m2 : float
        Area of a quadrat. [m²]

    Returns
    -------
    ClassMean
        With 90 % intervals by Student's t.

    Notes
    -----
    First phase: quadrats in cells, two stages with the finite correction for cells, weighted by
    open ground. Second phase: clips, y = density of the clip × index of its quadrat. The ratio
    Σy/Σx, unless `CLIPS_FOR_A_LINE` clips show an intercept beyond chance. Readers of cover add
    their part to the first phase. Degrees of freedom by Satterthwaite.
    """
    cells = [one for one in crop.cells.values() if one.ground_class == ground_class]
    known = crop.classes[ground_class].prediction
    x, y = _clips(crop, ground_class)
    drawn = {one.cell: drawn_readings(one.readings, one.picks)
             for one in cells if one.open_m2 > 0.0}
    quadrats = sum(len(read) for read in drawn.values())
    if known is None:
        return ClassMean(ground_class, quadrats, len(x), None, None, "none",
                         "no cell was measured at rest by drawn quadrats")
    index, how = _mean_index(cells, drawn, known, crop.readers[ground_class], frame_m2)
    crop_mean, estimator, why = _crop(crop, ground_class, index, x, y)
    return ClassMean(
        ground_class, quadrats, len(x), index, crop_mean, estimator, f"{why}; {how}"
    )


def _clips(crop: Crop, ground_class: str) -> tuple[Array, Array]:
    """Give index [L/m²] and crop [g/m²] of the quadrats that clips were cut from."""
    pairs = []
    for clip in crop.clips:
        if clip.clip.ground_class != ground_class or clip.cell not in crop.cells:
            continue
        volumes = [r.index.volume_l_m2 for r in crop.cells[clip.cell].readings
                   if r.index is not None and r.reading.name in clip.names]
        if volumes and volumes[0] > 0.0:
            density = clip.clip.mass_g_m2 / clip.clip.volume_l_m2
            pairs.append((volumes[0], density * volumes[0]))
    return np.array([p[0] for p in pairs]), np.array([p[1] for p in pairs])


def _mean_index(
    cells: Sequence[CellCrop], drawn: dict[str, list[ReadingIndex]], known: ClassPrediction,
    readers: Readers, frame_m2: float,
) -> tuple[Estimate, str]:
    clusters = [
        Cluster(one.cell, max(one.open_m2 / frame_m2, float(len(read))),
                np.array([r.index.volume_l_m2 for r in read if r.index is not None]))
        for one in cells if (read := drawn.get(one.cell))
    ]
    open_cells = sum(one.open_m2 > 0.0 for one in cells)
    if len(clusters) < 2:
        plain = Estimate(known.mean_l_m2, known.mean_variance, known.df)
        how = "one surveyed cell has no spread, so its mean index and error are the register's"
    else:
        repeats = any(len(one.values) > 1 for one in clusters)
        plain = two_stage_mean(
            clusters, float(open_cells), single="average" if repeats else "nothing")
        how = (f"mean index by quadrats in {len(clusters)} of {open_cells} cells, as if those "
               "were drawn at random")
    by = readers.of_mean - readers.of_density
    of_readers = plain.value**2 * readers.observers.shared(by, by)
    whole = plain.variance + of_readers
    df = satterthwaite([(plain.variance, plain.df), (of_readers, float("inf"))])
    return Estimate(plain.value, whole, df), how


def _crop(
    crop: Crop, ground_class: str, index: Estimate, x: Array, y: Array
) -> tuple[Estimate, str, str]:
    first = MeasuredFirst(index.value, index.variance)
    count = len(x)
    if count < CLIPS_FOR_A_RATIO:
        density = of_class(crop.densities, ground_class)
        value = density.mean_kg_m3 * index.value
        variance = (density.mean_kg_m3**2 * index.variance + index.value**2 * density.variance
                    + index.variance * density.variance)
        return _t_ha(Estimate(value, variance, index.df)), "density", (
            f"mean index × the register's density, for {count} clip{'' if count == 1 else 's'} "
            "of the class with a quadrat cannot tell one")
    line = _line(x, y)
    if line is not None:
        made = regression_mean(x, y, first, taken_off=2)
        return _double(made, index, count - 2), "regression", (
            f"regression on {count} clips, whose line misses the origin (intercept "
            f"{line.intercept:.0f} g/m², t {line.intercept_t:.1f})")
    made = ratio_mean(x, y, first)
    few = f", too few to tell a line (from {CLIPS_FOR_A_LINE})" if count < CLIPS_FOR_A_LINE else (
        ", whose line does not miss the origin beyond chance")
    return _double(made, index, count - 1), "ratio", f"ratio on {count} clips{few}"


def _line(x: Array, y: Array) -> Line | None:
    """Give the line where clips enough show an intercept beyond chance."""
    if len(x) < CLIPS_FOR_A_LINE or float(np.ptp(x)) == 0.0:
        return None
    line = fit_line(x, y)
    return line if abs(line.intercept_t) > float(stdtrit(len(x) - 2, _TWO_SIDED)) else None


def _double(made: DoubleMean, index: Estimate, df: int) -> Estimate:
    return _t_ha(Estimate(made.mean, made.variance, satterthwaite(
        [(made.first_part, index.df), (made.second_part, df)])))


def _t_ha(of_g_m2: Estimate) -> Estimate:
    return Estimate(
        _T_HA_PER_G_M2 * of_g_m2.value, _T_HA_PER_G_M2**2 * of_g_m2.variance, of_g_m2.df)
