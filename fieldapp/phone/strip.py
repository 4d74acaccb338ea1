"""The strip on top of every screen: time, battery, fix, unsent, and what is amiss.

Rule 1: a sign never stands alone: what is amiss is said in words too, the worst first.
Rule 2: nothing there can be pressed, and nothing there stops a press.
"""

import dataclasses
from collections.abc import Iterator
from datetime import datetime, timedelta

from fieldapp.ground import UNKNOWN_ACCURACY_M
from fieldapp.phone.keys import Tone
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import Say, count, figure, say
from fieldapp.phone.tunables import (
    BATTERY_PCT,
    CLOCK_OFF_S,
    FIX_FRESH_S,
    FIX_GOOD_M,
    FIX_WEAK_M,
    STORAGE_MB,
    UNSENT_OLD_DAYS,
)


@dataclasses.dataclass(frozen=True)
class Notice:
    """One thing that is amiss; the higher its rank the worse."""

    text: Say
    tone: Tone
    rank: int


@dataclasses.dataclass(frozen=True)
class StripShown:
    """What the strip shows.

    Attributes
    ----------
    at : datetime
        The phone's clock.
    battery_pct : int or None
        None where nothing tells.
    fix_bars : int
        0 none or stale, 1 weak, 2 fair, 3 good.
    fix_m : float or None
        68 % radius of the fix. [m]
    unsent : int
        Records the shed is not known to hold.
    due_min : int or None
        Minutes to the next check-in.
    notices : tuple of Notice
        The worst first.
    tone : str
        plain, look or trouble: that of the worst.
    """

    at: datetime
    battery_pct: int | None
    fix_bars: int
    fix_m: float | None
    unsent: int
    due_min: int | None
    notices: tuple[Notice, ...]

    @property
    def tone(self) -> Tone:
        """That of the worst notice."""
        return self.notices[0].tone if self.notices else "plain"


def strip(phone: Phone, *, rain: bool) -> StripShown:
    """Give what the strip shows now.

    Parameters
    ----------
    phone : Phone
        The phone.
    rain : bool
        Whether the rain guard is on.

    Returns
    -------
    StripShown
        Now.
    """
    now = phone.now()
    bars, radius_m = fix_bars(phone)
    due = phone.check_in.due_at
    notices = sorted(_notices(phone, rain=rain), key=lambda one: -one.rank)
    return StripShown(
        at=now, battery_pct=phone.parts.battery_pct(), fix_bars=bars, fix_m=radius_m,
        unsent=phone.journal.unsent(), notices=tuple(notices),
        due_min=None if due is None else max(0, int((due - now).total_seconds() // 60)))


def fix_bars(phone: Phone) -> tuple[int, float | None]:
    """Give how good the fix is, from 0 to 3, and its 68 % radius [m]."""
    fix = phone.fix()
    if fix is None or fix.age_s > FIX_FRESH_S:
        return 0, None
    radius_m = UNKNOWN_ACCURACY_M if fix.acc_m is None else fix.acc_m
    return (3 if radius_m <= FIX_GOOD_M else 2 if radius_m <= FIX_WEAK_M else 1), radius_m


def health(phone: Phone) -> tuple[Notice, ...]:
    """Give what is amiss with the phone itself, the worst first."""
    return tuple(sorted(_health(phone), key=lambda one: -one.rank))


def _notices(phone: Phone, *, rain: bool) -> Iterator[Notice]:
    due, called = phone.check_in.state(phone.now()), phone.check_in.help_since
    if called is not None:
        yield Notice(say("HELP since {clock}", clock=figure("clock", called)), "trouble", 95)
    elif due == "overdue":
        yield Notice(say("CHECK IN NOW"), "trouble", 90)
    elif due == "soon" and phone.check_in.due_at is not None:
        yield Notice(say("CHECK IN by {clock}",
                         clock=figure("clock", phone.check_in.due_at)), "look", 50)
    if rain:
        yield Notice(say("RAIN: press longer"), "look", 40)
    yield from _health(phone)


def _health(phone: Phone) -> Iterator[Notice]:
    yield from _battery(phone.parts.battery_pct())
    yield from _storage(phone.free_mb())
    trouble = phone.parts.location.trouble
    if trouble == "refused":
        yield Notice(say("Allow location for this app"), "trouble", 70)
    elif trouble == "stopped":
        yield Notice(say("Position stopped, opening again"), "trouble", 75)
    off_s = phone.clock_off_s()
    if off_s is not None and abs(off_s) > CLOCK_OFF_S:
        yield Notice(say("Phone clock {span} off. Set it", span=figure("span", abs(off_s))),
                     "look", 30)
    damaged = len(phone.journal.damaged)
    if damaged:
        yield Notice(count(damaged, "{n} damaged record: hand over",
                           "{n} damaged records: hand over"), "look", 25)
    oldest = phone.oldest_unsent()
    if oldest is not None and oldest > timedelta(days=UNSENT_OLD_DAYS):
        yield Notice(say("{n} unsent, {days}", n=phone.journal.unsent(),
                         days=count(oldest.days, "{n} day", "{n} days")), "look", 10)


def _battery(left_pct: int | None) -> Iterator[Notice]:
    low, soon, last = BATTERY_PCT
    if left_pct is None or left_pct > low:
        return
    if left_pct <= last:
        yield Notice(say("BATTERY {pct}: write on paper now", pct=figure("pct", left_pct)),
                     "trouble", 80)
    elif left_pct <= soon:
        yield Notice(say("BATTERY {pct}: hand over soon", pct=figure("pct", left_pct)),
                     "look", 45)
    else:
        yield Notice(say("BATTERY {pct}", pct=figure("pct", left_pct)), "look", 5)


def _storage(free_mb: float | None) -> Iterator[Notice]:
    low_mb, last_mb = STORAGE_MB
    if free_mb is None or free_mb >= low_mb:
        return
    if free_mb < last_mb:
        yield Notice(say("STORAGE FULL: hand over, free space"), "trouble", 78)
    else:
        yield Notice(say("STORAGE FULL: no photos"), "look", 20)
