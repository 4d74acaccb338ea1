"""Which objects of two sequences are the very same: what was made of one serves the other."""

import operator
from collections.abc import Iterable, Sequence


def all_same(some: Sequence[object], others: Sequence[object]) -> bool:
    """Say whether two sequences hold the very same objects in the same order."""
    return len(some) == len(others) and all(map(operator.is_, some, others))


def same_ends(some: Sequence[object], others: Sequence[object]) -> tuple[int, int]:
    """Say how many objects at the beginning and then at the end of two sequences are the same.

    Parameters
    ----------
    some, others : sequence of object
        Any.

    Returns
    -------
    int, int
        Together at most the length of the shorter one.
    """
    shorter = min(len(some), len(others))
    first = _alike(some, others)
    last = min(_alike(reversed(some), reversed(others)), shorter - first)
    return first, last


def _alike(some: Iterable[object], others: Iterable[object]) -> int:
    same = list(map(operator.is_, some, others))
    return same.index(False) if False in same else len(same)
