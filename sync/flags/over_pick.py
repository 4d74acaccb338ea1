"""over_pick: a ready cell from which more was taken than might be taken.

Rule 1: what might be taken is that of the start of the pick, by the rules and the ground of then.
Rule 2: the season of the day asked about is judged and the one before; a pick that is over is
judged like an open one.
"""

import math
from collections.abc import Iterator
from datetime import date, timedelta

from sync.block import season_of
from sync.crop.befores import Befores
from sync.crop.chain import CellCrop
from sync.crop.classes import JudgedPick
from sync.crop.today import CellToday, cell_today
from sync.flags.behind import bags_behind
from sync.flags.chances import chance_text
from sync.flags.flag import Flag
from sync.picks.early import chance_over, how_sure
from sync.picks.made import Kg, PickMade
from sync.register.build import Register
from sync.settings import Tunables
from sync.survey.ranges import lognormal_range, t_quantile

#: Every judged pick costs a walk of the block to its first day: so many seasons back, no more.
_SEASONS = 2


def over_pick(register: Register) -> Iterator[Flag]:
    """Flag picks that likely took more than might be taken.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a cell and season, from "likely" on.
    """
    start = register.block.season_start
    seasons = season_of(register.on, start) - _SEASONS
    then = _Then(register)
    for cell, crop in register.crop.cells.items():
        found: dict[int, Flag] = {}
        for pick in crop.picks:
            season = season_of(pick.made.first, start)
            if season > seasons and (flag := _judged(register, cell, season, pick, then)):
                found[season] = max(flag, found.get(season, flag), key=_chance)
        yield from found.values()


def _judged(
    register: Register, cell: str, season: int, pick: JudgedPick, then: "_Then"
) -> Flag | None:
    taken = pick.made.whole
    if taken is None or not _is_pick(pick.made, taken, register.tunables):
        return None
    may_take_kg = then.may_take_kg(cell, pick)
    if may_take_kg is None:
        return None
    sd_kg = math.sqrt(taken.variance)
    chance = chance_over(taken.kg, sd_kg, may_take_kg)
    level = how_sure(chance, register.tunables)
    if level is None or chance < register.tunables.flag_likely:
        return None
    made = pick.made
    span = made.first.isoformat()
    if made.last != made.first:
        span += f" to {made.last.isoformat()}"
    give_or_take = f" ± {sd_kg:,.0f}" if sd_kg >= 0.5 else ""  # weighed whole
    why = (
        f"{taken.kg:,.0f}{give_or_take} kg were picked from {cell} on {span}, where "
        f"{may_take_kg:,.0f} kg might be taken; chance that it was more {chance_text(chance)}; "
        "its lots weighed dry, or the pickers' word of where the bags came from, would settle it"
    )
    return Flag(
        "over_pick", cell, season, cell, why, chance, level,
        bags_behind(register, cell, made.records, first=made.first, last=made.last),
        {
            "picked_from": made.first, "bags": taken.bags, "kg": _range(taken), "sd_kg": sd_kg,
            "may_take_kg": may_take_kg, "over_kg": taken.kg - may_take_kg,
        },
    )


def _is_pick(made: PickMade, taken: Kg, tunables: Tunables) -> bool:
    """Say whether there is a pick to judge: fewer bags near a border would cry wolf."""
    return taken.kg > 0.0 and (made.share_pct is not None or taken.bags >= tunables.early_bags)


def _range(taken: Kg) -> dict[str, float]:
    low = high = taken.kg
    if taken.variance > 0.0:
        cv = math.sqrt(taken.variance) / taken.kg
        low, high = lognormal_range(taken.kg, cv, t=t_quantile(taken.df))
    return {"value": taken.kg, "low": min(low, taken.kg), "high": max(high, taken.kg)}


def _chance(flag: Flag) -> float:
    return flag.probability or 0.0


class _Then:
    """Cells as they were at the start of picks."""

    def __init__(self, register: Register) -> None:
        self.register = register
        self._befores = Befores(register.known)

    def may_take_kg(self, cell: str, pick: JudgedPick) -> float | None:
        """Give what might be taken at the start of a pick; None where the cell was not ready."""
        today = self.register.cells[cell]
        if today.picks.open_pick != pick or today.allowance is None:
            then = self._cell(cell, pick)
            return None if then is None or then.allowance is None else then.may_take_kg
        return today.may_take_kg

    def _cell(self, cell: str, pick: JudgedPick) -> CellToday | None:
        """Give the cell as the register told it while the pick was open."""
        register, made = self.register, pick.made
        readings = register.crop.cells[cell].readings
        measured = any(made.first <= one.reading.day <= made.last for one in readings)
        day = made.last if measured else made.first
        ground = register.grounds.on(day)
        then = self._before(cell, made.first)
        if measured:  # a survey within a pick counts as of its start
            then = self._befores.cell(cell, ground, until=day)
        if then is None or cell not in ground.cells:
            return None
        return cell_today(
            then, ground.cells[cell], (), register.block, register.tunables,
            lambda first: self._before(cell, first), on=day, later=lambda _: None,
        )

    def _before(self, cell: str, day: date) -> CellCrop | None:
        """Give a cell before a day, by the rules and the ground of that day."""
        return self._befores.cell(
            cell, self.register.grounds.on(day), until=day - timedelta(days=1), rules_of=day)
