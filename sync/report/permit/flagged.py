"""Which flags a return tells, and what they say of rests that were not kept.

Rule 1: the flags of the permit itself, and those on its cells by bags of the permit year.
Rule 2: an early pick is told with its ruling and counted whatever that says: a ruling moves no
figure.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from sync.block import season_of
from sync.flags.flag import Flag
from sync.register.build import Register
from sync.register.permits import PermitToday
from sync.report.flag_rows import flag_row
from sync.report.rounding import HA, KG, rounded

_OF_PERMIT = ("permit_cap", "late_notice")
_OF_CELLS = ("early_pick", "over_pick", "closed_ground", "sprayed_hold")


def flags_under(
    register: Register, permit: PermitToday, flags: Sequence[Flag]
) -> list[tuple[Flag, Mapping[str, Any]]]:
    """Give the flags that a return tells.

    Parameters
    ----------
    register : Register
        Of the return's day.
    permit : PermitToday
        The permit and its year.
    flags : sequence of Flag
        All of that register.

    Returns
    -------
    list of (Flag, mapping)
        By name: each at full precision, and as it is told.
    """
    season = season_of(permit.first, register.block.season_start)
    bags = {one.bag.name for one in register.known.placed
            if permit.first <= one.bag.day <= permit.last}

    def is_mine(flag: Flag) -> bool:
        if flag.rule in _OF_PERMIT:
            return flag.about == permit.permit.name and flag.season == season
        return (flag.rule in _OF_CELLS and flag.cell in permit.cells
                and not bags.isdisjoint(flag.records))

    return [(flag, _told(flag)) for flag in flags if is_mine(flag)]


def _told(flag: Flag) -> dict[str, Any]:
    """Tell a flag without the names of its records: they are the owner's to show."""
    row = flag_row(flag)
    kept = ("name", "rule", "about", "cell", "why", "probability", "how_sure", "record_count",
            "figures")
    ruling = row["ruling"]
    return {**{key: row[key] for key in kept},
            "ruling": None if ruling is None else
            {"says": ruling["says"], "note": ruling["note"], "stands": ruling["stands"]}}


def rest_broken(mine: Sequence[tuple[Flag, Mapping[str, Any]]]) -> dict[str, Any]:
    """Add up what was picked before a rest ended; `ha` is None where a cell's is not known."""
    early = [flag.figures for flag, _ in mine if flag.rule == "early_pick"]
    areas = [one["area_m2"] for one in early]
    known = [m2 for m2 in areas if m2 is not None]
    return {
        "early_picks": len(early),
        "ha": None if len(known) < len(areas) else rounded(sum(known) / 1e4, HA),
        "kg": rounded(sum(one["kg"] for one in early), KG),
    }
