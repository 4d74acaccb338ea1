"""What a season's picks give, with a range: the errors that cells share are added as shared.

Rule 1: the range tells how far the planned kg may be off once the cells are measured, by what is
known today; it is in proportion to the crop's own error.
Rule 2: growth is one for all cells (or for a class that has learned its own): what it moves in
one cell it moves in all. It moves the crop; the rule goes by the rate that is known today.
"""

import dataclasses
import math
from collections import defaultdict
from collections.abc import Mapping, Sequence

from sync.crop.block_total import survey_total
from sync.plan.outlook import Outlook, first_kg, later_kg
from sync.plan.spans import Span
from sync.register.build import Register
from sync.survey.ranges import lognormal_range, t_quantile


@dataclasses.dataclass(frozen=True)
class Yield:
    """What is planned of a season, with its 90 % range. [kg]."""

    kg: float
    low_kg: float
    high_kg: float


def yields_of(
    register: Register,
    spans: Sequence[Span],
    planned_kg: Sequence[Mapping[str, float]],
    known: Mapping[str, Outlook],
) -> tuple[Yield, ...]:
    """Give the yield of each season with its range.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    spans : sequence of Span
        The seasons.
    planned_kg : sequence of mapping of str to float
        Of each season, what each of its cells is to give. [kg]
    known : mapping of str to Outlook
        By cell.

    Returns
    -------
    tuple of Yield
        In the order of the seasons.

    Notes
    -----
    The planned kg of a cell are laid out as ground that would hold as much at rest, so that the
    variance is that of the block's total over that ground (`sync.survey.totals.block_total`); to
    it comes (Σ ΔM)² for each growth rate, ΔM being half of what a cell's take moves between the
    rate less and more one SD. Derived: delta rule, with a secant for the slope, since what may be
    taken has corners.
    """
    return tuple(
        _yield(register, kg, _by_growth(register, period, kg, known, planned_kg))
        for period, (_, kg) in enumerate(zip(spans, planned_kg, strict=True))
    )


def _yield(register: Register, kg: Mapping[str, float], by_growth: float) -> Yield:
    whole = sum(kg.values())
    if whole <= 0.0:
        return Yield(0.0, 0.0, 0.0)
    areas: dict[str, dict[str, float]] = defaultdict(dict)
    for name, cell in register.crop.cells.items():
        areas[cell.ground_class][name] = 0.0
        if name in kg and cell.walked is not None and cell.walked.stand.mark_kg > 0.0:
            areas[cell.ground_class][name] = cell.open_m2 * kg[name] / cell.walked.stand.mark_kg
    total = survey_total(register.crop, areas)
    cv2 = total.variance / total.kg**2 if total.kg > 0.0 else 0.0
    cv = math.sqrt(cv2 + by_growth / whole**2)
    low, high = lognormal_range(whole, cv, t=t_quantile(total.df))
    return Yield(whole, low, high)


def _by_growth(
    register: Register, period: int, kg: Mapping[str, float], known: Mapping[str, Outlook],
    planned_kg: Sequence[Mapping[str, float]],
) -> float:
    """Give what the error of growth does to a season's yield. [kg²]."""
    moved: dict[tuple[float, float], float] = defaultdict(float)
    for name in kg:
        one = known[name]
        before = [t for t in range(period) if name in planned_kg[t]]
        last = before[-1] if before else None
        growth = register.crop.cells[name].growth
        both = [_kg_by(register, one, period, last, sds) for sds in (-1.0, 1.0)]
        moved[growth.rate, growth.variance] += (both[1] - both[0]) / 2.0
    return sum(one**2 for one in moved.values())


def _kg_by(
    register: Register, one: Outlook, period: int, last: int | None, sds: float
) -> float:
    possible = one.firsts[period] if last is None else one.laters[last, period]
    ahead = one.ahead_on(possible.day)
    if ahead is None:
        return possible.kg
    rate = max(0.0, ahead.growth.rate + sds * math.sqrt(ahead.growth.variance))
    true = dataclasses.replace(ahead.growth, rate=rate)
    if last is None:
        return first_kg(ahead, register.on, possible.day, true=true)
    before = one.firsts[last]
    return later_kg(ahead, register.on, before.day, before.kg, possible.day,
                    floor=register.tunables.crop_floor, true=true)
