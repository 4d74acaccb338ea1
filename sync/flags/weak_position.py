"""weak_position: bags whose place is known too badly to say which cell they came from.

Rule 1: a cell typed in at the shed, or confirmed for the outing, settles a weak place.
Rule 2: bags with no place at all are told with their phone; what paper says without a cell was
never a place.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from sync.block import season_of
from sync.flags.flag import Flag
from sync.geometry.placed import Placed
from sync.intake.clock import is_phone
from sync.picks.day_bags import DayBags
from sync.register.build import Register
from sync.settings import R68_PER_SIGMA, Tunables


@dataclasses.dataclass(frozen=True)
class _Weak:
    """A press, the best of its chances, and the 68 % radius of its fix, None without one. [m]."""

    placed: Placed
    best: float
    r68_m: float | None


def weak_position(register: Register) -> Iterator[Flag]:
    """Flag cells, or phones, with bags that no fix, track or word puts into one cell.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a cell and season, about the cell that its bags most likely came from; about the phone
        where there is none.
    """
    weak: dict[tuple[str, bool, int], list[_Weak]] = defaultdict(list)
    for of_day in register.known.tallies.by_day(until=register.on):
        for found in _weak_of(register, of_day):
            cells = found.placed.flagged
            about = _likeliest(cells) or found.placed.bag.device
            season = season_of(of_day.day, register.block.season_start)
            weak[about, bool(cells), season].append(found)
    for (about, is_cell, season), bags in sorted(weak.items(), key=lambda item: item[0]):
        yield _flag(about, about if is_cell else None, season, bags)


def _weak_of(register: Register, bags: DayBags) -> tuple[_Weak, ...]:
    """Give the weak ones of a day; of the very same bags they are looked for once."""
    found: tuple[_Weak, ...] = register.known.kept.weak.give(
        bags.day, (bags,), lambda: tuple(
            weak for one in bags.those(_is_in_doubt)
            if (weak := _weak(one, register.tunables)) is not None))
    return found


def _is_in_doubt(placed: Placed) -> bool:
    """Leave out what its track puts into one cell whatever its error; most bags are of that."""
    return placed.how != "track" or max(placed.flagged.values(), default=0.0) < 1.0


def _weak(placed: Placed, tunables: Tunables) -> _Weak | None:
    if placed.how in {"typed", "confirmed"}:
        return None
    if placed.how == "nowhere":
        return _Weak(placed, 0.0, None) if is_phone(placed.bag.device) else None
    if not placed.flagged or placed.outside >= tunables.weak_chance:
        return None  # `outside_block` tells it
    best = max(placed.flagged.values())
    r68_m = None if placed.sigma_m is None else placed.sigma_m * R68_PER_SIGMA
    far = placed.how == "fix" and r68_m is not None and r68_m > tunables.weak_fix_m
    return _Weak(placed, best, r68_m) if far or best < tunables.weak_chance else None


def _word_given(weak: Sequence[_Weak]) -> str:
    """Tell for how many bags a cell was confirmed, lest it be asked for as if it was not."""
    given = sum(one.placed.bag.bags for one in weak
                if one.placed.bag.own and one.placed.bag.confirmed is not None)
    return (f"; for {given:g} of them a cell was confirmed for the outing, which by itself does "
            "not place them") if given else ""


def _likeliest(chances: Mapping[str, float]) -> str | None:
    """Give the likeliest cell, the first by name of equals; None where there is none."""
    return max(sorted(chances), key=lambda cell: chances[cell], default=None)


def _flag(about: str, cell: str | None, season: int, weak: Sequence[_Weak]) -> Flag:
    by_day = sorted((one.placed.bag.day, one.placed.bag.name) for one in weak)
    bags = sum(one.placed.bag.bags for one in weak)
    best = min(one.best for one in weak)
    radii = [one.r68_m for one in weak if one.r68_m is not None]
    r68_m = max(radii, default=None)
    told = f"{bags:g} {'bag' if bags == 1.0 else 'bags'} from {by_day[0][0].isoformat()} on "
    if cell is None:
        told += f"tallied on {about} have no place: no fix, no track and no cell typed in"
    else:
        told += (
            f"came most likely from {cell}, but nothing puts them there for certain; the weakest "
            f"has a best chance of {best:.2f}"
        )
    if r68_m is not None:
        told += f" (68 % radius up to {r68_m:.0f} m)"
    why = (f"{told}{_word_given(weak)}; the cell typed in at the shed, by the pickers' word, "
           "would settle it")
    return Flag(
        "weak_position", about, season, cell, why, None, "sure",
        tuple(name for _, name in by_day),
        {"bags": bags, "best_chance": None if cell is None else best, "r68_m": r68_m},
    )
