"""Sentences on readers, quadrats, the index of a cell and the density of its class."""

import math
import statistics
from collections.abc import Iterator, Sequence

from sync.crop.chain import Crop
from sync.crop.classes import ReadingIndex, own_readings
from sync.register.why.told import named
from sync.survey.cells import ClassPrediction
from sync.survey.density import of_class
from sync.survey.quadrats import moss_probes

#: A mean over more quadrats is told by their number alone.
_LISTED = 6


def told_readers(crop: Crop, cell: str) -> Iterator[str]:
    """Tell how the cell's readers of cover compare with the truth."""
    observers = crop.observers
    for person in sorted({r.reading.person for r in crop.cells[cell].readings}):
        row = observers.people.index(person)
        left = 100.0 * math.sqrt(float(observers.covariance[row, row]))
        raw = observers.raw[row]
        stays = f"± {left:.0f} % stays in the range of all that rests on {person}"
        if raw is None and observers.factor[row] == 1.0:
            yield f"Reader {person}: nobody read {person}'s quadrats again; {stays}."
            continue
        pairs = "none of the quadrats were read again" if raw is None else (
            f"{observers.pairs[row]} quadrats were read again, at {raw:.3f} times the cover in all"
        )
        yield (
            f"Reader {person}: {pairs}; the cover is multiplied by "
            f"{observers.factor[row]:.3f}, and {stays}."
        )


def told_readings(crop: Crop, cell: str) -> Iterator[str]:
    """Tell each quadrat of the cell."""
    mine = crop.cells[cell]
    for one in mine.readings:
        reading = one.reading
        kind = "drawn" if reading.drawn else "by eye"
        head = f"Quadrat of {reading.day} ({kind}, plot {reading.plot or 'none'})"
        if one.index is None:
            yield f"{head}: cover without depths, it says nothing [{reading.name}]."
        elif not moss_probes(reading.depth_mm):
            yield f"{head}: no moss there, counted as 0 L/m² [{reading.name}]."
        else:
            yield f"{head}: {_sum_of(crop, one, mine.rule.living_layer_mm)} [{reading.name}]."


def _sum_of(crop: Crop, one: ReadingIndex, layer_mm: float) -> str:
    reading = one.reading
    factor = crop.observers.factor_of(reading.person)
    cover = min(100.0, factor * reading.cover_pct)
    mended = "" if factor == 1.0 else f" (mended for {reading.person}: {cover:.1f} %)"
    depths = " ".join(str(depth) for depth in reading.depth_mm)
    mean = statistics.fmean(moss_probes(reading.depth_mm))
    volume, pickable = (0.0, 0.0) if one.index is None else (
        one.index.volume_l_m2, one.index.pickable_l_m2)
    return (
        f"cover {reading.cover_pct:g} %{mended}, depths {depths} mm give "
        f"{cover / 100:.3f} × {mean:.1f} = {volume:.1f} L/m², {pickable:.1f} of it above the "
        f"{layer_mm:g} mm that must stay"
    )


def told_index(crop: Crop, cell: str) -> Iterator[str]:
    """Tell the cell's index: of its own quadrats and its class, or borrowed from the class."""
    mine = crop.cells[cell]
    known = crop.classes[mine.ground_class].prediction
    if known is None:
        yield (f"Class {mine.ground_class}: no cell of it was measured at rest by drawn quadrats; "
               "no figure.")
        return
    between, spread = math.sqrt(known.between_variance), math.sqrt(known.mean_variance)
    yield (
        f"Class {mine.ground_class}: mean index {known.mean_l_m2:.1f} ± {spread:.1f} L/m² from "
        f"{known.surveyed} surveyed cells; SD between cells {between:.1f}, of a quadrat within a "
        f"cell {math.sqrt(known.within_variance):.1f} L/m²."
    )
    own = own_readings(mine.readings, mine.picks)
    if own:
        yield from _own_index(known, known.cells.index(cell), own)
        return
    yield (
        f"Index: no quadrat was laid in {cell} while it was rested, so it borrows the class mean, "
        f"{known.mean_l_m2:.1f} L/m², give or take √({between:.1f}² + {spread:.1f}²) = "
        f"{math.sqrt(known.between_variance + known.mean_variance):.1f} L/m²."
    )


def _own_index(
    known: ClassPrediction, row: int, own: Sequence[ReadingIndex]
) -> Iterator[str]:
    volumes = [r.index.volume_l_m2 for r in own if r.index is not None]
    mean, count = statistics.fmean(volumes), len(volumes)
    weight, index = float(known.weight[row]), float(known.index_l_m2[row])
    between, within = math.sqrt(known.between_variance), math.sqrt(known.within_variance)
    listed = f"({' + '.join(f'{v:.1f}' for v in volumes)}) ÷ {count} = {mean:.1f}"
    said = listed if 1 < count <= _LISTED else f"{mean:.1f}"
    bias = f"{within:.1f}² ÷ {count}"
    eye = ""
    if not own[0].reading.drawn:
        mended = known.by_eye.ratio * mean
        eye = (f"; laid by eye, it is multiplied by {known.by_eye.ratio:.2f} and is off by "
               f"± {100 * known.by_eye.cv:.0f} % more, however many")
        bias += f" + ({known.by_eye.cv:.2f} × {mended:.1f})²"
        mean = mended
    yield (
        f"Index: own mean of {count} quadrat{'' if count == 1 else 's'} {said} L/m²{eye}; it "
        f"weighs {between:.1f}² ÷ ({between:.1f}² + {bias}) = {weight:.3f}, the class the rest: "
        f"{weight:.3f} × {mean:.1f} + {1 - weight:.3f} × {known.mean_l_m2:.1f} = {index:.1f} L/m²."
    )
    error, lent = float(known.error[row, row]), 1.0 - weight
    not_known = error - known.between_variance * lent - known.mean_variance * lent**2
    yield (
        f"Its error: √({between:.1f}² × {lent:.3f} + {math.sqrt(known.mean_variance):.1f}² × "
        f"{lent:.3f}² + {max(0.0, not_known):.1f}) = {math.sqrt(error):.1f} L/m²; the last term "
        "is for not knowing the SD between cells."
    )


def told_density(crop: Crop, cell: str) -> Iterator[str]:
    """Tell the density of the cell's class."""
    name = crop.cells[cell].ground_class
    known = of_class(crop.densities, name)
    raw = crop.densities.raw[crop.densities.classes.index(name)]
    records = [n for c in crop.clips if c.clip.ground_class == name for n in c.names]
    alone = "none of its own" if raw is None else (
        f"{known.clips} of its own, which alone say {raw:.2f}"
    )
    yield (
        f"Density: {name} has {known.mean_kg_m3:.2f} ± {math.sqrt(known.variance):.2f} kg/m³ from "
        f"{sum(crop.densities.clips)} clips of the block, {alone}, and the assumed level"
        f"{named(records)}."
    )
