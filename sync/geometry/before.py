"""Where people were for the register before, as long as the ground is the same.

Rule 1: only what the last register had stays.
"""

from collections.abc import Sequence

from sync.geometry.bags import Tread
from sync.geometry.ground import Hold


class TrodBefore:
    """The last tread of one block by one set of tunables, and the holds that it was on."""

    def __init__(self) -> None:
        self._known: tuple[tuple[Hold, ...], Tread] | None = None

    def given(self, holds: Sequence[Hold]) -> Tread | None:
        """Give it where the holds are these; by others the ground was another."""
        if self._known is None or self._known[0] != tuple(holds):
            return None
        return self._known[1]

    def keep(self, holds: Sequence[Hold], trod: Tread) -> None:
        """Keep it in the place of what was kept."""
        self._known = tuple(holds), trod
