"""The track: fixes taken from the receiver and handed to the capture object, second by second.

Rule 1: it is never a press that writes them, and a press never waits for them.
Rule 2: what could not be written stays gathered and is tried again with the next fix.
Rule 3: nothing is taken from before the app was opened: the gap that a kill leaves stays one.
"""

from datetime import datetime

from fieldapp.device.journal import JournalError
from fieldapp.phone.phone import Phone
from fieldapp.record import Where


class Tracking:
    """What has been taken from the receiver so far."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._taken = phone.now()

    def take(self) -> None:
        """Take the fixes since the last time.

        Raises
        ------
        JournalError
            If the journal cannot be read; then the next time takes these fixes too.
        """
        phone, now = self._phone, self._phone.now()
        opened = phone.outing.located_since
        since, self._taken = self._taken, now
        if opened is None:
            return
        after = opened if since < opened or since > now else since
        for at, lat, lon, acc_m in phone.parts.location.between(after, now):
            where = Where(lat, lon, max(0.0, (now - at).total_seconds()), acc_m)
            self._keep(now, where)

    def flush(self) -> None:
        """Write what is gathered."""
        try:
            self._phone.track.flush(self._phone.now())
        except JournalError:
            return

    def _keep(self, now: datetime, where: Where) -> None:
        try:
            self._phone.track.add_fix(now, where)
        except JournalError:
            return
