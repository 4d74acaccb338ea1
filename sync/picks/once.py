"""What was worked out once is given again, where all that it was made of is the very same.

Rule 1: what is given again is the same to the last bit, for nothing else went into it. What went
into it is compared by value, the very same objects at a glance.
Rule 2: nothing that was given is ever changed in place.
Rule 3: from one turn to the next stays only what was asked for in between.
"""

from collections import defaultdict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

_T = TypeVar("_T")
#: So many results of one name are kept: every lot dried in a season is another weight of a bag.
_KEPT = 16
#: Results by name, each after all that it was made of.
_Known = dict[Hashable, list[tuple[tuple[object, ...], _T]]]


class Once(Generic[_T]):
    """Results by name, each with all that it was made of.

    Parameters
    ----------
    most : int
        So many results of one name are kept, the latest.
    """

    def __init__(self, *, most: int = _KEPT) -> None:
        self._most = most
        self._known: _Known[_T] = defaultdict(list)
        self._before: _Known[_T] = {}

    def turn(self) -> None:
        """Begin a turn: what the last one did not ask for is forgotten at the next."""
        self._before, self._known = self._known, defaultdict(list)

    def give(self, name: Hashable, made_of: tuple[object, ...], work: Callable[[], _T]) -> _T:
        """Give what was worked out by the very same; else work it out and keep it.

        Parameters
        ----------
        name : hashable
            What is asked for.
        made_of : tuple
            All that it is worked out from and that may differ from one time to the next.
        work : callable
            Works it out.
        """
        known = self._known[name]
        for what, found in reversed(known):
            if what == made_of:
                return found
        same = next(
            (kept for kept in reversed(self._before.get(name, ())) if kept[0] == made_of), None)
        found = work() if same is None else same[1]
        # Kept by what it was asked for with: the same objects again are compared at a glance.
        known.append((made_of, found))
        del known[:-self._most]
        return found
