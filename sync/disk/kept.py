"""What a running shed keeps between two registers: records, what counted, what walks told.

Rule 1: each is known by the sum of what it is made of, or carries it; no figure changes by it.
Rule 2: only what the last register asked for stays.
Rule 3: one thread at a time uses it.
"""

import dataclasses
from collections.abc import Callable
from typing import Any, TypeVar

from sync.disk.apart import Devices
from sync.disk.memo import DiskMemo
from sync.disk.track_heads import Packs
from sync.intake.again import Again

T = TypeVar("T")


@dataclasses.dataclass
class KeptReads:
    """What was read for the last register.

    Attributes
    ----------
    packs, devices : Packs, Devices
        Of the journal.
    made : dict
        What was remembered of walks, by key, as it was read.
    again : Again
        Counted records and bags.
    """

    packs: Packs = dataclasses.field(default_factory=Packs)
    devices: Devices = dataclasses.field(default_factory=Devices)
    made: dict[str, Any] = dataclasses.field(default_factory=dict)
    again: Again = dataclasses.field(default_factory=Again)


class KeptMemo:
    """A memo that gives again what it has read.

    Parameters
    ----------
    disk : DiskMemo
        Remembers what is not kept here.
    kept : KeptReads
        What was read before.
    """

    def __init__(self, disk: DiskMemo, kept: KeptReads) -> None:
        self._disk = disk
        self._kept = kept
        self._asked: dict[str, Any] = {}

    def read(self, key: str, reader: Callable[[bytes], T]) -> T | None:
        """Give what is remembered, as `reader` reads it; None if nothing is."""
        if key not in self._asked:
            known = self._kept.made.get(key)
            self._asked[key] = self._disk.read(key, reader) if known is None else known
        found: T | None = self._asked[key]
        return found

    def look(self, key: str, reader: Callable[[bytes], T]) -> T | None:
        """Give what is remembered, and keep nothing of it."""
        return self._disk.read(key, reader)

    def put(self, key: str, value: bytes) -> None:
        """Remember on disk; it is read from there when it is asked for again."""
        self._asked.pop(key, None)
        self._kept.made.pop(key, None)
        self._disk.put(key, value)

    def keep(self) -> None:
        """Write what is new to disk, and let go of what nobody asked for."""
        self._disk.keep()
        self._kept.made = {key: made for key, made in self._asked.items() if made is not None}
