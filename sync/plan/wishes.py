"""What the owner wishes of a plan of seasons.

Rule 1: a wish that makes no sense on this block is refused with all others that do not, before
anything is worked out.
"""

import dataclasses
from collections.abc import Collection

from sync.errors import SettingsError

#: A season of fewer picks by hand than this is not planned; more than this nobody can foresee.
MOST_SEASONS = 30


@dataclasses.dataclass(frozen=True)
class Wishes:
    """What is asked of a plan.

    Attributes
    ----------
    seasons : int
        How many, from the present one on.
    even_pct : float or None
        Every season within so much of the mean of all. [%]
    at_least_t : float or None
        Least yield of every season. [t]
    no_neighbours : bool
        No two cells that share a side in one season.
    fixed : tuple of (str, int)
        Cell and season in which it must be picked.
    never : tuple of str
        Cells that must not be planned.
    with_unsurveyed : bool
        Count cells that nobody measured, from the second season on, with their class's values.
    least_kg : float
        A smaller pick is not planned: it is not worth the way. [kg]
    """

    seasons: int = 5
    even_pct: float | None = None
    at_least_t: float | None = None
    no_neighbours: bool = False
    fixed: tuple[tuple[str, int], ...] = ()
    never: tuple[str, ...] = ()
    with_unsurveyed: bool = False
    least_kg: float = 100.0


def refuse_odd(wishes: Wishes, cells: Collection[str], seasons: Collection[int]) -> None:
    """Refuse wishes that make no sense.

    Parameters
    ----------
    wishes : Wishes
        As asked.
    cells : collection of str
        The block's.
    seasons : collection of int
        Those of the plan, in order; empty before they are known.

    Raises
    ------
    SettingsError
        With every mistake.
    """
    wrong = []
    if not 1 <= wishes.seasons <= MOST_SEASONS:
        wrong.append(f"years={wishes.seasons}: from 1 to {MOST_SEASONS}")
    if wishes.even_pct is not None and not 0.0 <= wishes.even_pct < 100.0:
        wrong.append(f"even={wishes.even_pct:g}: from 0 to under 100 %")
    if wishes.at_least_t is not None and not 0.0 <= wishes.at_least_t < 1e6:
        wrong.append(f"at-least={wishes.at_least_t:g}: t a season, 0 or more")
    if not 0.0 <= wishes.least_kg < 1e6:
        wrong.append(f"least-kg={wishes.least_kg:g}: kg, 0 or more")
    wrong += [f"fix={cell}={season}: no such cell on this block"
              for cell, season in wishes.fixed if cell not in cells]
    wrong += [f"never={cell}: no such cell on this block"
              for cell in wishes.never if cell not in cells]
    wrong += [f"fix={cell}={season}: {cell} is also never to be picked; say one of the two"
              for cell, season in wishes.fixed if cell in wishes.never]
    if seasons:
        first, last = min(seasons), max(seasons)
        wrong += [f"fix={cell}={season}: the plan's seasons are {first} to {last}; ask for more "
                  "years or another season"
                  for cell, season in wishes.fixed if not first <= season <= last]
    if wrong:
        raise SettingsError(wrong)
