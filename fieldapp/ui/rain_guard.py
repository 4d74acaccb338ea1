"""The rain guard: many refused contacts in a short time mean water on the screen.

Rule 1: only refused contacts bring it on, and only a burst as dense as the first one renews it; a
stray drop now and then does not keep it on for ever.
Rule 2: it ends by itself, and what it advises is said once each time it comes on.
"""

from collections import deque

from fieldapp.phone.tunables import RAIN_GUARD_S, WET_REJECTS, WET_WITHIN_S
from fieldapp.ui.contact import whole_ms


class RainGuard:
    """Whether it rains on the screen, told from the contacts that were refused."""

    def __init__(self) -> None:
        self._refused_s: deque[float] = deque(maxlen=WET_REJECTS)
        self._until_s = float("-inf")
        self._unsaid = False

    def refuse(self, now_s: float) -> None:
        """Count a refused contact; a burst of them brings the guard on, or renews it.

        Parameters
        ----------
        now_s : float
            Monotonic time at which the contact ended. [s]
        """
        self._refused_s.append(now_s)
        if len(self._refused_s) < WET_REJECTS:
            return
        if whole_ms(self._refused_s[0], now_s) > WET_WITHIN_S * 1000:
            return
        if not self.on(now_s):
            self._unsaid = True
        self._until_s = now_s + RAIN_GUARD_S

    def on(self, now_s: float) -> bool:
        """Say whether the guard is on at a monotonic time [s]."""
        if self._until_s <= now_s:  # or never yet
            return False
        return whole_ms(now_s, self._until_s) > 0

    def entered(self, now_s: float) -> bool:
        """Say once, while the guard is on, that it has come on since it was last off.

        Parameters
        ----------
        now_s : float
            Monotonic. [s]

        Returns
        -------
        bool
            True the first time it is asked after each coming on; a renewal is none.
        """
        unsaid, self._unsaid = self._unsaid, False
        return unsaid and self.on(now_s)
