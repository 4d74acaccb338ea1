"""What would tell the growth rate better: which cells measured again, and when.

Rule 1: it is a forecast of the error, not of the rate: the rate is taken as it is known today, and
new cells to scatter as those measured so far.
Rule 2: a cell teaches once, by its first pick and its first survey once its rest is over; a survey
while it rests stands in until then.
"""

import dataclasses
import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import date

from sync.block import season_of
from sync.crop.again import facts_until
from sync.crop.cell_walk import cell_surveys
from sync.crop.chain import Crop
from sync.crop.classes import ClassCrop, ReadingIndex
from sync.crop.learn import Learned, Regrown, predicted_kg, scatter, terms_of
from sync.crop.regrown import regrown_cell
from sync.settings import DAYS_PER_YEAR, Tunables
from sync.survey.density import ClassDensity, of_class
from sync.survey.quadrats import Index
from sync.survey.readings import Reading, Survey

#: So many quadrats a cell; with fewer it takes more cells.
QUADRATS = 4
#: Looked ahead so far. [yr]
YEARS = 5
_SHOWN = 2
_MADE_UP = "to come"


@dataclasses.dataclass(frozen=True)
class Narrowing:
    """What a round of measuring would do.

    Attributes
    ----------
    years : int
        From the day asked about.
    cells : tuple of str
        To be measured, the most telling first.
    sd : float
        Of the growth rate then. [yr⁻¹]
    enough : bool
        Whether that earns the rate.
    """

    years: int
    cells: tuple[str, ...]
    sd: float
    enough: bool


def narrowings(
    crop: Crop, tunables: Tunables, *, season_start: tuple[int, int]
) -> tuple[Narrowing, ...]:
    """Say which cells measured again would earn the growth rate, now or in some years.

    Parameters
    ----------
    crop : Crop
        The block on the day asked about.
    tunables : Tunables
        What is enough.
    season_start : tuple of int
        Month and day.

    Returns
    -------
    tuple of Narrowing
        Today, and a year each from then on: three of them at least, and up to the first that is
        enough; the last may not be.

    Notes
    -----
    V = (ρ·ΣV_u + V_s)/S² over the cells that would then teach, ρ = scatter over stated variance of
    those that teach now, 1 at least; blended with the prior. Cells are added one at a time, each
    the one that leaves least (derived; a greedy choice, not the best of all).
    """
    found = []
    for years in range(YEARS + 1):
        day = date.fromordinal(crop.day.toordinal() + round(years * DAYS_PER_YEAR))
        to_come = dict(_would_teach(crop, tunables, day, season_start))
        found.append(_round(crop.learned, to_come, years, tunables.growth_cv_enough))
        if years >= _SHOWN and found[-1].enough:
            break
    return tuple(found)


def _round(
    learned: Learned, to_come: Mapping[str, Regrown], years: int, enough_cv: float
) -> Narrowing:
    goal = enough_cv * learned.growth.rate
    has = {one.cell: one for one in learned.regrown}
    sd = _sd(learned, list(has.values()))
    chosen: list[str] = []
    while sd >= goal and len(chosen) < len(to_come):
        left = [cell for cell in to_come if cell not in chosen]
        tried = {cell: _sd(learned, list({**has, cell: to_come[cell]}.values())) for cell in left}
        best = min(left, key=lambda cell: (tried[cell], cell))
        if tried[best] >= sd:
            break
        sd = tried[best]
        has[best] = to_come[best]
        chosen.append(best)
    return Narrowing(years, tuple(chosen), sd, sd < goal)


def _sd(learned: Learned, cells: Sequence[Regrown]) -> float:
    """Give the SD of the blended rate if these cells taught it. [yr⁻¹]."""
    prior, rate = learned.prior, learned.growth.rate
    terms = [terms_of(cell, rate, prior.comeback) for cell in cells]
    slope = math.fsum(one.slope for one in terms)
    if slope <= 0.0:
        return math.sqrt(prior.variance)
    stated = _worse(learned) * math.fsum(one.stated for one in terms)
    variance = (stated + math.fsum(one.moved for one in terms) ** 2) / slope**2
    return math.sqrt(prior.variance * variance / (prior.variance + variance))


def _worse(learned: Learned) -> float:
    """Give by how much the cells measured so far scatter more than they state, 1 at least."""
    rate, comeback = learned.growth.rate, learned.prior.comeback
    stated = math.fsum(terms_of(cell, rate, comeback).stated for cell in learned.regrown)
    if stated <= 0.0:
        return 1.0
    return max(1.0, scatter(learned.prior, learned.regrown, rate) / stated)


def _would_teach(
    crop: Crop, tunables: Tunables, day: date, season_start: tuple[int, int]
) -> Iterator[tuple[str, Regrown]]:
    """Give each picked cell as it would teach, measured on a day and found as forecast."""
    def bag_cv2(picked: date) -> float:
        season = season_of(picked, season_start)
        known = [one for (of, _), one in crop.weights.kappa.items() if of == season]
        return known[0].variance / known[0].kg**2 if known else 0.0

    rate, comeback = crop.learned.growth.rate, crop.learned.prior.comeback
    for cell, one in crop.cells.items():
        first = next((pick.made.first for pick in one.picks if not pick.touch), None)
        if first is None:
            continue
        cv2, then = bag_cv2(first), crop.class_on(one.ground_class, first)
        of, density = crop.classes[one.ground_class], of_class(crop.densities, one.ground_class)

        def found(
            cell: str = cell, of: ClassCrop = of, density: ClassDensity = density,
            cv2: float = cv2, then: ClassCrop = then,
        ) -> Regrown | None:
            return _as_to_come(crop, cell, tunables, day, of, density, cv2, then)

        teaches = crop.kept.to_come.give(
            (cell, day), (crop.day, one, of, density, cv2, then, rate, comeback), found)
        if teaches is not None:
            yield cell, teaches


def _as_to_come(
    crop: Crop, cell: str, tunables: Tunables, day: date, of: ClassCrop, density: ClassDensity,
    cv2: float, then: ClassCrop,
) -> Regrown | None:
    """Give a cell as it would teach, measured on a day; None where it teaches already, or not."""
    facts = facts_until(crop, cell, crop.day)
    made_up = tuple(_reading(cell, day, n) for n in range(QUADRATS))
    extended = dataclasses.replace(facts, readings=(*facts.readings, *made_up))
    surveys = (*cell_surveys(facts, tunables),
               Survey(day, tuple(r.reading for r in made_up), by_eye=False))
    found = regrown_cell(cell, extended, surveys, of, density, tunables,
                         bag_cv2=lambda _: cv2, class_on=lambda _: then)
    if found is None or not _is_made_up(found.records) or found.years <= 0.0:
        return None
    kg = predicted_kg(found, crop.learned.growth.rate, crop.learned.prior.comeback)
    return dataclasses.replace(found, measured_kg=kg)


def _reading(cell: str, day: date, number: int) -> ReadingIndex:
    reading = Reading(f"{_MADE_UP} {number}", cell, day, f"{_MADE_UP} {number}", True, "survey",
                      False, 100.0, (1,), None, None, None, "")
    return ReadingIndex(reading, Index(1.0, 1.0))


def _is_made_up(names: Collection[str]) -> bool:
    return all(name.startswith(_MADE_UP) for name in names)
