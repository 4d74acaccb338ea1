"""Sentences on a cell's crop: its rested crop, each step since, and its range today."""

import math
from collections.abc import Iterator

from sync.crop.chain import CellCrop, Crop
from sync.crop.classes import own_readings
from sync.crop.walked import STRAY, Grew, Met, Step, Walked
from sync.register.why.told import named
from sync.survey.density import of_class
from sync.survey.ranges import lognormal_range, lognormal_spread, t_quantile
from sync.survey.totals import cell_cv2, crop_kg

#: A neighbour's scatter of less is walked, but not worth a sentence. [kg]
_LEAST_STRAY_KG = 0.5
#: Under this difference a mark is the cell's own. [of it]
_SAME = 1e-9


def told_steps(crop: Crop, cell: str) -> Iterator[str]:
    """Tell the rested crop, and each thing that moved the crop, as sums."""
    mine = crop.cells[cell]
    if mine.walked is None:
        return
    yield from _rested_crop(crop, mine, mine.walked)
    before: float | None = None
    for step in mine.walked.steps:
        if step.what == STRAY and (step.kg or 0.0) < _LEAST_STRAY_KG:
            before = step.crop_kg
            continue
        yield _step(step, mine, before)
        before = step.crop_kg
    if mine.walked.grew is not None and not _hardly(mine.walked.grew, before):
        yield f"Until {crop.day}, {_grew(mine.walked.grew, mine, mine.walked.stand.mark_kg)}."


def _hardly(grew: Grew, before: float | None) -> bool:
    """Say whether so little grew, after a neighbour's stray bag, that no sentence is worth it."""
    return before is not None and grew.crop_kg - before < _LEAST_STRAY_KG


def _rested_crop(crop: Crop, mine: CellCrop, walked: Walked) -> Iterator[str]:
    """Tell area × density × index, and what that is where a floor holds the mark."""
    known = crop.classes[mine.ground_class].prediction
    if known is None:
        return
    density = of_class(crop.densities, mine.ground_class)
    row = known.cells.index(mine.cell)
    index = float(known.index_l_m2[row])
    kg = crop_kg(mine.open_m2, density.mean_kg_m3, index)
    product = (
        f"{mine.open_m2:.0f} m² × {density.mean_kg_m3:.2f} kg/m³ × {index:.1f} L/m² ÷ 1000 = "
        f"{kg:.0f} kg"
    )
    yield f"Rested crop by all its quadrats at rest: {product}."
    if index > 0.0:
        yield _error(crop, mine, index, float(known.error[row, row]))
    if walked.stand.mark_kg > kg * (1.0 + _SAME):
        yield (
            f"The rested crop is held at {walked.stand.mark_kg:.0f} kg, a set part of its class's "
            "on that ground, or years of over-picking would pass for a poor site."
        )


def _error(crop: Crop, mine: CellCrop, index: float, error: float) -> str:
    density = of_class(crop.densities, mine.ground_class)
    readers = crop.readers[mine.ground_class]
    known = crop.classes[mine.ground_class].prediction
    own = own_readings(mine.readings, mine.picks)
    shared = 0.0
    if known is not None:
        weight = float(known.weight[known.cells.index(mine.cell)])
        by = readers.of_crop(own, weight, index, known)
        shared = crop.observers.shared(by, by)
    cv = math.sqrt(shared + cell_cv2(
        index, error, density.mean_kg_m3, density.variance, density.between_cv2
    ))
    first = f"({math.sqrt(error):.1f} ÷ {index:.1f})²"
    second = f"({math.sqrt(density.variance):.2f} ÷ {density.mean_kg_m3:.2f})²"
    return (
        f"Its CV: √({first} + {second} + {first} × {second} + {density.between_cv2:.4f} + "
        f"{shared:.4f}) = {cv:.3f}: index, density, both at once, density from cell to cell, "
        "readers of cover."
    )


def _step(step: Step, mine: CellCrop, before: float | None) -> str:
    parts = [f"On {step.day}, {step.what}"]
    if step.kg is not None:
        parts[0] += f" of {step.kg:.0f} kg"
    if step.grew is not None:
        if not _hardly(step.grew, before):
            parts.append(_grew(step.grew, mine, step.mark_kg))
        before = step.grew.crop_kg
    if step.met is not None:
        parts.append(_met(step.met))
    elif step.kg is not None and before is not None and before - step.kg >= step.crop_kg - 0.5:
        parts.append(f"{before:.0f} − {step.kg:.0f} = {step.crop_kg:.0f} kg are left")
    parts.append(
        f"then {step.crop_kg:.0f} kg stood, the rested crop being {step.mark_kg:.0f} kg"
        f"{named(step.records)}"
    )
    return f"{parts[0]}: {'; '.join(parts[1:])}."


def _grew(grew: Grew, mine: CellCrop, mark_kg: float) -> str:
    growth = mine.growth
    start, end = grew.share_before, grew.share_after
    full = growth.comeback
    share = (
        f"{start:.3f} ÷ ({start:.3f} + {1 - start:.3f} × e^(−{growth.rate:.3f} × "
        f"{grew.years:.3f}))"
    )
    if end >= full * (1.0 - _SAME):
        return (
            f"it grew from {start:.3f} of full for {grew.years:.3f} years at {growth.rate:.3f} a "
            f"year, which is enough for {full:g} of full, the rested crop, {grew.crop_kg:.0f} kg"
        )
    return (
        f"it grew for {grew.years:.3f} years at {growth.rate:.3f} a year to {share} = {end:.3f} "
        f"of full; {end:.3f} ÷ {full:g} × {mark_kg:.0f} = {grew.crop_kg:.0f} kg"
    )


def _met(met: Met) -> str:
    rest = 1.0 - met.weight
    kg = rest * met.forecast_kg + met.weight * met.measured_kg
    return (
        f"its quadrats alone, {met.index_l_m2:.1f} L/m², make {met.measured_kg:.0f} ± "
        f"{met.measured_sd:.0f} kg where {met.forecast_kg:.0f} ± {met.forecast_sd:.0f} kg were "
        f"forecast ({met.surprise:+.1f} SD); the survey weighs {met.forecast_sd:.0f}² ÷ "
        f"({met.forecast_sd:.0f}² + {met.measured_sd:.0f}²) = {met.weight:.3f}, so "
        f"{rest:.3f} × {met.forecast_kg:.0f} + {met.weight:.3f} × {met.measured_kg:.0f} = "
        f"{kg:.0f} kg"
    )


def told_crop(crop: Crop, cell: str) -> Iterator[str]:
    """Tell the standing crop of the day with its range, the growth behind it, and its pickable."""
    mine = crop.cells[cell]
    walked, known = mine.walked, crop.classes[mine.ground_class].prediction
    if walked is None or known is None or walked.stand.crop_kg <= 0.0:
        return
    stand, t = walked.stand, t_quantile(known.df)
    cv = math.sqrt(stand.crop_var) / stand.crop_kg
    low, high = lognormal_range(stand.crop_kg, cv, t=t)
    spread = lognormal_spread(stand.crop_kg, cv)
    yield (
        f"Standing crop on {crop.day}: {stand.crop_kg:.0f} kg, CV {cv:.3f}; the middle is "
        f"{stand.crop_kg:.0f} ÷ √(1 + {cv:.3f}²) = {spread.median:.0f} kg and the 90 % range "
        f"{spread.median:.0f} × e^(−{t:.3f} × {spread.log_sd:.3f}) = {low:.0f} to "
        f"{spread.median:.0f} × e^({t:.3f} × {spread.log_sd:.3f}) = {high:.0f} kg "
        f"(lognormal, t on {known.df:g} df)."
    )
    yield _growth(crop, mine)
    yield _pickable(mine, walked)


def _growth(crop: Crop, mine: CellCrop) -> str:
    learned = crop.class_learned.get(mine.ground_class, crop.learned)
    whose = f"class {mine.ground_class}" if mine.ground_class in crop.class_learned else "block"
    cells = len(learned.regrown)
    alone = ""
    if learned.rate is not None and learned.variance is not None:
        alone = f", which alone say {learned.rate:.2f} ± {math.sqrt(learned.variance):.2f}"
    return (
        f"Growth: {learned.growth.rate:.2f} ± {math.sqrt(learned.growth.variance):.2f} a year for "
        f"the {whose}, from {mine.rule.recovery_years:g} years of recovery "
        f"({learned.prior.rate:.2f} ± {math.sqrt(learned.prior.variance):.2f}) and {cells} "
        f"re-measured cell{'' if cells == 1 else 's'}{alone}; never past the rested crop."
    )


def _pickable(mine: CellCrop, walked: Walked) -> str:
    stand, share = walked.stand, walked.share
    said = f"Pickable: of the rested crop {share:.3f} is pickable; "
    if stand.crop_kg >= stand.mark_kg:
        return f"{said}{share:.3f} × {stand.crop_kg:.0f} = {walked.pickable_kg:.0f} kg now."
    if walked.measured is None and walked.pickable_kg > 0.0:
        return (
            f"{said}the living layer does not shrink with the crop: {stand.crop_kg:.0f} − "
            f"{1 - share:.3f} × {stand.mark_kg:.0f} = {walked.pickable_kg:.0f} kg now."
        )
    if walked.measured is None:
        return f"{said}what stands now is living layer, nothing of it is pickable."
    return (
        f"{said}of the crop at the last survey {min(share, walked.measured.share):.3f} was, so "
        f"{walked.pickable_kg:.0f} kg now."
    )
