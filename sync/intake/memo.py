"""What was worked out before, by the sum of all it was made of, or with that sum under a name.

Rule 1: whatever is remembered may be forgotten at any time; no figure changes by it.
"""

from collections.abc import Callable
from typing import Protocol, TypeVar

T = TypeVar("T")


class Memo(Protocol):
    """Remembers bytes by a key that is a sum of all they were made of, or names the latest of all.

    Under a name the bytes themselves say what they were made of.
    """

    def read(self, key: str, reader: Callable[[bytes], T]) -> T | None:
        """Give what is remembered, as `reader` reads it; None if nothing is, or it is damaged.

        What was read may be kept and given again, so it must never be changed.
        """

    def look(self, key: str, reader: Callable[[bytes], T]) -> T | None:
        """Give the same as `read`, of what is asked for once: it is not kept."""

    def put(self, key: str, value: bytes) -> None:
        """Remember."""

    def keep(self) -> None:
        """Make what was put last."""


class NoMemo:
    """Remembers nothing."""

    def read(self, key: str, reader: Callable[[bytes], T]) -> T | None:
        """Give nothing."""
        del key, reader
        return None

    look = read

    def put(self, key: str, value: bytes) -> None:
        """Forget at once."""
        del key, value

    def keep(self) -> None:
        """Keep nothing."""
