"""Find a flag by the name that a person typed."""

import difflib
from collections.abc import Sequence

from sync.errors import FallowError
from sync.flags.evidence.case import rulings_on
from sync.flags.flag import Flag
from sync.register.build import Register

_NEAREST = 5
_ALIKE = 0.3


def flag_named(register: Register, flags: Sequence[Flag], name: str) -> Flag:
    """Give the flag of a name.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    flags : sequence of Flag
        Raised on it.
    name : str
        Such as early_pick:C08:2025; in any case of letters, and without its season where that
        leaves one.

    Returns
    -------
    Flag
        The one.

    Raises
    ------
    FallowError
        If there is none, with the nearest names; or if several fit, with all of them.
    """
    wanted = name.strip().casefold()
    whole = [one for one in flags if one.name.casefold() == wanted]
    without = [one for one in flags if one.name.rpartition(":")[0].casefold() == wanted]
    found = whole or without
    if len(found) == 1:
        return found[0]
    if found:
        names = ", ".join(one.name for one in found)
        raise FallowError(f"flag {name!r}: say which season: {names}")
    raise FallowError(f"flag {name!r}: no such flag on {register.on}{_ruled(register, name)}; "
                      f"{_nearest(flags, wanted)}")


def _ruled(register: Register, name: str) -> str:
    """Say that a flag was ruled on and is no longer raised."""
    rulings = rulings_on(register, name)
    if not rulings:
        return ""
    last = rulings[-1]
    return (f" (it was ruled {last.record['says']} on {last.day.isoformat()}, {last.name}, and is "
            "not raised by what is known now)")


def _nearest(flags: Sequence[Flag], wanted: str) -> str:
    if not flags:
        return "there are none"
    by_folded = {one.name.casefold(): one.name for one in flags}
    near = difflib.get_close_matches(wanted, by_folded, n=_NEAREST, cutoff=_ALIKE)
    names = [by_folded[one] for one in near] or sorted(by_folded.values())[:_NEAREST]
    return f"nearest: {', '.join(names)}; all of them: fallow register"
