"""A flag: one thing the owner should look at, and what was ruled on it.

Rule 1: a flag is named `rule:about:season`, so that late data rename none.
Rule 2: a ruling stands while the flag is what it was when it was ruled on: same certainty, same
records; else the flag is open again.
"""

import dataclasses
import hashlib
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, Literal

from fieldapp.record import canonical
from sync.intake.merge import Counted

HowSure = Literal["sure", "likely", "perhaps"]


@dataclasses.dataclass(frozen=True)
class Ruling:
    """The last ruling on a flag; `stands` is false once the flag is no longer what was seen."""

    says: str
    note: str | None
    by: str
    at: datetime
    record: str
    stands: bool


@dataclasses.dataclass(frozen=True)
class Flag:
    """One flag.

    Attributes
    ----------
    about : str
        A cell, phone, label, record, class, or the block, as the rule says.
    cell : str or None
        The cell, where it is about one.
    why : str
        One sentence with the figures: what was seen, how sure, what would settle it.
    probability : float or None
        Chance that it happened; None for a yes/no rule. [-]
    records : tuple of str
        Names of the records behind it, all of them.
    figures : mapping
        The rule's own, at full precision.
    """

    rule: str
    about: str
    season: int
    cell: str | None
    why: str
    probability: float | None
    how_sure: HowSure
    records: tuple[str, ...]
    figures: Mapping[str, Any]
    ruling: Ruling | None = None

    @property
    def name(self) -> str:
        """Its name."""
        return f"{self.rule}:{self.about}:{self.season}"

    @property
    def seen(self) -> str:
        """Sum of its certainty and record names: what a ruling was made on."""
        return hashlib.sha256(canonical([self.how_sure, list(self.records)])).hexdigest()


def with_rulings(flags: Iterable[Flag], rulings: Sequence[Counted]) -> tuple[Flag, ...]:
    """Put the last ruling on each flag.

    Parameters
    ----------
    flags : iterable of Flag
        As the rules raised them.
    rulings : sequence of Counted
        Counting `ruling` records; the last by time, then number, holds.

    Returns
    -------
    tuple of Flag
        By name.
    """
    last: dict[str, Counted] = {}
    for one in sorted(rulings, key=lambda c: (c.at, c.device, c.seq)):
        last[one.record["flag"]] = one
    return tuple(
        dataclasses.replace(flag, ruling=_ruling(flag, last[flag.name]))
        if flag.name in last else flag
        for flag in sorted(flags, key=lambda flag: flag.name)
    )


def _ruling(flag: Flag, said: Counted) -> Ruling:
    record = said.record
    return Ruling(
        says=record["says"], note=record.get("note"), by=said.person, at=said.at,
        record=said.name, stands=record["seen"] == flag.seen,
    )
