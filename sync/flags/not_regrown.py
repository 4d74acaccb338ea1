"""not_regrown: cells that have not come back to their mark though their rest is over.

Rule 1: the latest survey after the rest's end counts; without one, the forecast of that day.
"""

import math
from collections.abc import Iterator

from sync.block import season_of
from sync.crop.again import came_back
from sync.crop.back import Back
from sync.flags.chances import chance_text
from sync.flags.flag import Flag
from sync.picks.early import how_sure
from sync.register.build import Register


def not_regrown(register: Register) -> Iterator[Flag]:
    """Flag cells that stood under their mark, with the chances asked for, after a rest.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a cell and season.
    """
    for cell in register.crop.cells:
        found: dict[int, Flag] = {}
        for back in came_back(register.crop, cell, register.tunables):
            if back.chance_short >= register.tunables.back_chance:
                flag = _flag(register, back)
                found[flag.season] = flag
        yield from found.values()


def _flag(register: Register, back: Back) -> Flag:
    stand, pick = back.stand, back.pick
    ends = pick.rest_ends or back.on
    by = "by its quadrats and the forecast" if back.measured else "by forecast alone"
    why = (
        f"{back.cell} was picked until {pick.made.last.isoformat()} and its rest ended on "
        f"{ends.isoformat()}; on {back.on.isoformat()} {stand.crop_kg:,.0f} ± "
        f"{math.sqrt(stand.crop_var):,.0f} kg stood there {by}, of {stand.mark_kg:,.0f} kg when "
        f"rested; chance that it is short {chance_text(back.chance_short)}; "
        f"{'more quadrats' if back.measured else 'quadrats'} there, and a longer rest, would "
        "settle it"
    )
    return Flag(
        "not_regrown", back.cell, season_of(back.on, register.block.season_start), back.cell, why,
        back.chance_short, how_sure(back.chance_short, register.tunables) or "perhaps",
        tuple(dict.fromkeys(back.records)),
        {"crop_kg": stand.crop_kg, "rested_crop_kg": stand.mark_kg, "rest_ends": ends,
         "on": back.on, "measured": back.measured},
    )
