"""A cell walked once more: to an earlier day, or with another rate of growth.

Rule 1: it is the same walk as the register's, so a figure here is the register's own.
"""

import math
from collections.abc import Iterator
from datetime import date, timedelta
from statistics import NormalDist

from sync.crop.back import Back
from sync.crop.chain import Crop
from sync.crop.takings import CellFacts
from sync.crop.walk import Growth, Stand
from sync.crop.walk_once import walk_once
from sync.crop.walked import Walked
from sync.settings import Tunables
from sync.survey.density import of_class


def facts_until(crop: Crop, cell: str, until: date) -> CellFacts:
    """Give what was noted in a cell until a day; what was learned later about it stays.

    Parameters
    ----------
    crop : Crop
        The block on a later day, or that day.
    cell : str
        Its name.
    until : date
        Last day; a pick that had begun is taken whole.
    """
    known = crop.cells[cell]
    stray = known.takings.stray if known.takings is not None else {}
    return CellFacts(
        known.open_m2,
        tuple(r for r in known.readings if r.reading.day <= until),
        tuple(p for p in known.picks if p.made.first <= until),
        {day: kg for day, kg in stray.items() if day <= until},
    )


def walk_again(
    crop: Crop, cell: str, tunables: Tunables, *, until: date, growth: Growth | None = None
) -> Walked | None:
    """Walk a cell of a block to a day.

    Parameters
    ----------
    crop : Crop
        The block on that day or later.
    cell : str
        Its name.
    tunables : Tunables
        As of the block.
    until : date
        Last day.
    growth : Growth, optional
        Another rate than the register's. [yr⁻¹]

    Returns
    -------
    Walked or None
        None where the class has no figure or the cell no open ground.
    """
    return walk_once(crop, cell, facts_until(crop, cell, until), growth or crop.cells[cell].growth,
                     tunables, until=until)


def came_back(crop: Crop, cell: str, tunables: Tunables) -> tuple[Back, ...]:
    """Say of each pick whose rest is over how the cell stood then.

    Parameters
    ----------
    crop : Crop
        The block on the day asked about.
    cell : str
        Its name.
    tunables : Tunables
        As of the block.

    Returns
    -------
    tuple of Back
        Oldest pick first; none for a pick before whose rest's end the cell was picked again.

    Notes
    -----
    Chance = Φ((C − B)/√(V_B + V_C − 2Cov)) with crop B and mark C (derived); a cell that stands at
    its mark by forecast has one half.
    """
    known = crop.cells[cell]
    of = known.ground_class
    return crop.kept.backs.give(
        cell, (crop.day, known, crop.classes[of], of_class(crop.densities, of), crop.readers[of]),
        lambda: tuple(_came_back(crop, cell, tunables)))


def _came_back(crop: Crop, cell: str, tunables: Tunables) -> Iterator[Back]:
    picks = [p for p in crop.cells[cell].picks if not p.touch and p.rest_ends is not None]
    for number, pick in enumerate(picks):
        ends = pick.rest_ends or date.max
        last = crop.day
        if number + 1 < len(picks):
            last = min(last, picks[number + 1].made.first - timedelta(days=1))
        if ends > last:
            continue
        walked = walk_again(crop, cell, tunables, until=last)
        if walked is None:
            continue
        later = [survey for survey in walked.surveys if survey.day >= ends]
        on = later[-1].day if later else ends
        walked = walk_again(crop, cell, tunables, until=on) or walked
        yield Back(
            cell, pick, on, bool(later), walked.stand, chance_short(walked.stand),
            tuple(r.name for r in later[-1].readings) if later else pick.made.records,
        )


def chance_short(stand: Stand) -> float:
    """Give the chance that a cell stands under its mark, from crop and mark [kg]."""
    spread = stand.crop_var + stand.mark_var - 2.0 * stand.cov
    short = stand.mark_kg - stand.crop_kg
    if spread <= 1e-12 * stand.mark_kg**2:
        return 0.5 if short <= 0.0 else 1.0
    return NormalDist().cdf(short / math.sqrt(spread))
