"""The plots of the made-up block: drawn for each winter, numbered on and on.

Rule 1: a plot's number is never used again.
"""

import dataclasses
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from typing import Any

from fieldapp.capture.walk import Why
from sync.demo.world import World

#: The pool that is on no map: one of the four plots of I07.
POOL_CELL, POOL_PLOT = "I07", 118


@dataclasses.dataclass(frozen=True)
class Winter:
    """One winter's survey.

    Attributes
    ----------
    cells : tuple of str
        In the order in which plots are numbered.
    clips : mapping of str to int
        Plugs to cut in each ground class.
    skips : tuple of str
        Reasons, one for a plot each.
    again : int
        Plots to read again with dots counted.
    """

    first: date
    cells: tuple[str, ...]
    clips: Mapping[str, int]
    skips: tuple[Why, ...]
    again: int = 0


def draw_plots(
    world: World, winter: Winter, number: int, first_plot: int
) -> tuple[dict[str, Any], int]:
    """Draw the plots of a winter.

    Parameters
    ----------
    world : World
        The block.
    winter : Winter
        Whose cells.
    number : int
        Of the draw.
    first_plot : int
        Next free plot number; ids are never reused.

    Returns
    -------
    draw : dict
        As plots.json holds it.
    next_plot : int
        Next free number.
    """
    plots: list[dict[str, Any]] = []
    number_now = first_plot
    for cell, count in _counts(world, winter.cells, first_plot):
        for _ in range(count):
            plots.append(_plot(world, cell, number_now, spare=False))
            number_now += 1
    for cell in winter.cells:
        plots.append(_plot(world, cell, number_now, spare=True))
        number_now += 1
    draw = {
        "draw": number, "made_on": (winter.first - timedelta(days=5)).isoformat(),
        "seed": 30 + number, "how": "drawn", "when": "survey", "plots": plots,
    }
    return draw, number_now


def _counts(world: World, cells: Iterable[str], first: int) -> Iterator[tuple[str, int]]:
    """Give each cell two to four plots; the pool's cell is put where its last has its number."""
    at = first
    pool_from = POOL_PLOT - 3
    rest = [cell for cell in cells if cell != POOL_CELL]
    wanted = POOL_CELL in cells
    for cell in rest:
        if wanted and at == pool_from:
            yield POOL_CELL, 4
            at, wanted = at + 4, False
        count = int(world.rng.integers(2, 5))
        if wanted and at < pool_from < at + count:
            count = pool_from - at
        yield cell, count
        at += count
    if wanted:
        yield POOL_CELL, 4


def _plot(world: World, cell: str, number: int, *, spare: bool) -> dict[str, Any]:
    e, n = world.place_in(cell, 0.0)
    lat, lon = world.projection.to_deg(e, n)
    return {
        "plot": f"{number:03d}", "cell": cell, "lat": round(float(lat), 7),
        "lon": round(float(lon), 7), "spare": spare, "again": False, "pegged": False,
        "chance": 0.5,
    }
