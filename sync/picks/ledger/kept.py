"""What the ledger keeps: batches, piles, and what was more than there had been.

Rule 1: a bag is in one place, known by the press that tallied it.
"""

import dataclasses
from collections.abc import Mapping
from datetime import date
from typing import Literal

from sync.intake.seen import BagSeen
from sync.picks.ledger.batches import Batch
from sync.picks.ledger.held import Held
from sync.picks.sources import Label

Grew = Literal["grew_on_the_way", "grew_at_the_shed"]


@dataclasses.dataclass(frozen=True)
class Surplus:
    """More bags than there were: how many, of which batch, at which stage and on what day.

    Attributes
    ----------
    grew : {"grew_on_the_way", "grew_at_the_shed"} or None
        Where it came to be, of bags that had left their pile before; None from the pile on.
    """

    batch: Label
    stage: str
    day: date
    bags: float
    grew: Grew | None


@dataclasses.dataclass(frozen=True)
class Followed:
    """A batch and its bags.

    Attributes
    ----------
    made_of : tuple of Label
        The batches that it was made of.
    at : mapping of str to Held
        What it held when it came to each stage.
    short : mapping of str to Held
        What was missing when it came to a stage: after the stage before.
    gave : mapping of Label to float
        Bags that other batches were made of.
    left : Held
        What it still holds, where its last stage says.
    """

    batch: Batch
    made_of: tuple[Label, ...]
    at: Mapping[str, Held]
    short: Mapping[str, Held]
    gave: Mapping[Label, float]
    left: Held

    @property
    def begun(self) -> Held:
        """What it held when it left its pile."""
        return next(iter(self.at.values()))


@dataclasses.dataclass(frozen=True)
class Ledger:
    """Where every bag is on a day.

    Attributes
    ----------
    bags : mapping of str to BagSeen
        Those tallied by then, by record.
    piles : mapping of Label to Held
        What lies on each pile still, also nothing.
    no_pile : Held
        Bags laid on no pile.
    batches : mapping of Label to Followed
        Those that have left their piles, by season and label.
    surplus : mapping of str to Surplus
        By the record that counted more than there was.
    """

    on: date
    season_start: tuple[int, int]
    bags: Mapping[str, BagSeen]
    piles: Mapping[Label, Held]
    no_pile: Held
    batches: Mapping[Label, Followed]
    surplus: Mapping[str, Surplus]
