"""The tracks of the few days on which a phone of the made-up block kept one.

Rule 1: at the instant of each press there is a fix at the very place of the press.
Rule 2: between two presses the picker walks over in a straight line and stays where the next bag
is filled, a fix every 20 s.
"""

import math
from collections.abc import Sequence
from datetime import datetime, timedelta

from fieldapp.capture.outing import Outing
from fieldapp.capture.track import Track
from fieldapp.record import Where
from sync.demo.phones import DemoPhone

_EVERY = timedelta(seconds=20)
_WALK_M_S = 1.0
_M_A_DEG = 111_000.0


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

    def to(
        self, at: datetime, where: Where, *, picking: Sequence[tuple[Where, float]] = ()
    ) -> None:
        """Walk on, pick where the bags are filled, and be at a place at an instant.

        Parameters
        ----------
        at : datetime
            After the last one, UTC.
        where : Where
            As the receiver shows it.
        picking : sequence of (Where, float)
            Where the time until then is spent, and the part of it; all of it at `where` if
            nothing is said.
        """
        stops = picking or ((where, 1.0),)
        self._walk(at, stops[0][0], pace_m_s=_WALK_M_S)
        slots = max(0, int((at - self._at) / _EVERY) - 1)
        for stop, share in stops:
            for _ in range(round(share * slots)):
                if self._at + _EVERY < at:
                    self._be(self._at + _EVERY, stop)
        if at > self._at:
            self._be(at, where)

    def walk(self, at: datetime, where: Where) -> None:
        """Walk on without picking, to be at a place at an instant."""
        self._walk(at, where, pace_m_s=0.0)
        self._be(at, where)

    def _walk(self, until: datetime, where: Where, *, pace_m_s: float) -> None:
        """Go in a straight line at a pace, slower or faster to be there by an instant."""
        start, began = self._where, self._at
        lasts = until - began
        if pace_m_s > 0.0:
            lasts = min(lasts, timedelta(seconds=_apart_m(start, where) / pace_m_s))
        while self._at + _EVERY < began + lasts:
            share = (self._at + _EVERY - began) / lasts
            lat = start.lat + share * (where.lat - start.lat)
            lon = start.lon + share * (where.lon - start.lon)
            self._be(self._at + _EVERY, self._phone.where(lat, lon, where.acc_m or 0.0))

    def _be(self, at: datetime, where: Where) -> None:
        self._track.add_fix(self._phone.clock(at), where)
        self._at, self._where = at, where

    def close(self, at: datetime) -> None:
        """Put what is gathered on disk."""
        self._track.flush(self._phone.clock(at))


def _apart_m(one: Where, other: Where) -> float:
    """Give the distance of two places on a small block. [m]."""
    north_m = (other.lat - one.lat) * _M_A_DEG
    east_m = (other.lon - one.lon) * _M_A_DEG * math.cos(math.radians(one.lat))
    return math.hypot(north_m, east_m)
