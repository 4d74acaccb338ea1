"""What was counted and seen for the register before, to be given again where it is the same.

Rule 1: what is given again equals what would be made anew; no figure changes by it.
Rule 2: only what the last register had stays.
"""

import operator
from collections.abc import Callable, Iterable, Sequence

from sync.intake.counted import Counted
from sync.intake.seen import BagSeen


def all_same(some: Sequence[object], others: Sequence[object]) -> bool:
    """Say whether two sequences hold the very same objects in the same order."""
    return len(some) == len(others) and all(map(operator.is_, some, others))


class Again:
    """Counted records and the bags among them; one thread at a time uses it."""

    def __init__(self) -> None:
        self._counted: dict[str, Counted] = {}
        self._bags: dict[str, tuple[Counted, BagSeen]] = {}

    def counted(self, name: str) -> Counted | None:
        """Give the record that counted before under a name, if any did."""
        return self._counted.get(name)

    def keep_counted(self, counted: Iterable[Counted]) -> None:
        """Keep what counts now, and nothing else."""
        self._counted = {one.name: one for one in counted}

    def bags(
        self, counted: Iterable[Counted], confirmed: Callable[[Counted], str | None],
        seen: Callable[[Counted, str | None], BagSeen],
    ) -> tuple[BagSeen, ...]:
        """Give bags as seen, those of before where record and confirmed cell are the same.

        Parameters
        ----------
        counted : iterable of Counted
            Counting bags.
        confirmed : callable
            Gives the cell confirmed at a record.
        seen : callable
            Makes a bag of a record and that cell.
        """
        before, self._bags = self._bags, {}
        for one in counted:
            cell = confirmed(one)
            known = before.get(one.name)
            if known is None or known[0] is not one or known[1].confirmed != cell:
                known = (one, seen(one, cell))
            self._bags[one.name] = known
        return tuple(bag for _, bag in self._bags.values())
