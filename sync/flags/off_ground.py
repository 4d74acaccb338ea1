"""closed_ground, sprayed_hold and outside_block: bags from where nobody may pick."""

import dataclasses
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from datetime import date

from sync.block import season_of
from sync.flags.chances import Found, There, chance_text, found_there
from sync.flags.flag import Flag
from sync.geometry.placed import Placed
from sync.register.build import Register


def closed_ground(register: Register) -> Iterator[Flag]:
    """Flag bags from ground that the owner had closed that day.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a cell and season.
    """
    for cell, season, found in _found(
            register, "closed_ground", _is_closed, lambda one: one.closed, _closed_in):
        why = (
            f"{found.bags:.1f} bags ({found.kg:.0f} kg) are expected to have come from closed "
            f"ground in {cell} from {found.first_day.isoformat()} on; chance of at least "
            f"{register.tunables.early_bags:g} bags {chance_text(found.probability)}; "
            "the pickers' word or a walk over the ground would settle it"
        )
        yield _flag("closed_ground", cell, season, cell, why, found)


def sprayed_hold(register: Register) -> Iterator[Flag]:
    """Flag bags from ground that a spraying kept closed that day.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a cell and season.
    """
    for cell, season, found in _found(
            register, "sprayed_hold", _is_held, lambda one: one.held, _held_in):
        until, sprayed = _holds_of(register, cell, found)
        why = (
            f"{found.bags:.1f} bags ({found.kg:.0f} kg) are expected to have come from ground in "
            f"{cell} that was sprayed and held until {until}, from "
            f"{found.first_day.isoformat()} on; chance of at least "
            f"{register.tunables.early_bags:g} bags {chance_text(found.probability)}; keep these "
            "bags apart; the pickers' word, or the spraying's record, would settle it"
        )
        flag = _flag("sprayed_hold", cell, season, cell, why, found)
        yield dataclasses.replace(flag, records=(*flag.records, *sprayed),
                                  figures={**flag.figures, "until": until})


def _holds_of(register: Register, cell: str, found: Found) -> tuple[date, tuple[str, ...]]:
    """Give the last day of the holds that some bags fell under, and the sprayings' records."""
    days = {one.bag.day for one in register.known.placed if one.bag.name in set(found.records)}
    spans = {(closing.since, closing.until) for day in days
             for closing in register.grounds.on(day).closures_of(cell) if closing.hold}
    here = [one for one in register.events.sprayings if (one.since, one.until) in spans
            and (not one.cells or cell in one.cells)]
    return (max((one.until for one in here), default=max(days)),
            tuple(sorted(one.name for one in here)))


def outside_block(register: Register) -> Iterator[Flag]:
    """Flag phones whose bags came from outside the block.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a phone and season.
    """
    for device, season, found in _found(
            register, "outside_block", _is_outside, lambda one: (one.bag.device,),
            lambda _: _OUTSIDE):
        why = (
            f"{found.bags:.1f} bags ({found.kg:.0f} kg) tallied on {device} are expected to "
            f"have come from outside the block from {found.first_day.isoformat()} on; chance "
            f"of at least {register.tunables.early_bags:g} bags "
            f"{chance_text(found.probability)}; "
            "the outline, or the pickers' word, would settle it"
        )
        yield _flag("outside_block", device, season, None, why, found)


def _found(
    register: Register,
    rule: str,
    is_one: Callable[[Placed], bool],
    abouts: Callable[[Placed], Iterable[str]],
    there: Callable[[str], There],
) -> Iterator[tuple[str, int, Found]]:
    """Judge the bags until the day by what they are about, a cell or a phone, and season."""
    seen: dict[tuple[str, int], list[Placed]] = defaultdict(list)
    for bags in register.known.tallies.by_day(until=register.on):
        season = season_of(bags.day, register.block.season_start)
        for one in bags.those(is_one):
            for about in abouts(one):
                seen[about, season].append(one)
    for (about, season), presses in sorted(seen.items()):
        found = found_there(register, (rule, about, season), presses, there(about))
        if found is not None:
            yield about, season, found


def _is_closed(one: Placed) -> bool:
    return bool(one.closed)


def _is_held(one: Placed) -> bool:
    return bool(one.held)


def _is_outside(one: Placed) -> bool:
    return one.outside > 0.0


def _closed_in(cell: str) -> There:
    return There(lambda one: one.closed.get(cell, 0.0), lambda one: one.part_closed(cell))


def _held_in(cell: str) -> There:
    return There(lambda one: one.held.get(cell, 0.0), lambda one: one.part_held(cell))


_OUTSIDE = There(lambda one: one.outside, lambda one: one.part_outside())


def _flag(
    rule: str, about: str, season: int, cell: str | None, why: str, found: Found
) -> Flag:
    return Flag(
        rule, about, season, cell, why, found.probability, found.how_sure, found.records,
        {"picked_from": found.first_day, "bags": found.bags, "kg": found.kg},
    )
