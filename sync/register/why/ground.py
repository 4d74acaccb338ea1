"""Sentences on a cell's ground, its state, and the picks it has seen."""

import math
from collections import defaultdict
from collections.abc import Iterator

from sync.crop.classes import JudgedPick
from sync.geometry.placed import Placed
from sync.register.build import Register
from sync.register.why.told import named


def told_ground(register: Register, cell: str) -> Iterator[str]:
    """Tell the cell's ground, what closes it, and its state."""
    ground = register.crop.ground.cells[cell]
    yield (
        f"Ground: {cell} has {ground.area_m2 / 1e4:.4f} ha, {ground.open_m2 / 1e4:.4f} ha of it "
        f"open on {register.on}; its class is {ground.ground_class}, that of most of it."
    )
    for closing in ground.closings:
        until = f" until {closing.until}" if closing.until else ""
        yield f"Closed in part or whole: {closing.why}{until}."
    yield f"State, {register.cells[cell].state}: {register.cells[cell].why.split(': ')[-1]}."


def told_picks(register: Register, cell: str) -> Iterator[str]:
    """Tell each pick of the cell, and whether the last one may lack something."""
    for pick in register.crop.cells[cell].picks:
        yield _pick(pick)
        yield from _words(pick, register)
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
    if pick.swept_share is not None:
        share += f", {100 * pick.swept_share:.1f} % of its open ground swept by the tracks kept"
    ends = "it only touched the cell and no rest starts" if pick.touch else (
        f"its rest ends {pick.rest_ends}"
    )
    return f"Pick {made.first} to {made.last}: {said}{share}; {ends}{named(made.records)}."


def _words(pick: JudgedPick, register: Register) -> Iterator[str]:
    """Tell for which bags of a pick the picker's word counted beside the track, by its cell."""
    mine = set(pick.made.records)
    moved: dict[str, list[Placed]] = defaultdict(list)
    for one in register.known.placed:
        if one.word is not None and one.bag.name in mine:
            moved[one.word.cell].append(one)
    for cell, bags in sorted(moved.items()):
        words = [one.word for one in bags if one.word]
        count = sum(one.bag.bags for one in bags)
        yield (
            f"For {count:g} {'bag' if count == 1.0 else 'bags'} of that pick the track leaves the "
            f"cell open, and the picker's word counted too, {cell} as the outing began: of "
            f"{_span([f'{word.words}' for word in words])} such words proved on days before "
            f"{_span([f'{word.right:.1f}' for word in words])} were right, which with its own "
            f"day's bags is a chance of {_span([f'{word.chance:.2f}' for word in words])}"
            f"{named([one.bag.name for one in bags])}.")


def _span(figures: list[str]) -> str:
    """Write the least and the most of some figures, one alone where they are the same."""
    least, most = min(figures, key=float), max(figures, key=float)
    return least if least == most else f"{least} to {most}"
