"""Whether two sequences hold the very same objects: what was made of one serves the other."""

import operator
from collections.abc import Sequence


def all_same(some: Sequence[object], others: Sequence[object]) -> bool:
    """Say whether two sequences hold the very same objects in the same order."""
    return len(some) == len(others) and all(map(operator.is_, some, others))
