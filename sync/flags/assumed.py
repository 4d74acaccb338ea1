"""density_assumed and growth_assumed: figures that rest more on a belief than on measurement."""

import math
from collections.abc import Iterator

from sync.block import season_of
from sync.flags.flag import Flag
from sync.register.build import Register
from sync.survey.density import of_class


def density_assumed(register: Register) -> Iterator[Flag]:
    """Flag ground classes whose density is not learned yet.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a class: while the block has too few clips, or the class's own figure is too loose.
    """
    densities, tunables = register.crop.densities, register.tunables
    clips = sum(densities.clips)
    season = season_of(register.on, register.block.season_start)
    for name in sorted(densities.classes):
        known = of_class(densities, name)
        sd = math.sqrt(known.variance)
        loose = sd / known.mean_kg_m3 > tunables.density_cv_enough
        if clips >= tunables.clips_enough and not loose:
            continue
        names = tuple(n for c in register.crop.clips if c.clip.ground_class == name
                      for n in c.names)
        why = (
            f"the density of {name} ({known.mean_kg_m3:.1f} ± {sd:.1f} kg/m³) rests on "
            f"{_clips(known.clips)} of its own and {clips} of the block, and on an assumed "
            f"{tunables.density_prior_kg_m3:g} kg/m³; a few clips there would settle it"
        )
        yield Flag(
            "density_assumed", name, season, None, why, None, "sure",
            tuple(dict.fromkeys(names)),
            {"value": known.mean_kg_m3, "sd": sd, "clips": known.clips},
        )


def growth_assumed(register: Register) -> Iterator[Flag]:
    """Flag a growth rate that re-measured cells have not earned yet.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One about the block, until SD(r) is under its set part of r.
    """
    learned = register.crop.learned
    rate, sd = learned.growth.rate, math.sqrt(learned.growth.variance)
    if sd < register.tunables.growth_cv_enough * rate:
        return
    cells = len(learned.regrown)
    alone = "" if learned.rate is None or learned.variance is None else (
        f" (they alone: {learned.rate:.2f} ± {math.sqrt(learned.variance):.2f})"
    )
    why = (
        f"growth of {rate:.2f} ± {sd:.2f} a year rests on the owner's years of recovery "
        f"({learned.prior.rate:.2f} ± {math.sqrt(learned.prior.variance):.2f}) and on {cells} "
        f"re-measured {'cell' if cells == 1 else 'cells'}{alone}; more cells measured some years "
        "after their pick would settle it"
    )
    yield Flag(
        "growth_assumed", "block", season_of(register.on, register.block.season_start), None, why,
        None, "sure",
        tuple(dict.fromkeys(name for cell in learned.regrown for name in cell.records)),
        {"value": rate, "sd": sd},
    )


def _clips(number: int) -> str:
    return f"{number} clip" if number == 1 else f"{number} clips"
