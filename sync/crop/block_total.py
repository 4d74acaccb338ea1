"""The block's figures: what stands, how surely, and what it can give in the long run.

Rule 1: errors that cells share (density, class mean) are added as shared, never as independent.
Rule 2: what has no figure is counted as hectares not estimated, never as zero.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Iterable, Mapping

from sync.crop.chain import Crop
from sync.crop.classes import own_readings
from sync.crop.long_run import take_at_mark_kg, yearly_kg
from sync.picks.made import Kg
from sync.survey.cells import ClassPrediction
from sync.survey.density import of_class
from sync.survey.totals import ClassVolume, Total, block_total, class_volume, crop_kg


@dataclasses.dataclass(frozen=True)
class BlockTotal:
    """The standing crop of the block today.

    Attributes
    ----------
    kg, variance : float
        Σ crop of the cells with a figure [kg] and its variance [kg²].
    df : float
        For its range: few surveyed cells know their own spread badly.
    estimated_m2, not_estimated_m2, surveyed_m2 : float
        Open ground with a figure, without one, and with one by own quadrats. [m²]
    """

    kg: float
    variance: float
    df: float
    estimated_m2: float
    not_estimated_m2: float
    surveyed_m2: float


def crop_total(crop: Crop, measured: Iterable[str]) -> BlockTotal | None:
    """Add up the cells.

    Parameters
    ----------
    crop : Crop
        The block on a day.
    measured : iterable of str
        Cells with quadrats of their own.

    Returns
    -------
    BlockTotal or None
        None where no cell has a figure. The variance is that of the survey total over the same
        cells, in proportion to the square of today's total, plus that of the kg picked since.

    Notes
    -----
    Derived: delta rule; see `sync.survey.totals.block_total` for the shared errors.
    """
    with_figure = {name: one for name, one in crop.cells.items() if one.walked is not None}
    if not with_figure:
        return None
    areas = _areas(crop)
    surveyed = block_total(
        survey_volumes(crop, {}), crop.densities, readers_kg2=readers_kg2(crop, areas))
    kg = sum(w.stand.crop_kg for one in with_figure.values() if (w := one.walked) is not None)
    scale = kg / surveyed.kg if surveyed.kg > 0.0 else 0.0
    since: list[Kg] = [
        taken for one in with_figure.values() if one.walked is not None
        for taken in one.walked.since_survey
    ]
    own = set(measured)
    open_m2 = sum(one.open_m2 for one in crop.cells.values())
    estimated = sum(one.open_m2 for one in with_figure.values())
    return BlockTotal(
        kg=kg,
        variance=surveyed.variance * scale**2 + sum(taken.variance for taken in since),
        df=surveyed.df,
        estimated_m2=estimated,
        not_estimated_m2=open_m2 - estimated,
        surveyed_m2=sum(one.open_m2 for name, one in with_figure.items() if name in own),
    )


def survey_total(crop: Crop, areas_m2: Mapping[str, Mapping[str, float]]) -> Total:
    """Add up the rested crop on some ground, with all errors that cells share.

    Parameters
    ----------
    crop : Crop
        The block on a day.
    areas_m2 : mapping of str to mapping of str to float
        By class, the ground of each of its cells that counts; 0 leaves a cell out. [m²]

    Returns
    -------
    Total
        By the quadrats at rest. [kg], [kg²]
    """
    volumes = [
        class_volume(name, prediction, areas_m2[name])
        for name, known in crop.classes.items()
        if (prediction := known.prediction) is not None and name in areas_m2
    ]
    return block_total(volumes, crop.densities, readers_kg2=readers_kg2(crop, areas_m2))


def survey_volumes(
    crop: Crop, instead: Mapping[str, ClassPrediction]
) -> list[ClassVolume]:
    """Give the solid moss of each class that has a figure.

    Parameters
    ----------
    crop : Crop
        The block on a day.
    instead : mapping of str to ClassPrediction
        Classes to be taken as something else than they are: as they would be after a survey.

    Returns
    -------
    list of ClassVolume
        Over the open ground of the cells with a figure.
    """
    areas = _areas(crop)
    return [
        class_volume(name, prediction, areas[name])
        for name, known in crop.classes.items()
        if (prediction := instead.get(name, known.prediction)) is not None and name in areas
    ]


def _areas(crop: Crop) -> dict[str, dict[str, float]]:
    areas: dict[str, dict[str, float]] = defaultdict(dict)
    for name, one in crop.cells.items():
        areas[one.ground_class][name] = one.open_m2 if one.walked is not None else 0.0
    return areas


def readers_kg2(crop: Crop, areas_m2: Mapping[str, Mapping[str, float]]) -> float:
    """Give what the readers' errors do to a survey total, FᵀVF.

    Parameters
    ----------
    crop : Crop
        The block on a day.
    areas_m2 : mapping of str to mapping of str to float
        By class and cell, the area that stands for each in the total. [m²]

    Returns
    -------
    float
        [kg²]
    """
    moved = crop.observers.nobody()
    for ground_class, areas in areas_m2.items():
        known, readers = crop.classes[ground_class].prediction, crop.readers[ground_class]
        if known is None:
            continue
        density = of_class(crop.densities, ground_class).mean_kg_m3
        for row, cell in enumerate(known.cells):
            one = crop.cells[cell]
            own = own_readings(one.readings, one.picks)
            index = float(known.index_l_m2[row])
            by = readers.of_crop(own, float(known.weight[row]), index, known)
            moved += crop_kg(areas.get(cell, 0.0), density, index) * by
    return crop.observers.shared(moved, moved)


def long_run_yearly_kg(crop: Crop) -> float | None:
    """Give the yearly allowance of the block in the long run.

    Parameters
    ----------
    crop : Crop
        The block on a day.

    Returns
    -------
    float or None
        Mean over a rest period of what each open cell gives at its mark, without caution; None
        where no cell has a figure. [kg yr⁻¹]
    """
    takes: dict[float, list[float]] = defaultdict(list)
    for one in crop.cells.values():
        if one.walked is None or one.open_m2 <= 0.0:
            continue
        takes[one.rule.rest_years].append(take_at_mark_kg(
            one.walked.stand.mark_kg, one.walked.share, area_m2=one.open_m2, growth=one.growth,
            rest_years=one.rule.rest_years, keep=one.rule.keep, max_share=one.rule.max_share,
            max_kg_m2=one.rule.max_kg_m2,
        ))
    if not takes:
        return None
    return sum(yearly_kg(each, rest_years=years) for years, each in takes.items())

