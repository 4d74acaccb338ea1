"""Pegs and marks of a ground sheet, in metres from the grid's origin.

Rule 1: of several marks of one thing by one name in one season, the last holds.
Rule 2: a pile is shown as long as bags wait on it.
"""

from collections.abc import Iterator
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
    return [{"name": name, "at": place_m(register, *place)}
            for name, place in pegs_deg(register).items()]


def pegs_deg(register: Register) -> dict[str, tuple[float, float]]:
    """Give the pegs as `sheet_pegs` does, by name: latitude and longitude [deg]."""
    cells = register.crop.ground.cells
    found = {
        plot.name: (plot.lat, plot.lon)
        for plot in register.block.plots if plot.pegged and plot.cell in cells
    }
    return found | {
        one.record["name"]: _at(one) for one in _marks(register) if one.record["what"] == "peg"
    }


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
    return [
        {"what": one.record["what"], "name": one.record["name"],
         "at": place_m(register, *_at(one)), "bags": bags}
        for one, bags in marks_standing(register)
    ]


def marks_standing(register: Register) -> Iterator[tuple[Counted, float | None]]:
    """Give the marks that hold on the register's day, but for pegs, and a pile's waiting bags.

    Parameters
    ----------
    register : Register
        Of that day.

    Yields
    ------
    Counted
        The record of the mark; it has a place.
    float or None
        Bags that wait, of a pile; piles without any are left out.
    """
    waiting = waiting_bags(register)
    last: dict[tuple[str, str, int], Counted] = {}
    for one in _marks(register):
        season = season_of(one.day, register.block.season_start)
        last[one.record["what"], one.record["name"], season] = one
    for (what, name, season), one in last.items():
        bags = waiting.get((name, season)) if what == "pile" else None
        if what != "peg" and (what != "pile" or bags):
            yield one, bags


def _marks(register: Register) -> list[Counted]:
    return [
        one for one in register.events.marks if one.where is not None and one.day <= register.on
    ]


def _at(one: Counted) -> tuple[float, float]:
    if one.where is None:
        raise ValueError(f"mark {one.name}: has no place")
    return one.where.lat, one.where.lon
