"""Lots as measured, by the cells and ground classes that they came from.

Rule 1: a lot of which less than half came from known cells says nothing of ground.
Rule 2: a class with less than half a lot in all, or that lots never part from another, is left
out.
"""

import dataclasses
from collections.abc import Mapping, Sequence

import numpy as np

#: Of a lot, or of a class in all lots; less says nothing.
LEAST_SHARE = 0.5


@dataclasses.dataclass(frozen=True)
class Measured:
    """One lot's measure.

    Attributes
    ----------
    value : float
        In any unit.
    weight : float
        Its variance goes by 1 over this. [-]
    cells : mapping of str to float
        Shares of the cells that it came from. [-]
    """

    value: float
    weight: float
    cells: Mapping[str, float]


def by_known_cells(one: Measured, group_of: Mapping[str, str]) -> Measured | None:
    """Give a lot by the cells that are known of it."""
    cells = {cell: share for cell, share in one.cells.items() if cell in group_of}
    whole = sum(cells.values())
    if whole < LEAST_SHARE:
        return None
    return dataclasses.replace(one, cells={cell: s / whole for cell, s in cells.items()})


def share_of(one: Measured, groups: Sequence[str], group_of: Mapping[str, str]) -> float:
    """Give the share of a lot that is of some classes. [-]."""
    return sum(share for cell, share in one.cells.items() if group_of[cell] in groups)


def shares_of_groups(
    one: Measured, groups: Sequence[str], group_of: Mapping[str, str]
) -> list[float]:
    """Give a lot's share of each of some classes, as if of no other; they add up to 1. [-]."""
    own = [sum(s for cell, s in one.cells.items() if group_of[cell] == group) for group in groups]
    return [share / sum(own) for share in own]


def groups_told(lots: Sequence[Measured], group_of: Mapping[str, str]) -> tuple[str, ...]:
    """Choose the classes that lots tell apart, those with most lots first."""
    sums = {group: _sum(lots, group, group_of) for group in sorted(set(group_of.values()))}
    ordered = sorted((g for g in sums if sums[g] >= LEAST_SHARE), key=lambda g: (-sums[g], g))
    chosen: list[str] = []
    for group in ordered:
        more = [*chosen, group]
        used = [one for one in lots if share_of(one, more, group_of) >= LEAST_SHARE]
        rows = np.array([shares_of_groups(one, more, group_of) for one in used])
        if np.linalg.matrix_rank(rows, tol=1e-6) == len(more):
            chosen = more
    return tuple(sorted(chosen))


def _sum(lots: Sequence[Measured], group: str, group_of: Mapping[str, str]) -> float:
    return sum(share_of(one, (group,), group_of) for one in lots)
