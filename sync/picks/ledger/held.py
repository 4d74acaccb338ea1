"""Bags held in one place, and which presses they may be of.

Rule 1: nobody can tell the bags of one place apart: what is taken is a share of each press.
Rule 2: the number of bags is exact in halves; the parts add up to it but for rounding.
"""

import dataclasses
import math
from collections.abc import Collection, Iterable, Mapping

#: What sums of parts may miss by rounding. [bags]
_ROUNDING = 1e-9


@dataclasses.dataclass(frozen=True)
class Held:
    """Bags in one place.

    Attributes
    ----------
    bags : float
        How many.
    parts : mapping of str to float
        Bags by the record that they are of: a press, or the batch record that told of more bags
        than there were.
    """

    bags: float = 0.0
    parts: Mapping[str, float] = dataclasses.field(default_factory=dict)


def take(held: Held, bags: float) -> tuple[Held, Held]:
    """Take bags off a place.

    Parameters
    ----------
    held : Held
        What is there.
    bags : float
        How many are wanted, at most; infinite takes all.

    Returns
    -------
    taken, left : Held
        Each press gives in proportion to what of it is there. Derived: bags are exchangeable.
    """
    if bags >= held.bags:
        return held, Held()
    if bags <= 0.0:
        return Held(), held
    share = bags / held.bags
    return (Held(bags, {name: n * share for name, n in held.parts.items()}),
            Held(held.bags - bags, {name: n * (1.0 - share) for name, n in held.parts.items()}))


def together(parts: Iterable[Held]) -> Held:
    """Put bags of several places together."""
    held = [one for one in parts if one.parts or one.bags]
    if len(held) == 1:
        return held[0]
    bags, sums = 0.0, dict[str, float]()
    for one in held:
        bags += one.bags
        for name, n in one.parts.items():
            sums[name] = sums.get(name, 0.0) + n
    return Held(bags, sums)


def parted(held: Held, names: Collection[str]) -> tuple[Held, Held]:
    """Part the bags of some records from the others; counts to the half where rounding hides it.

    Parameters
    ----------
    held : Held
        What is there.
    names : collection of str
        Records.

    Returns
    -------
    these, others : Held
        Together they are `held`.
    """
    own = {name: n for name, n in held.parts.items() if name in names}
    rest = {name: n for name, n in held.parts.items() if name not in names}
    if not rest:
        return held, Held()
    bags = min(held.bags, _to_halves(math.fsum(own.values())))
    return Held(bags, own), Held(held.bags - bags, rest)


def _to_halves(bags: float) -> float:
    whole = round(2.0 * bags) / 2.0
    return whole if abs(whole - bags) < _ROUNDING else bags
