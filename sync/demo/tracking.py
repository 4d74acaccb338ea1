"""The tracks of the few days on which a phone of the made-up block kept one.

Rule 1: at the instant of each press there is a fix at the very place of the press.
Rule 2: between two presses the picker goes in a straight line, a fix every 20 s.
"""

from datetime import datetime, timedelta

from fieldapp.capture.outing import Outing
from fieldapp.capture.track import Track
from fieldapp.record import Where
from sync.demo.phones import DemoPhone

_EVERY = timedelta(seconds=20)


class Trail:
    """The line that a phone keeps from a place on.

    Parameters
    ----------
    phone : DemoPhone
        Whose clock dates the fixes.
    outing : Outing
        Open.
    at : datetime
        When it begins, UTC.
    where : Where
        And where.
    """

    def __init__(self, phone: DemoPhone, outing: Outing, at: datetime, where: Where) -> None:
        self._phone = phone
        self._track = Track(outing)
        self._at, self._where = at, where
        self._track.add_fix(phone.clock(at), where)

    def to(self, at: datetime, where: Where) -> None:
        """Go on in a straight line, to be at a place at an instant.

        Parameters
        ----------
        at : datetime
            After the last one, UTC.
        where : Where
            As the receiver shows it.
        """
        lasts_s = (at - self._at).total_seconds()
        between = self._at + _EVERY
        while between < at:
            share = (between - self._at).total_seconds() / lasts_s
            lat = self._where.lat + share * (where.lat - self._where.lat)
            lon = self._where.lon + share * (where.lon - self._where.lon)
            fix = self._phone.where(lat, lon, where.acc_m or 0.0)
            self._track.add_fix(self._phone.clock(between), fix)
            between += _EVERY
        self._track.add_fix(self._phone.clock(at), where)
        self._at, self._where = at, where

    def close(self, at: datetime) -> None:
        """Put what is gathered on disk."""
        self._track.flush(self._phone.clock(at))
