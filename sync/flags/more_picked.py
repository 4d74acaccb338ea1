"""more_picked_than_stood: picks that took what, by the figures, was not there.

Rule 1: stray bags, too few for a picking day, are a neighbour's scatter and raise nothing.
Rule 2: a pick whose kg nobody knows is counted by what stood, so it is never more.
"""

import itertools
from collections.abc import Iterator

from sync.block import season_of
from sync.crop.chain import CellCrop
from sync.crop.walked import STRAY, Step, Walked
from sync.flags.behind import bags_behind
from sync.flags.flag import Flag
from sync.register.build import Register


def more_picked_than_stood(register: Register) -> Iterator[Flag]:
    """Flag cells whose crop had to be held up because more was picked than stood.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a cell and season.
    """
    start = register.block.season_start
    for cell, crop in register.crop.cells.items():
        over = [] if crop.walked is None else list(_over(crop, crop.walked))
        for season, found in itertools.groupby(over, lambda o: season_of(o[0].day, start)):
            yield _flag(register, cell, season, list(found))


def _over(crop: CellCrop, walked: Walked) -> Iterator[tuple[Step, float]]:
    """Give the picks of a walk that hit the floor, and what stood before each. [kg]."""
    unknown = {pick.made.first for pick in crop.picks if pick.made.whole is None}
    for before, step in itertools.pairwise((None, *walked.steps)):
        if step is None or step.kg is None or step.what == STRAY:
            continue
        if step.day in walked.more_than_stood and step.day not in unknown:
            yield step, _stood_kg(before, step)


def _stood_kg(before: Step | None, step: Step) -> float:
    if step.grew is not None:
        return step.grew.crop_kg
    # Until its first step a cell stands at its mark.
    return step.mark_kg if before is None else before.crop_kg


def _flag(
    register: Register, cell: str, season: int, found: list[tuple[Step, float]]
) -> Flag:
    kg = sum(step.kg or 0.0 for step, _ in found)
    first, stood_kg = found[0]
    floor_pct = 100.0 * register.tunables.crop_floor
    why = (
        f"{kg:,.0f} kg were picked from {cell} from {first.day.isoformat()} on, where "
        f"{stood_kg:,.0f} kg stood by what was known; its crop is held at {floor_pct:g} % of its "
        "rested crop; new quadrats there, or the pickers' word of where the bags came from, "
        "would settle it"
    )
    records = [name for step, _ in found for name in step.records]
    return Flag(
        "more_picked_than_stood", cell, season, cell, why, None, "sure",
        bags_behind(register, cell, records),
        {"kg": kg, "stood_kg": stood_kg},
    )
