"""What a survey is expected to buy: surer figures, and moss that may be taken.

Rule 1: everything here is an expectation: as if new quadrats spread as those before, and said on
average what is thought now.
Rule 2: the register's own error model is worked out again with the quadrats more, none beside it.
Rule 3: readers and densities stay as unknown as they are.
"""

import dataclasses
import math
import statistics
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from scipy.special import ndtri

from sync.crop.block_total import survey_volumes
from sync.crop.chain import CellCrop, Crop
from sync.crop.classes import ReadingIndex, drawn_readings, is_rested
from sync.crop.pickable import Measured, pickable_kg
from sync.crop.remeasure import mark_floor, remeasure
from sync.crop.today import allowance_of
from sync.crop.walk import Stand, grow, start
from sync.plan.plots.frame import Candidate, Frame
from sync.register.build import Register
from sync.settings import DAYS_PER_YEAR
from sync.survey.arrays import read_only
from sync.survey.by_eye import NO_BIAS
from sync.survey.cells import ClassPrediction, class_unsurveyed
from sync.survey.class_spread import own_mean
from sync.survey.density import ClassDensity, of_class
from sync.survey.totals import block_total, cell_cv2, crop_kg

#: Outcomes of a survey that an expected may take is the mean of.
_OUTCOMES = 9


@dataclasses.dataclass(frozen=True)
class Opened:
    """A cell that may be picked once it is measured: from when, and kg expected."""

    cell: str
    now: bool
    kg: float


@dataclasses.dataclass(frozen=True)
class Worth:
    """What a survey is expected to buy.

    Attributes
    ----------
    block_cv_now, block_cv_then : float or None
        Standard error of the block's crop over it; None where no class has a figure. [-]
    cell_cv_now, cell_cv_then : float or None
        The same of the drawn cells, their median. [-]
    opened : tuple of Opened
        Cells that may not be picked unless they are measured and whose class has a figure.
    no_figure : tuple of str
        Drawn cells of classes without a figure: nothing can be expected of them yet.
    """

    block_cv_now: float | None
    block_cv_then: float | None
    cell_cv_now: float | None
    cell_cv_then: float | None
    opened: tuple[Opened, ...]
    no_figure: tuple[str, ...]


def worth_of(
    register: Register, frame: Frame, cells: Sequence[Candidate], quadrats: Sequence[int]
) -> Worth:
    """Work out what so many quadrats in some cells are expected to buy.

    Parameters
    ----------
    register : Register
        Of the day of the survey.
    frame : Frame
        For the day by which a rest ends soon.
    cells : sequence of Candidate
        Drawn.
    quadrats : sequence of int
        In each of them.

    Returns
    -------
    Worth
        Expectations.
    """
    crop = register.crop
    added = {cell.cell: n for cell, n in zip(cells, quadrats, strict=True)}
    then = {
        name: after_survey(crop, known.prediction, _lends(crop, known.prediction, added))
        for name, known in crop.classes.items() if known.prediction is not None
    }
    after = {name: _cell_then(crop, crop.cells[name], then, n) for name, n in added.items()}
    known = {name: one for name, one in after.items() if one is not None}
    opened = [
        _opened(register, cell, known[cell.cell]) for cell in cells
        if cell.opens and cell.cell in known and _opens_by(register, cell.cell, frame)
    ]
    block = _block_cvs(register, then)
    return Worth(
        *block,
        _median(one.cv_now for one in known.values()),
        _median(one.cv_then for one in known.values()),
        tuple(opened), tuple(cell for cell in added if cell not in known),
    )


def after_survey(
    crop: Crop, prediction: ClassPrediction, added: Mapping[str, int]
) -> ClassPrediction:
    """Give a class as it would be known with quadrats more.

    Parameters
    ----------
    crop : Crop
        For the quadrats there are.
    prediction : ClassPrediction
        The class now.
    added : mapping of str to int
        Quadrats more, by cell; all of them drawn and at rest.

    Returns
    -------
    ClassPrediction
        M and V_μ with these m and the two variances as they are, the indices unmoved.

    Notes
    -----
    M of `sync.survey.cells.predict_class` (derived: it depends on the numbers m alone, once both
    variances are given).
    """
    within, between = prediction.within_variance, prediction.between_variance
    counts = np.array([len(_drawn(crop, cell)) + added.get(cell, 0) for cell in prediction.cells])
    drawn = counts > 0
    precision = 1.0 / (between + within / counts[drawn])
    squares = float(precision @ precision)
    variance = 1.0 / float(precision.sum())
    lent, own = 1.0 - np.array(prediction.weight), np.diag(prediction.error).copy()
    own -= prediction.mean_variance * lent**2
    for row in np.flatnonzero(drawn):
        mean = own_mean(0.0, int(counts[row]), NO_BIAS, within=within, between=between,
                        inverse_squares=squares)
        lent[row], own[row] = mean.lent, mean.error
    return dataclasses.replace(
        prediction, error=read_only(np.diag(own) + variance * np.outer(lent, lent)),
        weight=read_only(1.0 - lent), mean_variance=variance, inverse_squares=squares,
        surveyed=int(drawn.sum()),
    )


def _drawn(crop: Crop, cell: str) -> list[ReadingIndex]:
    one = crop.cells[cell]
    return [r for r in drawn_readings(one.readings, one.picks) if r.index is not None]


def _lends(crop: Crop, prediction: ClassPrediction, added: Mapping[str, int]) -> dict[str, int]:
    """Leave out quadrats in cells that are resting: they lend nothing to their class."""
    return {cell: added[cell] for cell in prediction.cells
            if cell in added and is_rested(crop.day, crop.cells[cell].picks)}


def _block_cvs(
    register: Register, then: Mapping[str, ClassPrediction]
) -> tuple[float | None, float | None]:
    total, crop = register.total, register.crop
    if total is None or total.kg <= 0.0:
        return None, None
    now = block_total(survey_volumes(crop, {}), crop.densities)
    later = block_total(survey_volumes(crop, then), crop.densities)
    less = (now.variance - later.variance) * (total.kg / now.kg) ** 2 if now.kg > 0.0 else 0.0
    left = max(0.0, total.variance - less)
    return math.sqrt(total.variance) / total.kg, math.sqrt(left) / total.kg


@dataclasses.dataclass(frozen=True)
class _Then:
    """A cell as expected after the survey, and by how much its outcome may move. [-]."""

    stand: Stand
    cv_now: float
    cv_then: float
    moves_cv: float
    at_rest: bool


def _cell_then(
    crop: Crop, cell: CellCrop, then: Mapping[str, ClassPrediction], quadrats: int
) -> _Then | None:
    walked = cell.walked
    if walked is None or walked.stand.crop_kg <= 0.0:
        return None
    density = of_class(crop.densities, cell.ground_class)
    stand = walked.stand
    cv_now = math.sqrt(stand.crop_var) / stand.crop_kg
    if not walked.forecast:
        return _at_rest(crop, cell, then[cell.ground_class], density, cv_now)
    scale = crop_kg(cell.open_m2, density.mean_kg_m3, 1.0)
    measured = scale**2 * then[cell.ground_class].within_variance / quadrats
    after = remeasure(stand, stand.crop_kg, measured, shared=density.unaveraged)
    new = after.stand
    return _Then(
        new, cv_now, math.sqrt(new.crop_var) / new.crop_kg,
        math.sqrt(after.weight * stand.crop_var) / stand.crop_kg, at_rest=False,
    )


def _at_rest(
    crop: Crop, cell: CellCrop, then: ClassPrediction, density: ClassDensity, cv_now: float
) -> _Then | None:
    """Give a cell that nothing happened to since it was measured, or ever."""
    now = crop.classes[cell.ground_class].prediction
    if now is None or cell.walked is None:
        return None
    row = now.cells.index(cell.cell)
    index = float(now.index_l_m2[row])
    was, is_ = float(now.error[row, row]), float(then.error[row, row])

    def cv2(error: float) -> float:
        return cell_cv2(index, error, density.mean_kg_m3, density.variance, density.between_cv2)

    cv_then = math.sqrt(max(0.0, min(cv_now**2, cv_now**2 - cv2(was) + cv2(is_))))
    moves = math.sqrt(max(0.0, was - is_)) / index if index > 0.0 else 0.0
    return _Then(start(cell.walked.stand.crop_kg, cv=cv_then), cv_now, cv_then, moves,
                 at_rest=True)


def _opens_by(register: Register, cell: str, frame: Frame) -> bool:
    over = register.cells[cell].picks.last_over
    return over is None or over.rest_ends is None or over.rest_ends <= frame.soon


def _opened(register: Register, cell: Candidate, then: _Then) -> Opened:
    """Expect what may be taken on the day it opens: the mean over the survey's outcomes."""
    one, over = register.crop.cells[cell.cell], register.cells[cell.cell].picks.last_over
    ends = over.rest_ends if over is not None else None
    years = max(0.0, (ends - register.on).days / DAYS_PER_YEAR) if ends is not None else 0.0
    spread = math.sqrt(math.log1p(then.moves_cv**2))
    may = []
    for i in range(_OUTCOMES):
        z = float(ndtri((i + 0.5) / _OUTCOMES))
        stand = _came_out(register.crop, one, then, math.exp(spread * z - spread**2 / 2.0),
                          floor=register.tunables.mark_floor)
        may.append(_may_take_kg(one, stand, years))
    return Opened(cell.cell, years == 0.0, statistics.fmean(may))


def _came_out(
    crop: Crop, cell: CellCrop, then: _Then, times: float, *, floor: float
) -> Stand:
    """Give the cell where its survey said so many times what is thought now."""
    stand = then.stand
    if not then.at_rest:
        return dataclasses.replace(
            stand, crop_kg=times * stand.crop_kg, cov=times * stand.cov)
    own = start(times * stand.crop_kg, cv=then.cv_then)
    prediction = crop.classes[cell.ground_class].prediction
    if prediction is None:
        return own
    density = of_class(crop.densities, cell.ground_class)
    unsurveyed = class_unsurveyed(prediction)
    mark = crop_kg(cell.open_m2, density.mean_kg_m3, unsurveyed.index_l_m2)
    cv2 = cell_cv2(unsurveyed.index_l_m2, unsurveyed.error, density.mean_kg_m3,
                   density.variance, density.between_cv2)
    return mark_floor(own, mark, cv2 * mark**2, floor=floor, shared=density.unaveraged)


def _may_take_kg(cell: CellCrop, stand: Stand, years: float) -> float:
    if cell.walked is None or stand.mark_kg <= 0.0:
        return 0.0
    share = cell.walked.share
    measured = Measured(stand.crop_kg, share)
    then = grow(stand, years, cell.growth)
    pickable = pickable_kg(then.crop_kg, then.mark_kg, share, measured=measured)
    return allowance_of(then, pickable, cell).may_take_kg


def _median(values: Iterable[float]) -> float | None:
    found = list(values)
    return statistics.median(found) if found else None
