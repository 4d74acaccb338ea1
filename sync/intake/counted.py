"""A record that counts."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any, NamedTuple

from fieldapp.record import Where


class Counted(NamedTuple):
    """A record that counts, with what it takes over from another; a tuple, for there are many.

    Attributes
    ----------
    name : str
        Its own name.
    record : mapping
        Its own body.
    at, day : datetime, date
        When it happened: the first one's time, mended; the local day of it.
    person : str
        Who noted it first, by person code.
    where : Where or None
        Where it was noted first.
    device, seq : str, int
        The phone and number of the first one.
    lag_s : float or None
        The clock error that was mended. [s]
    """

    name: str
    record: Mapping[str, Any]
    at: datetime
    day: date
    person: str
    where: Where | None
    device: str
    seq: int
    lag_s: float | None

    @property
    def kind(self) -> str:
        """Its kind."""
        return str(self.record["kind"])
