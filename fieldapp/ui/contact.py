"""One contact on the screen: which key it meant, and why it gives nothing.

Rule 1: what a contact must do is settled when it goes down; the rain guard ending under a thumb
changes nothing for that thumb.
Rule 2: the first fault stands; a contact once spoilt is never sound again. A splash beside a hold
is no fault of the hold; which contacts spoil which is for the press to say.
Rule 3: moments are monotonic [s], lengths are [dp], y goes up.
"""

from dataclasses import dataclass, field
from math import hypot
from typing import Literal

from fieldapp.phone.keys import Kind
from fieldapp.phone.tunables import DRIFT_DP, PRESS_MAX_MS, REACH_DP, REARM_MS

Why = Literal["none", "two", "drift", "off", "early", "short", "long", "rearm"]


@dataclass(frozen=True)
class Box:
    """Where a key lies on the screen. [dp]."""

    left: float
    bottom: float
    right: float
    top: float

    def away_dp(self, x: float, y: float) -> float:
        """Give how far a point lies outside; 0 inside and on the rim. [dp]."""
        return hypot(max(self.left - x, 0.0, x - self.right),
                     max(self.bottom - y, 0.0, y - self.top))


@dataclass(frozen=True)
class Target:
    """A key as the press sees it: name, place, kind, and from when on it can be pressed.

    `rearm_ms` runs from the release of its last counted press to the next touch; `arms_at_s` is
    the moment [s] before which a touch gives nothing.
    """

    name: str
    box: Box
    kind: Kind = "quick"
    rearm_ms: int = REARM_MS
    arms_at_s: float = 0.0


@dataclass
class Contact:
    """A contact that lasts: where it began, what it must do, where it is now."""

    target: Target | None
    x: float
    y: float
    down_s: float
    armed: bool
    least_ms: int
    shown: bool  # whether a bar or ring fills while it lasts
    off_dp: float = 0.0  # how far beside its key it is now
    last_s: float = field(init=False)
    spoilt: Why | None = None
    ticked: bool = False

    def __post_init__(self) -> None:
        self.go(self.x, self.y, self.down_s)

    @property
    def is_hold(self) -> bool:
        """Whether it was meant for a hold key."""
        return self.target is not None and self.target.kind == "hold"

    def go(self, x: float, y: float, now_s: float) -> None:
        """Take note of where the contact is now [dp, s]."""
        self.last_s = now_s
        self.off_dp = 0.0 if self.target is None else self.target.box.away_dp(x, y)
        if hypot(x - self.x, y - self.y) >= DRIFT_DP:
            self.spoil("drift")

    def spoil(self, why: Why) -> None:
        """Make sure that no press comes of it; the first reason stands."""
        self.spoilt = self.spoilt or why

    def held_ms(self, now_s: float) -> int:
        """Give how long it has lasted at a monotonic time [s], to the millisecond. [ms]."""
        return whole_ms(self.down_s, now_s)

    def why_not(self, now_s: float) -> Why | None:
        """Say why it would give nothing if it ended now.

        Parameters
        ----------
        now_s : float
            Monotonic. [s]

        Returns
        -------
        str or None
            none: on no key; two: not alone, or a hold beside more than a splash; drift, off:
            wandered, ended beside the key; early: a hold let go too soon; short, long; rearm: too
            soon after the last. None if it counts.
        """
        if self.target is None:
            return "none"
        if self.spoilt is not None:
            return self.spoilt
        if self.off_dp > REACH_DP:
            return "off"
        held_ms = self.held_ms(now_s)
        if held_ms < self.least_ms:
            return "early" if self.is_hold else "short"
        if held_ms > PRESS_MAX_MS and not self.is_hold:
            return "long"
        return None if self.armed else "rearm"


def whole_ms(since_s: float, now_s: float) -> int:
    """Give the time between two monotonic moments [s], rounded. [ms].

    In whole milliseconds, as 10.7 − 10.0 s is less than 0.7 s in binary fractions.
    """
    return round((now_s - since_s) * 1000)
