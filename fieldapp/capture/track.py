"""The track: fixes gathered into records, for placing bags and finding people.

Rule 1: a fix is kept only while the outing is open: not before START or a resume, never in PAUSE,
never after END, never beyond block + 100 m.
Rule 2: a record is written at 30 fixes or 60 s, by the location service and never by a press.
Rule 3: a fix is let go of only when it is on disk.
"""

from datetime import datetime, timedelta

from fieldapp.capture.book import Record, record_of
from fieldapp.capture.outing import Outing
from fieldapp.ground import FIX_STALE_S
from fieldapp.record import Fix, Where, encode_track

BATCH_FIXES = 30
BATCH_S = 60.0
#: Most fixes of one record: what a record may hold.
MOST_FIXES = 1000
#: The receiver gives the same fix again within this. [s]
SAME_FIX_S = 0.5


class Track:
    """The fixes of this phone that are not on disk yet.

    Parameters
    ----------
    outing : Outing
        Says when a place may be kept, and whose it is.
    """

    def __init__(self, outing: Outing) -> None:
        self._outing = outing
        self._fixes: list[Fix] = []
        self._since: datetime | None = None
        self._person = ""
        self._lag_s: float | None = None
        self._mock = False

    def add_fix(self, now: datetime, where: Where) -> Record | None:
        """Take a fix.

        Parameters
        ----------
        now : datetime
            Aware; the fix is `where.age_s` older.
        where : Where
            The fix.

        Returns
        -------
        dict or None
            The record that this fix filled, on disk; None while it gathers or is not kept.
        """
        at = now - timedelta(seconds=where.age_s)
        if self._outing.place(where) is None or self._older_than_outing(now, where):
            return None
        carrier = self._outing.carrier()
        before = self.flush(now) if carrier != self._person else None
        fix = (at, where.lat, where.lon, where.acc_m)
        if self._fixes and _same(fix, self._fixes[-1]):
            return before
        self._since = now if self._since is None else self._since
        self._person, self._lag_s = carrier, where.lag_s
        self._mock = self._mock or where.mock
        self._fixes.append(fix)
        waited = abs((now - self._since).total_seconds())
        full = len(self._fixes) >= BATCH_FIXES or waited >= BATCH_S
        return self.flush(now) if full else before

    def _older_than_outing(self, now: datetime, where: Where) -> bool:
        """Say whether a fix was taken before the outing opened.

        Its age is counted apart from the clock; where the clock was set back since the opening,
        age alone must tell.
        """
        opened = self._outing.located_since
        if opened is None or now < opened:
            return opened is None or where.age_s > FIX_STALE_S
        return now - timedelta(seconds=where.age_s) < opened

    def flush(self, now: datetime) -> Record | None:
        """Write what is gathered, for PAUSE, END and a quiet receiver.

        Parameters
        ----------
        now : datetime
            Aware.

        Returns
        -------
        dict or None
            The record, on disk; None if nothing waits.
        """
        if not self._fixes:
            return None
        fixes = self._fixes[:MOST_FIXES]
        record = record_of("track", now=now, where=None, person=self._person,
                           mock=self._mock or None, **encode_track(fixes, lag_s=self._lag_s))
        written = self._outing.write(record)
        self._fixes = self._fixes[len(fixes):]
        self._since, self._mock = None, False
        return written


def _same(a: Fix, b: Fix) -> bool:
    return a[1:3] == b[1:3] and abs((a[0] - b[0]).total_seconds()) < SAME_FIX_S
