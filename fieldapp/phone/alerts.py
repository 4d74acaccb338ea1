"""Signs that come by themselves: ground that is not ready, a check-in due, help that runs.

Rule 1: ground is told to the picker only, only when sure, after 10 s in it, once a cell in 10 min.
Rule 2: trouble comes again every 10 s until it is dealt with; nothing else is told twice.
"""

from datetime import datetime

from fieldapp.phone.keys import Code
from fieldapp.phone.phone import Phone
from fieldapp.phone.tunables import GROUND_AFTER_S, GROUND_AGAIN_S, TROUBLE_EVERY_S


class Alerts:
    """What was told so far."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._entered: tuple[str, datetime] | None = None
        self._told: dict[str, datetime] = {}
        self._soon_for: datetime | None = None
        self._reached = ""
        self._trouble: datetime | None = None

    def due(self, *, waiting: bool) -> Code:
        """Give the sign that is due now, the worst of them.

        Parameters
        ----------
        waiting : bool
            Whether a press waits to be written.

        Returns
        -------
        str
            B4, B3 or nothing.
        """
        now = self._phone.now()
        if waiting:
            return self._every_10_s(now)
        state = self._phone.check_in.state(now)
        if state in ("help", "overdue"):
            return self._every_10_s(now)
        self._trouble = None
        ground, soon, plot = self._ground(now), self._soon(state), self._plot()
        return "B3" if ground or soon or plot else ""

    def _every_10_s(self, now: datetime) -> Code:
        last = self._trouble
        if last is not None and 0 <= (now - last).total_seconds() < TROUBLE_EVERY_S:
            return ""
        self._trouble = now
        return "B4"

    def _ground(self, now: datetime) -> bool:
        phone = self._phone
        answer = phone.answer()
        if (answer is None or not answer.sure or answer.state == "ready"
                or phone.outing.role != "picker" or phone.outing.state != "open"):
            self._entered = None
            return False
        here = answer.cell or "outside"
        if self._entered is None or self._entered[0] != here:
            self._entered = (here, now)
        if abs((now - self._entered[1]).total_seconds()) < GROUND_AFTER_S:
            return False
        last = self._told.get(here)
        if last is not None and 0 <= (now - last).total_seconds() < GROUND_AGAIN_S:
            return False
        self._told[here] = now
        return True

    def _soon(self, state: str) -> bool:
        due = self._phone.check_in.due_at
        if state != "soon" or due == self._soon_for:
            return False
        self._soon_for = due
        return True

    def _plot(self) -> bool:
        phone = self._phone
        if phone.walk is None or phone.outing.role != "surveyor":
            return False
        way = phone.walk.next(phone.now(), phone.where())
        if way is None or not way.reached:
            self._reached = ""
            return False
        told, self._reached = self._reached, way.plot.name
        return told != way.plot.name
