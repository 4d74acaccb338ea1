"""Three worlds of the same draws: what a picker takes the border to be, and what is confirmed.

Rule 1: the worlds of a day share its lanes, its pace, its piles and the errors of its receiver.
Rule 2: a word is what the picker says on the phone before a bag is filled; nothing later is in it.
"""

import dataclasses
from collections.abc import Iterator
from typing import Literal

import numpy as np

from lanes.seen import FIX_S, ORIGIN, Day, errors_of, seen
from lanes.work import Fence, Floats, Work, Worked, no_fence, turned_back, worked
from sync.geometry.grid import cell_of
from sync.geometry.ground import Ground

World = Literal["pegs", "phone", "none"]
#: Each world, and what the picker of it does.
WORLDS: tuple[tuple[World, str], ...] = (
    ("pegs", "lanes in the day's cell, whose border is seen and kept"),
    ("phone", "lanes in the day's cell, whose border is where the erring phone shows it"),
    ("none", "lanes that know nothing of cells; the day's cell is where the phone saw the start"),
)
#: A walk to a pile and back, and some seconds more than a day of work can last. [s]
_WALK_S = 70.0
_LONGEST = 1.3


@dataclasses.dataclass(frozen=True)
class Told:
    """A day as it was, and as it was noted."""

    true: Worked
    day: Day


def longest_day_s(work: Work, bags: int) -> float:
    """Give the longest that some bags can take, walks to piles included. [s]."""
    return bags * (_LONGEST * work.bag_s + _WALK_S)


def days_of(
    world: World, work: Work, ground: Ground, r68_m: float, days: int, seed: tuple[int, ...]
) -> Iterator[Told]:
    """Let one picker work for some days; the draws of each depend on `seed` alone."""
    side_m = ground.grid.cell_m
    for number in range(days):
        rng = np.random.default_rng([*seed, number])
        start = rng.uniform(200.0, 400.0, 2)
        errors = errors_of(rng, longest_day_s(work, work.bags), r68_m)
        corner = np.floor(start / side_m) * side_m
        true = worked(rng, work, start, fence=_fence(world, corner, side_m, errors))
        at_start = start if world != "none" else start + errors[0]
        confirmed = cell_of(ground.grid, *(ORIGIN + at_start).tolist())
        yield Told(true, seen(ground, true, errors, r68_m, number=number, confirmed=confirmed))


def _fence(world: World, corner: Floats, side_m: float, errors: Floats) -> Fence:
    """Turn lanes back at the cell's border; by the phone, where it shows it as a bag is begun."""
    if world == "none":
        return no_fence
    if world == "pegs":
        return lambda places, _: turned_back(places, corner, side_m)
    return lambda places, second: turned_back(places, corner - errors[second // FIX_S], side_m)
