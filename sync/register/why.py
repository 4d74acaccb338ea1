"""How a cell's figures came about: one sentence each, with its inputs and record names.

Rule 1: a sentence holds the figures that make the figure, so that a person can check it by hand.
Rule 2: nothing is worked out here that the register does not hold.
"""

import math
from collections.abc import Iterator, Sequence

from sync.crop.cell_walk import STRAY
from sync.crop.chain import Crop
from sync.crop.classes import JudgedPick
from sync.crop.today import surveyed_since
from sync.errors import SurveyError
from sync.register.build import Register
from sync.survey.density import of_class
from sync.survey.ranges import lognormal_range, t_quantile

_SHOWN = 12
#: A neighbour's scatter of less is walked, but not worth a sentence. [kg]
_LEAST_STRAY_KG = 0.5


def why_cell(register: Register, cell: str) -> tuple[str, ...]:
    """Tell how each figure of a cell came about.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    cell : str
        Name of a cell.

    Returns
    -------
    tuple of str
        Sentences, in the order in which the figures are worked out.

    Raises
    ------
    SurveyError
        If the block has no such cell.
    """
    if cell not in register.crop.cells:
        raise SurveyError(f"cell {cell!r}: the block has no such cell on {register.on}")
    return (
        *_ground(register, cell),
        *_readings(register.crop, cell),
        *_class(register.crop, cell),
        *_density(register.crop, cell),
        *_steps(register.crop, cell),
        *_crop(register.crop, cell),
        *_picks(register, cell),
        *_allowance(register, cell),
        *_next(register, cell),
    )


def _named(records: Sequence[str]) -> str:
    names = list(dict.fromkeys(records))
    more = f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else ""
    return f" [{', '.join(names[:_SHOWN])}{more}]" if names else ""


def _ground(register: Register, cell: str) -> Iterator[str]:
    ground = register.crop.ground.cells[cell]
    yield (
        f"Ground: {cell} has {ground.area_m2 / 1e4:.4f} ha, {ground.open_m2 / 1e4:.4f} ha of it "
        f"open on {register.on}; its class is {ground.ground_class}, that of most of it."
    )
    for closing in ground.closings:
        until = f" until {closing.until}" if closing.until else ""
        yield f"Closed in part or whole: {closing.why}{until}."
    yield f"State, {register.cells[cell].state}: {register.cells[cell].why.split(': ')[-1]}."


def _readings(crop: Crop, cell: str) -> Iterator[str]:
    mine = crop.cells[cell]
    for one in mine.readings:
        reading = one.reading
        kind = "drawn" if reading.drawn else "by eye"
        head = f"Quadrat of {reading.day} ({kind}, plot {reading.plot or 'none'})"
        if one.index is None:
            yield f"{head}: cover without depths, it says nothing [{reading.name}]."
        elif reading.bare:
            yield f"{head}: no moss there, counted as 0 L/m² [{reading.name}]."
        else:
            depths = " ".join(str(d) for d in reading.depth_mm)
            yield (
                f"{head}: cover {reading.cover_pct:g} %, depths {depths} mm give "
                f"{one.index.volume_l_m2:.1f} L/m², {one.index.pickable_l_m2:.1f} of it above the "
                f"{mine.rule.living_layer_mm:g} mm that must stay [{reading.name}]."
            )


def _class(crop: Crop, cell: str) -> Iterator[str]:
    name = crop.cells[cell].ground_class
    known = crop.classes[name].prediction
    if known is None:
        yield f"Class {name}: no cell of it was measured at rest by drawn quadrats; no figure."
        return
    i = known.cells.index(cell)
    yield (
        f"Index: class {name} has {known.mean_l_m2:.1f} ± {math.sqrt(known.mean_variance):.1f} "
        f"L/m² from {known.surveyed} surveyed cells (SD between cells "
        f"{math.sqrt(known.between_variance):.1f}, within {math.sqrt(known.within_variance):.1f});"
        f" this cell's own quadrats weigh {known.weight[i]:.2f}, so it has "
        f"{known.index_l_m2[i]:.1f} ± {math.sqrt(known.error[i, i]):.1f} L/m²."
    )


def _density(crop: Crop, cell: str) -> Iterator[str]:
    name = crop.cells[cell].ground_class
    known = of_class(crop.densities, name)
    records = [n for c in crop.clips if c.clip.ground_class == name for n in c.names]
    yield (
        f"Density: {name} has {known.mean_kg_m3:.2f} ± {math.sqrt(known.variance):.2f} kg/m³ from "
        f"{known.clips} clips of its own and {sum(crop.densities.clips)} of the "
        f"block{_named(records)}."
    )


def _steps(crop: Crop, cell: str) -> Iterator[str]:
    walked = crop.cells[cell].walked
    if walked is None:
        return
    for step in walked.steps:
        if step.what == STRAY and (step.kg or 0.0) < _LEAST_STRAY_KG:
            continue
        took = f" of {step.kg:.0f} kg" if step.kg is not None else ""
        yield (
            f"On {step.day}, {step.what}{took}: then {step.crop_kg:.0f} kg stood, the rested crop "
            f"being {step.mark_kg:.0f} kg{_named(step.records)}."
        )


def _crop(crop: Crop, cell: str) -> Iterator[str]:
    mine = crop.cells[cell]
    walked, known = mine.walked, crop.classes[mine.ground_class].prediction
    if walked is None or known is None or walked.stand.crop_kg <= 0.0:
        return
    stand = walked.stand
    cv = math.sqrt(stand.crop_var) / stand.crop_kg
    low, high = lognormal_range(stand.crop_kg, cv, t=t_quantile(known.df))
    yield (
        f"Standing crop on {crop.day}: {stand.crop_kg:.0f} kg, 90 % range {low:.0f} to {high:.0f} "
        f"kg (CV {cv:.2f}, lognormal, t on {known.df:g} df), grown at {mine.growth.rate:.2f} ± "
        f"{math.sqrt(mine.growth.variance):.2f} a year from {mine.rule.recovery_years:g} years of "
        "recovery, never past the rested crop."
    )
    yield (
        f"Pickable: {walked.pickable_kg:.0f} kg now; of the rested crop {100 * walked.share:.1f} "
        "% is pickable."
    )


def _picks(register: Register, cell: str) -> Iterator[str]:
    for pick in register.crop.cells[cell].picks:
        yield _pick(pick)
    if cell in register.incomplete:
        yield "Its last pick is not complete: a hole, bags of no cell, or kg nobody knows."


def _pick(pick: JudgedPick) -> str:
    made = pick.made
    said = "kg unknown"
    if made.whole is not None:
        spread = math.sqrt(made.whole.variance)
        said = f"{made.whole.bags:.1f} bags, {made.whole.kg:.0f} kg (SD {spread:.0f})"
    share = ""
    if pick.pickable_at_mark_kg and made.whole is not None:
        share = f", {100 * made.whole.kg / pick.pickable_at_mark_kg:.0f} % of what was pickable"
    ends = "it only touched the cell and no rest starts" if pick.touch else (
        f"its rest ends {pick.rest_ends}"
    )
    return f"Pick {made.first} to {made.last}: {said}{share}; {ends}{_named(made.records)}."


def _allowance(register: Register, cell: str) -> Iterator[str]:
    today = register.cells[cell]
    found, start = today.allowance, today.at_start
    if today.state == "ready" and found is None:
        yield "May take: no figure; no cell of its class was measured at rest by drawn quadrats."
        return
    if found is None or start is None:
        yield f"May take: 0 kg, for the cell is {today.state}."
        return
    crop_kg = found.may_take_kg + found.must_stay_kg
    when = "today" if today.picks.open_pick is None else (
        f"before the pick that began {today.picks.open_pick.made.first}"
    )
    permit = "no permit that limits a single cell"
    if found.permit_kg is not None:
        permit = f"permit {found.permit_kg:.0f} kg"
    yield (
        f"May take ({when}): the least of regrowth {found.regrowth_kg:.0f} kg (back at the rested "
        f"crop in {start.rule.rest_years:g} years with 3 chances in 4), kept "
        f"{found.kept_kg:.0f} kg ({100 * start.rule.keep:g} % of the pickable crop stays; crop "
        f"counted on {found.counted_on_kg:.0f} kg) and {permit}: {found.may_take_kg:.0f} kg; "
        f"{found.binds} binds."
    )
    yield (
        f"Sustainable-harvest %: {found.may_take_kg:.0f} of {crop_kg:.0f} kg = "
        f"{found.sustainable_pct:.1f} %; {found.must_stay_kg:.0f} kg must stay."
    )
    if today.taken is not None:
        yield (
            f"Left: {found.may_take_kg:.0f} less {today.taken.kg:.0f} kg taken in this pick = "
            f"{today.left_kg:.0f} kg{_named(today.taken.records)}."
        )


def _next(register: Register, cell: str) -> Iterator[str]:
    today = register.cells[cell]
    if today.next_on is None:
        closed = today.state == "closed" and surveyed_since(
            register.crop.cells[cell], today.picks.last_over)
        yield "Next: no day is known on which it opens." if closed else (
            "Next: only a measurement can tell.")
    elif today.next_kg is None:
        yield f"Next: {today.next_on}; how much can be told once it is open."
    else:
        yield f"Next: {today.next_on}, about {today.next_kg:.0f} kg by what is known."
