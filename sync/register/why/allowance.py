"""Sentences on what may be taken from a cell, what is left of it, and what comes next."""

from collections.abc import Iterator

from sync.crop.allow import Allowance
from sync.crop.chain import CellCrop
from sync.crop.today import surveyed_since
from sync.register.build import Register
from sync.register.why.told import named


def told_allowance(register: Register, cell: str) -> Iterator[str]:
    """Tell the three answers, the least of them, and what this pick has left."""
    today = register.cells[cell]
    found, start = today.allowance, today.at_start
    if today.state == "ready" and found is None:
        yield "May take: no figure; no cell of its class was measured at rest by drawn quadrats."
        return
    if found is None or start is None:
        yield f"May take: 0 kg, for the cell is {today.state}."
        return
    when = "today" if today.picks.open_pick is None else (
        f"before the pick that began {today.picks.open_pick.made.first}"
    )
    if found.crop_kg > 0.0:
        yield from _answers(found, start)
    permit = "no permit that limits a single cell"
    if found.permit_kg is not None:
        permit = f"permit {found.permit_kg:.0f} kg"
    yield (
        f"May take ({when}): the least of regrowth {found.regrowth_kg:.0f} kg, kept "
        f"{found.kept_kg:.0f} kg ({100 * start.rule.keep:g} % of the pickable crop stays) and "
        f"{permit}: {found.may_take_kg:.0f} kg; {found.binds} binds."
    )
    yield (
        f"Sustainable-harvest %: {found.may_take_kg:.0f} of {found.crop_kg:.0f} kg = "
        f"{found.sustainable_pct:.1f} %; {found.must_stay_kg:.0f} kg must stay."
    )
    if today.taken is not None:
        yield (
            f"Left: {found.may_take_kg:.0f} less {today.taken.kg:.0f} kg taken in this pick = "
            f"{today.left_kg:.0f} kg{named(today.taken.records)}."
        )


def _answers(found: Allowance, start: CellCrop) -> Iterator[str]:
    full, e, years = start.growth.comeback, found.left_share, start.rule.rest_years
    back = e / full * found.mark_kg
    caution = found.crop_kg - back - found.regrowth_kg
    yield (
        f"Regrowth: left at {full:g} ÷ ({full:g} + {1 - full:.2g} × e^({start.growth.rate:.3f} × "
        f"{years:g})) = {e:.3f} of full the cell is back at its rested crop in {years:g} years; "
        f"{found.crop_kg:.0f} − {e:.3f} ÷ {full:g} × {found.mark_kg:.0f} − {caution:.0f} = "
        f"{found.regrowth_kg:.0f} kg, {caution:.0f} kg being the caution for 3 chances in 4 "
        "(0.674 SD of crop, rested crop and growth together)."
    )
    keep = 1.0 - start.rule.keep
    yield (
        f"Kept: {found.counted_on_kg:.0f} of {found.crop_kg:.0f} kg are counted on with 3 chances "
        f"in 4; {keep:.2f} × {found.pickable_kg:.0f} × {found.counted_on_kg:.0f} ÷ "
        f"{found.crop_kg:.0f} = {found.kept_kg:.0f} kg."
    )


def told_next(register: Register, cell: str) -> Iterator[str]:
    """Tell when the cell is ready next, and what could then be taken."""
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
