"""What was worked out before, by the sum of all it was made of.

Rule 1: whatever is remembered may be forgotten at any time; no figure changes by it.
"""

from typing import Protocol


class Memo(Protocol):
    """Remembers bytes by a key that is a sum of all they were made of."""

    def get(self, key: str) -> bytes | None:
        """Give what is remembered; None if nothing is."""

    def put(self, key: str, value: bytes) -> None:
        """Remember."""

    def keep(self) -> None:
        """Make what was put last."""


class NoMemo:
    """Remembers nothing."""

    def get(self, key: str) -> bytes | None:
        """Give nothing."""
        del key
        return None

    def put(self, key: str, value: bytes) -> None:
        """Forget at once."""
        del key, value

    def keep(self) -> None:
        """Keep nothing."""
