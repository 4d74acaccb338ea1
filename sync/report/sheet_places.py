"""Pegs and marks of a ground sheet, in metres from the grid's origin.

Rule 1: of several marks of one thing by one name in one season, the last holds.
Rule 2: a pile is shown as long as bags wait on it.
"""

from typing import Any

from sync.block import season_of
from sync.intake.merge import Counted
from sync.register.build import Register
from sync.report.piles import waiting_bags


def place_m(register: Register, lat: float, lon: float) -> list[float]:
    """Give a place in degrees as metres east and north of the grid's origin, to the cm."""
    e, n = register.grounds.projection.to_m(lat, lon)
    grid = register.block.grid
    return [round(float(e) - grid.origin_e, 2), round(float(n) - grid.origin_n, 2)]


def sheet_pegs(register: Register) -> list[dict[str, Any]]:
    """Give the pegs: those marked in the field, and those of pegged plots.

    Parameters
    ----------
    register : Register
        Of the sheet's day.

    Returns
    -------
    list of dict
        `name` and `at` [m]; where a peg of a plot was marked, its marked place.
    """
    cells = register.crop.ground.cells
    found = {
        plot.name: place_m(register, plot.lat, plot.lon)
        for plot in register.block.plots if plot.pegged and plot.cell in cells
    }
    found |= {
        one.record["name"]: _at(register, one) for one in _marks(register)
        if one.record["what"] == "peg"
    }
    return [{"name": name, "at": at} for name, at in found.items()]


def sheet_marks(register: Register) -> list[dict[str, Any]]:
    """Give piles with bags on them, hazards, drains, weeds and the like.

    Parameters
    ----------
    register : Register
        Of the sheet's day.

    Returns
    -------
    list of dict
        `what`, `name`, `at` [m] and, of a pile, the `bags` that wait.
    """
    waiting = waiting_bags(register)
    found: dict[tuple[str, str, int], dict[str, Any]] = {}
    for one in _marks(register):
        what, name = one.record["what"], one.record["name"]
        season = season_of(one.day, register.block.season_start)
        bags = waiting.get((name, season)) if what == "pile" else None
        if what != "peg" and (what != "pile" or bags):
            found[what, name, season] = {
                "what": what, "name": name, "at": _at(register, one), "bags": bags,
            }
    return list(found.values())


def _marks(register: Register) -> list[Counted]:
    return [
        one for one in register.events.marks if one.where is not None and one.day <= register.on
    ]


def _at(register: Register, one: Counted) -> list[float]:
    if one.where is None:
        raise ValueError(f"mark {one.name}: has no place")
    return place_m(register, one.where.lat, one.where.lon)
