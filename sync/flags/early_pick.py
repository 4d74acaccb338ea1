"""early_pick: a cell picked before its rest period ended."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date

from sync.block import Block, season_of
from sync.crop.classes import JudgedPick
from sync.flags.chances import Found, There, chance_text, found_there
from sync.flags.flag import Flag
from sync.picks.day_bags import DayBags
from sync.picks.joining import Pick, would_join
from sync.picks.rests import days_early
from sync.register.build import Register
from sync.settings import Tunables


def early_pick(register: Register) -> Iterator[Flag]:
    """Flag cells picked before their rest ended.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a cell and season.
    """
    by_cell: dict[str, list[DayBags]] = defaultdict(list)
    for bags in register.known.tallies.by_day(until=register.on):
        for cell in bags.flagged:
            by_cell[cell].append(bags)
    for cell, crop in register.crop.cells.items():
        real = [pick for pick in crop.picks if not pick.touch]
        if not real:
            continue
        early: dict[int, dict[date, JudgedPick]] = defaultdict(dict)
        for day in {bags.day for bags in by_cell[cell]}:
            rested = _rest_broken(real, day, register.block, register.tunables)
            if rested is not None:
                early[season_of(day, register.block.season_start)][day] = rested
        for season, days in sorted(early.items()):
            presses = [one for bags in by_cell[cell] if bags.day in days
                       for one in bags.flagged[cell]]
            found = found_there(register, ("early_pick", cell, season), presses, _in_cell(cell))
            if found is not None:
                yield _flag(register, cell, season, found, days[found.first_day])
    register.known.swept.memo.keep()  # the ground that was picked twice


def _in_cell(cell: str) -> There:
    return There(lambda one: one.flagged.get(cell, 0.0), lambda one: one.part_in(cell))


def _rest_broken(
    picks: Sequence[JudgedPick], day: date, block: Block, tunables: Tunables
) -> JudgedPick | None:
    """Give the pick whose rest a day falls into; a day that joins it falls into none."""
    before = [pick for pick in picks if pick.made.last < day]
    if not before:
        return None
    last = before[-1]
    span = Pick(last.made.first, last.made.last, last.made.days)
    joins = would_join(
        span, day, season_start=block.season_start, same_pick_days=tunables.same_pick_days,
        pick_longest_days=tunables.pick_longest_days,
    )
    resting = last.rest_ends is not None and day < last.rest_ends
    return last if resting and not joins else None


def _flag(
    register: Register, cell: str, season: int, found: Found, rested: JudgedPick
) -> Flag:
    ends = rested.rest_ends or found.first_day
    early_by = days_early(ends, found.first_day)
    ruled_m2 = _ruled_m2(register, f"early_pick:{cell}:{season}")
    area = _area_m2(register, cell, found, rested, ruled_m2)
    why = (
        f"{cell} rests until {ends.isoformat()} and {found.bags:.1f} bags ({found.kg:.0f} kg) are "
        f"expected to have come from it from {found.first_day.isoformat()} on, {early_by:,} days "
        f"early; chance of at least {register.tunables.early_bags:g} bags "
        f"{chance_text(found.probability)}; "
        "the pickers' word or a walk over the ground would settle it"
    )
    return Flag(
        "early_pick", cell, season, cell, why, found.probability, found.how_sure, found.records,
        {
            "picked_from": found.first_day, "rest_ends": ends, "days_early": early_by,
            "bags": found.bags, "kg": found.kg, "area_m2": area,
        },
    )


def _area_m2(
    register: Register, cell: str, found: Found, rested: JudgedPick, ruled_m2: float | None
) -> float | None:
    """Give the ground picked twice. [m²].

    That is what both swaths share, where tracks tell both; once their points are gone, what was
    ruled on; else the product of the two shares by kg and the open ground.
    """
    known, swept, made = register.known, register.known.swept, rested.made
    spans = (made.first, made.last), (found.first_day, found.last_day)
    twice_m2 = known.kept.twice.give(
        (cell, spans), tuple(swept.between(cell, span) for span in spans),
        lambda: swept.twice_m2(register.grounds.projection, cell, *spans))
    if twice_m2 is not None:
        return twice_m2
    if ruled_m2 is not None and any(swept.is_gone(cell, *span) for span in spans):
        return ruled_m2
    at_mark = rested.pickable_at_mark_kg
    if not at_mark or made.whole is None:
        return None
    shares = [min(1.0, kg / at_mark) for kg in (made.whole.kg, found.kg)]
    return shares[0] * shares[1] * register.crop.cells[cell].open_m2


def _ruled_m2(register: Register, name: str) -> float | None:
    """Give the area that the last ruling on a flag saw; None without one."""
    said = [one for one in register.events.rulings if one.record["flag"] == name]
    if not said:
        return None
    last = max(said, key=lambda one: (one.at, one.device, one.seq))
    area = (last.record.get("figures") or {}).get("area_m2")
    return float(area) if isinstance(area, int | float) else None
