"""What was worked out once is given again, where all that it was made of is the very same.

Rule 1: what is given again is the same to the last bit, for nothing else went into it.
Rule 2: nothing that was given is ever changed in place.
"""

from collections import defaultdict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

_T = TypeVar("_T")
#: So many results of one name are kept: every lot dried in a season is another weight of a bag.
_KEPT = 16


class Once(Generic[_T]):
    """Results by name, each with all that it was made of.

    Parameters
    ----------
    most : int
        So many results of one name are kept, the latest.
    """

    def __init__(self, *, most: int = _KEPT) -> None:
        self._most = most
        self._known: dict[Hashable, list[tuple[tuple[object, ...], _T]]] = defaultdict(list)

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
        found = work()
        known.append((made_of, found))
        del known[:-self._most]
        return found
